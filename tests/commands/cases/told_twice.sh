# SPDX-License-Identifier: GPL-2.0-or-later
# What an option says against the file is taken, and told.
hand_held -65
"$SPURITY" measure near.csv,rbw=1k,detector=sample --pad 40dB --json - | grep 'says'
"$SPURITY" measure near.csv,frequency-unit=kHz --pad 40dB --json - | grep 'says'
