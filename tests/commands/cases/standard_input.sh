# SPDX-License-Identifier: GPL-2.0-or-later
# From standard input, bare and with keys; a sweep without a head takes its facts from the keys.
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
sweep start=25M stop=700M step=40k rbw=100k head=no 146.94M=-3.01 293.88M=-65 >bare.csv
"$SPURITY" measure - --pad 40dB --json out.json <f0.csv >text
near out.json carrier/level_dbm 36.99 0.1 inputs/0/sha256 null =
cat bare.csv | "$SPURITY" measure \
    stdin,pad=20dB,rbw=100k,detector=average,100,level-unit=dBm,frequency-unit=Hz,pad=20dB --json out.json >text
near out.json carrier/level_dbm 36.99 0.1 emissions/0/level_dbm -25 0.1
"$SPURITY" measure - --pad 40dB </dev/null
