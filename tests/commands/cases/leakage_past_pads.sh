# SPDX-License-Identifier: GPL-2.0-or-later
# With the last pad's end terminated 293.88 MHz still reads -72 dBm where the keyed sweep has -65: 7 dB below, not shown.
# 440.82 MHz: -90 against -60, 30 dB below: the reading may be off by 20 lg (1 + 10^(-1.5)) = 0.27 dB.
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 146.94M=-3.01 293.88M=-65 440.82M=-60 >a.csv
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 seed=2 146.94M=-70 293.88M=-72 440.82M=-90 >past.csv
set -- --pad 40dB,2G --rules us-amateur --beyond 1M --uncertainty 2,1.5
try "$SPURITY" check a.csv past.csv,role=leakage "$@" --json out.json
near out.json emissions/0/leakage_db -7 0.2 emissions/1/leakage_db -30 0.2 carrier/leakage_db -67 0.2
# Nothing came through the pads: it is the same with them not said for that file.
try "$SPURITY" check a.csv past.csv,role=leakage,direct "$@" --json direct.json >/dev/null
near direct.json emissions/0/leakage_db -7 0.2
