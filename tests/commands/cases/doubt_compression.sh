# SPDX-License-Identifier: GPL-2.0-or-later
# The carrier reads 2 dB low at the least attenuation: 36.99 - 2 = 34.99 dBm, 36.99 behind 10 dB more.
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 146.94M=-5.01 293.88M=-70 >a.csv
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 seed=2 146.94M=-13.01 293.88M=-75.3 >b.csv
set -- a.csv b.csv,pad=40dB,2G,pad=10dB,2G --pad 40dB,2G --uncertainty 2,1.5
try "$SPURITY" doubt "$@"
try "$SPURITY" check "$@" --rules us-amateur --beyond 1M >text
grep -o overload-suspected text
