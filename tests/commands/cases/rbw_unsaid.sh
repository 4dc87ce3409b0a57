# SPDX-License-Identifier: GPL-2.0-or-later
# Sweeps that tell no RBW: where the points stand too far apart for any line to show the filter, a line could stand
# between two of them unseen; nothing passes there.
hand_held -65
awk '/^Frequency/ || (/^[0-9]/ && n++ % 8 == 0)' wide.csv >coarse.csv
try "$SPURITY" check coarse.csv near.csv --pad 40dB --rules us-amateur --carrier 146.94M --json out.json | grep -e '->' -e 'for all this sweep'
near out.json verdict 'not shown' =
# With the peak detector said, nothing is missed between points.
try "$SPURITY" check coarse.csv,detector=peak near.csv --pad 40dB --rules us-amateur --carrier 146.94M --json out.json |
    grep -c 'say --rbw' || true
