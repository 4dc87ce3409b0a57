# SPDX-License-Identifier: GPL-2.0-or-later
# A sweep of the whole range with the set not keyed is not taken for the set's: it has no carrier where the other has one.
hand_held -65
sweep start=25M stop=1500M step=40k rbw=100k seed=5 >unkeyed.csv
try "$SPURITY" check unkeyed.csv near.csv --pad 40dB --rules us-amateur
try "$SPURITY" check near.csv unkeyed.csv --pad 40dB --carrier 146.94M --rules us-amateur
# Of two files that show the carrier the finer one tells its place, whichever reads its level.
sweep start=145.94M stop=147.94M step=1k rbw=3k floor=-80 146.94125M=-3.01 >fine.csv
sweep start=140M stop=154M step=36k rbw=100k floor=-95 146.94125M=-3.01 >coarse.csv
try "$SPURITY" measure coarse.csv fine.csv --pad 40dB --json out.json >/dev/null
near out.json carrier/frequency_hz 146941250 100
