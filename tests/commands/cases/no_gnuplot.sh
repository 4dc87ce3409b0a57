# SPDX-License-Identifier: GPL-2.0-or-later
# Without gnuplot: 4 and a clear message; JSON and text are there all the same, the picture is not.
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
mkdir empty
status=0
PATH=$PWD/empty "$SPURITY" measure f0.csv --pad 40dB --json out.json --plot out.svg >text || status=$?
echo "-> $status"
near out.json carrier/level_dbm 36.99 0.1
grep -q '146.94 MHz' text
ls -A
