# SPDX-License-Identifier: GPL-2.0-or-later
# Above 225 MHz 47 CFR 97.307 sets no figure: nothing is borrowed from below, and power passing makes it no pass.
sweep start=25M stop=4500M step=400k rbw=1M floor=-90 446M=-3.01 892M=-70 >f0.csv
try "$SPURITY" check f0.csv --pad 40dB --rules us-amateur --json out.json
near out.json verdict 'no limit' = emissions/0/level_dbm -30 0.2
