# SPDX-License-Identifier: GPL-2.0-or-later
# near.csv was taken behind 60 dB (repeated keys add: 40 + 20); its chain replaces the shared one, so the carriers agree.
hand_held -65 -95 60
try "$SPURITY" check wide.csv near.csv,pad=40dB,pad=20dB --pad 40dB --rules us-amateur
# Without it the two carriers stand 20 dB apart: two test points, refused.
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur >&2
