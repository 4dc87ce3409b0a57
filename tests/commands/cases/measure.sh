# SPDX-License-Identifier: GPL-2.0-or-later
# A measurement has no verdict. -3.01 + 40 dB = 36.99 dBm = 5.0 W; second harmonic -25.00 dBm, -61.99 dBc.
hand_held -65
try "$SPURITY" measure wide.csv --pad 40dB --json out.json
near out.json format spurity-measurement = carrier/level_dbm 36.99 0.1 carrier/power_w 5 0.1 \
    emissions/0/level_dbm -25 0.1 emissions/0/level_dbc -61.99 0.1 inputs/0/file wide.csv =
grep -c -e '"verdict"' -e '"rules"' out.json || true
# Settings tell what was said and what was not.
near out.json settings/pad/from option = settings/harmonics/from default = settings/harmonics/value 10 =
