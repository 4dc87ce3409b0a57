# SPDX-License-Identifier: GPL-2.0-or-later
# The same 5 W seen directly (36.99 dBm would harm an instrument: a sweep already corrected), behind 40 dB, behind
# 20 dB + 20 dB, and behind a loss table of 40 dB at every frequency.
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
sweep start=25M stop=700M step=40k rbw=100k floor=-55 146.94M=36.99 293.88M=-25 >at_terminal.csv
printf 'Frequency (MHz),Loss (dB)\n1,40\n1000,40\n' >cable.csv
for chain in 'f0.csv --pad 40dB' 'f0.csv --pad 20dB --pad 20dB' 'f0.csv --loss cable.csv' 'f0.csv,pad=20dB,pad=20dB' \
    'f0.csv,loss=cable.csv --pad 3dB' 'f0.csv,pad=40dB,0.5dB,1G,50W,rbw=100k --direct' 'at_terminal.csv --corrected' \
    'at_terminal.csv,corrected --pad 40dB'; do
    "$SPURITY" measure $chain --json out.json >text
    near out.json carrier/level_dbm 36.99 0.1 emissions/0/level_dbm -25 0.1
done
