# SPDX-License-Identifier: GPL-2.0-or-later
# Options that do not exist, are abbreviated, belong elsewhere, lack or refuse a value, or stand twice.
sweep start=1M stop=2M step=10k rbw=30k >f0.csv
try "$SPURITY" measure f0.csv --carier 146.94M >&2
try "$SPURITY" measure f0.csv --carr 146.94M >&2
try "$SPURITY" measure f0.csv --rules us-amateur >&2
try "$SPURITY" measure f0.csv --sacle a >&2
try "$SPURITY" measure f0.csv --role ambient >&2
try "$SPURITY" measure f0.csv --direct=yes >&2
try "$SPURITY" measure f0.csv --pad >&2
try "$SPURITY" measure f0.csv --json --plot x.svg >&2
try "$SPURITY" measure f0.csv --rbw 10k --rbw 3k >&2
try "$SPURITY" measure f0.csv -r 10k >&2
try "$SPURITY" measure -,rbw=10k >&2
