# SPDX-License-Identifier: GPL-2.0-or-later
# Bare pairs: the unit of level is assumed and told so; options and keys override what was understood.
for i in 1 2 3 4 5 6 7 8 9; do echo "10${i}000000,-90"; done >bare.csv
echo "110000000,-60" >>bare.csv
"$SPURITY" show bare.csv
"$SPURITY" show bare.csv --level-unit dBW
"$SPURITY" show bare.csv,level-unit=dBW,frequency-unit=kHz,rbw=10k,detector=peak
"$SPURITY" show bare.csv,pad=40dB,0.5dB,1G,50W,pad=3dB
