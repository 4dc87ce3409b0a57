# SPDX-License-Identifier: GPL-2.0-or-later
sweep start=25M stop=1500M step=40k rbw=100k 146.94M=-3.01 >a.csv
try "$SPURITY" doubt >&2
try "$SPURITY" doubt a.csv,role=ambient --pad 40dB >&2
try "$SPURITY" doubt a.csv --pad 40dB --rules us-amateur >&2
try "$SPURITY" doubt a.csv --pad 40dB --json ./nowhere/out.json >&2
try "$SPURITY" doubt a.csv --pad 40dB --second-harmonic-intercept 45 >&2
