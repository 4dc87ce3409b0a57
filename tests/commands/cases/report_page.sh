# SPDX-License-Identifier: GPL-2.0-or-later
# A report: one file that is whole in itself, written whole or not at all, for check and for measure; its inputs are
# hashed.  -48 dBm behind 40 dB is -8 dBm, over 25 µW: 1.  With `--report -` standard output holds the page alone.  The hash is sha256sum's.
command -v gnuplot >/dev/null || skip 'gnuplot is missing'
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-48 >f0.csv
status=0
"$SPURITY" check f0.csv --pad 40dB --rules us-amateur --report page.html >text || status=$?
echo "-> $status"
head -n 1 page.html
tail -n 1 page.html
grep -c "$(sha256sum f0.csv | cut -d ' ' -f 1)" page.html
grep -o '10 dB × log10(25 µW / 1 mW) = −16.02' page.html | head -n 1
grep -c '47 CFR 97.307(e)' page.html
grep -c "$(sha256sum "$SOURCE/lib/rules/data/us-amateur.yaml" | cut -d ' ' -f 1)" page.html
grep -cE '<script|https?://|url\(' page.html || true
"$SPURITY" check f0.csv --pad 40dB --rules us-amateur --report - >only.html || true
cmp only.html page.html
"$SPURITY" check f0.csv --pad 40dB --rules us-amateur --report page.htm --json out.json >text || true
cmp page.htm page.html
"$SPURITY" measure f0.csv --pad 40dB --report measured.html >text
grep -o '<h1>.*</h1>' measured.html
ls -A
