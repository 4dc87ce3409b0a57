# SPDX-License-Identifier: GPL-2.0-or-later
# Three sweeps of one point. Harmonic: -65, -65.6, -64.4 dBm behind 40 dB; mean of powers 10 lg ((10^-6.5 + 10^-6.56 +
# 10^-6.44) / 3) = -64.973: -24.97 dBm; spread 1.2 dB, s = 0.6, type A 0.6 / sqrt 3 = 0.346 dB.
one() { sweep start=25M stop=1500M step=40k rbw=100k floor=-115 seed="$2" 146.94M="$3" 293.88M="$4" >"$1"; }
one a.csv 1 -3.01 -65
one b.csv 2 -3.11 -65.6
one c.csv 3 -2.91 -64.4
try "$SPURITY" measure a.csv b.csv c.csv --pad 40dB,2G --uncertainty 2,1.5 --json out.json
near out.json carrier/repeats/count 3 0 carrier/repeats/spread_db 0.2 0.05 emissions/0/repeats/count 3 0 \
    emissions/0/repeats/spread_db 1.2 0.05 emissions/0/repeats/type_a_db 0.346 0.02 emissions/0/level_dbm -24.973 0.03
