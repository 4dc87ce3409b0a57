# SPDX-License-Identifier: GPL-2.0-or-later
# Nothing is said of what stands in between: no level in dBm, so an absolute limit cannot be shown; ratios stay
# (-65 + 3.01 = -61.99 dBc). A meter anchors the scale (one for both files: same instrument, same gain): dBm = meter + dBc, 36.99 - 61.99 = -25 dBm.
hand_held -65
try "$SPURITY" check wide.csv near.csv --rules us-amateur --json out.json
near out.json verdict 'not shown' = carrier/level_dbm null = emissions/0/level_dbm null = emissions/0/level_dbc -61.99 0.1
grep -o -m 1 chain-unstated out.json
try "$SPURITY" check wide.csv,scale=bench near.csv,scale=bench --power 5W --rules us-amateur --json out.json
near out.json verdict pass = carrier/source 'power meter' = emissions/0/level_dbm -25 0.1
