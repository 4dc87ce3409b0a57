# SPDX-License-Identifier: GPL-2.0-or-later
# Margins of 16.98 - 16.02 = +0.98 dB and -1.02 dB are inside the guard band of 2 dB: conditional. By simple acceptance
# they are a pass and a fail. An uncertainty of 0.5 dB lets the first one pass.
hand_held -57
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict 'conditional pass' = emissions/0/level_dbm -17 0.1
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --decision simple
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --uncertainty 0.5
hand_held -55
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict 'conditional fail' = emissions/0/level_dbm -15 0.1
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --decision simple
