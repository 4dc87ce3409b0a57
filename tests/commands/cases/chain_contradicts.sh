# SPDX-License-Identifier: GPL-2.0-or-later
# Either what stands in between is said, or that nothing does, or that it is taken out already.
sweep start=1M stop=2M step=10k rbw=30k >f0.csv
try "$SPURITY" measure f0.csv --pad 40dB --direct >&2
try "$SPURITY" measure f0.csv --direct --pad 40dB >&2
try "$SPURITY" measure f0.csv --corrected --loss x.s2p >&2
try "$SPURITY" measure f0.csv --direct --corrected >&2
try "$SPURITY" measure f0.csv,pad=20dB,direct >&2
try "$SPURITY" measure f0.csv --pad 40dB --loss-uncertainty 0.5dB >&2
try "$SPURITY" measure f0.csv,pad=40dB,loss-uncertainty=0.5dB >&2
