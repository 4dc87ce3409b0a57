# SPDX-License-Identifier: GPL-2.0-or-later
# The trace with 20 dB says -3.01 + 20 = 16.99 dBm, the meter 36.99 dBm: 20 dB apart, over 10: refused. 5 dB: told.
hand_held -65
try "$SPURITY" measure wide.csv --pad 20dB --power 5W >&2
"$SPURITY" measure wide.csv --pad 35dB --power 5W --json out.json >text
grep -o -m 1 meter-disagrees out.json
