# SPDX-License-Identifier: GPL-2.0-or-later
# A name that exists as it stands is taken whole; the longest name that exists comes before the keys.
sweep start=25M stop=400M step=40k rbw=100k 146.94M=-3.01 >'set 7,rbw=3k.csv'
cp 'set 7,rbw=3k.csv' 'a,b.csv'
"$SPURITY" measure 'set 7,rbw=3k.csv' --pad 40dB --json out.json >text
near out.json carrier/level_dbm 36.99 0.1 inputs/0/file 'set 7,rbw=3k.csv' =
"$SPURITY" measure 'a,b.csv,pad=40dB' --json out.json >text
near out.json carrier/level_dbm 36.99 0.1 inputs/0/file 'a,b.csv' =
