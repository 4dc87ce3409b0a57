# SPDX-License-Identifier: GPL-2.0-or-later
# A floor of -50 dBm in 100 kHz stands at -10 dBm at the terminal, above 25 uW (-16.02 dBm): a harmonic could hide.
hand_held -90 -50
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict 'not shown' =
# Swept to 280 MHz only: harmonic 2 and all above are not seen.
sweep start=25M stop=280M step=40k rbw=100k 146.94M=-3.01 >wide.csv
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict 'not shown' =
# One sweep of 100 kHz RBW hides what lies under its own skirt beside the carrier.
hand_held -65
try "$SPURITY" check wide.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict 'not shown' =
