# SPDX-License-Identifier: GPL-2.0-or-later
# Noise only: no carrier is found (2); where the user names one, nothing is shown of it (3). Two carriers in two files
# are two test points.
sweep start=25M stop=700M step=40k rbw=100k >noise.csv
try "$SPURITY" measure noise.csv --pad 40dB >&2
try "$SPURITY" check noise.csv --pad 40dB --carrier 146.94M --rules us-amateur
sweep start=140M stop=150M step=10k rbw=30k 146.94M=-3 >one.csv
sweep start=430M stop=450M step=10k rbw=30k 446M=-3 >other.csv
try "$SPURITY" measure one.csv other.csv --pad 40dB >&2
