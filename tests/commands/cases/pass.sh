# SPDX-License-Identifier: GPL-2.0-or-later
# 47 CFR 97.307(e), 25 W or less: at most 25 uW (10 lg 0.025 mW = -16.02 dBm), at least 40 dB down, never asked below
# 10 uW. 5 W less 40 dB is -3.01 dBm: 25 uW binds. Second harmonic: -65 + 40 = -25.00 dBm, -61.99 dBc, margin 8.98 dB,
# over the expanded uncertainty of 2 dB.
hand_held -65
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict pass = carrier/level_dbm 36.99 0.1 carrier/frequency_hz 146940000 500 \
    emissions/0/order 2 0 emissions/0/level_dbm -25 0.1 emissions/0/level_dbc -61.99 0.1
