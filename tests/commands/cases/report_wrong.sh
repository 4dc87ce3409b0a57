# SPDX-License-Identifier: GPL-2.0-or-later
# What no report can go to is told before any work, what fails while writing is 4; nothing half is left behind, and the
# other outputs are there.
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
mkdir folder.html empty
say() { echo "$1: $2" >&2; }
for name in page.pdf page.svg page.html. '' folder.html missing/page.html; do
    status=0
    "$SPURITY" measure f0.csv --pad 40dB --report "$name" || status=$?
    say "'$name'" $status
done
status=0
"$SPURITY" measure f0.csv --pad 40dB --report - --json - || status=$?
say 'two outputs' $status
status=0
"$SPURITY" measure f0.csv --pad 40dB --report same.html --json same.html || status=$?
say 'one name' $status
cp f0.csv f0.html
status=0
"$SPURITY" measure f0.html --pad 40dB --report f0.html || status=$?
say 'an input' $status
cmp f0.csv f0.html
status=0
PATH=$PWD/empty "$SPURITY" measure f0.csv --pad 40dB --report page.html --json out.json >text || status=$?
say 'no gnuplot' $status
near out.json carrier/level_dbm 36.99 0.1
[ -c /dev/full ] || skip '/dev/full is missing'
status=0
"$SPURITY" measure f0.csv --pad 40dB --report /dev/full >text || status=$?
say full $status
grep -q '146.94 MHz' text
ls -A
