# SPDX-License-Identifier: GPL-2.0-or-later
# 25 W and less: 25 uW is -16.02 dBm. 98.1 MHz stands there unkeyed too, at -50.4 + 40 = -10.4 dBm: ambient, and the limit
# is hidden under it. At 311.4 MHz the set has -50 dBm and another signal -56: together -49.03, of which the set's
# -10 dBm fails by 6 dB. At 515 MHz both read -84: ambient, far inside the limit.
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 146.94M=-3.01 98.1M=-50.4 515M=-84 >a.csv
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 146.94M=-3.01 311.4M=-49.03 >b.csv
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 seed=3 98.1M=-50 311.4M=-56 515M=-84.3 >quiet.csv
set -- quiet.csv,role=ambient --pad 40dB,2G --rules us-amateur --beyond 1M --uncertainty 2,1.5
try "$SPURITY" check a.csv "$@"
try "$SPURITY" check b.csv "$@" --json out.json
near out.json emissions/9/level_dbm -10 0.15 emissions/9/ambient_db -6.97 0.15
try "$SPURITY" check b.csv a.csv,role=ambient --pad 40dB,2G --rules us-amateur >&2
