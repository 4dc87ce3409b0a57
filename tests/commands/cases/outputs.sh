# SPDX-License-Identifier: GPL-2.0-or-later
# Text on standard output, JSON and picture beside it; with `--json -` standard output holds the JSON alone. Nothing
# is left over, modes follow the umask, a link keeps standing and its file is replaced.
command -v gnuplot >/dev/null || skip 'gnuplot is missing'
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
umask 027
echo old >real.json
chmod 604 real.json
ln -s real.json link.json
"$SPURITY" measure f0.csv --pad 40dB --json out.json --plot out.svg >text
"$SPURITY" measure f0.csv --pad 40dB --json - >only.json
"$SPURITY" measure f0.csv --pad 40dB --json link.json >text
"$SPURITY" measure f0.csv --pad 40dB --plot - >only.svg
cmp only.json out.json
cmp real.json out.json
stat -c '%A %n' out.json real.json link.json
head -c 5 only.svg
echo
grep -c '</svg>' out.svg
ls -A
