# SPDX-License-Identifier: GPL-2.0-or-later
# No command, a wrong one, an abbreviation, one of another version, a file in its place.
try "$SPURITY" >&2
try "$SPURITY" chekc >&2
try "$SPURITY" meas >&2
try "$SPURITY" session >&2
try "$SPURITY" --rules us-amateur check f0.csv >&2
sweep start=1M stop=2M step=10k rbw=30k >f0.csv
try "$SPURITY" f0.csv >&2
try "$SPURITY" help chekc >&2
