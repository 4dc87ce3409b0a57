# SPDX-License-Identifier: GPL-2.0-or-later
# On the user's word: what is closer than 500 kHz to the carrier is not judged, and the first line says so.
hand_held -65
try "$SPURITY" check wide.csv --pad 40dB --rules us-amateur --beyond 500k
# A range that leaves out harmonic 2 cannot give a pass.
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --range 30M-200M
