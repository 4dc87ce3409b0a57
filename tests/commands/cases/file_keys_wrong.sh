# SPDX-License-Identifier: GPL-2.0-or-later
# Keys after a file's name: unknown, an option only, without or with a value they do not want, twice.
sweep start=1M stop=2M step=10k rbw=30k >f0.csv
try "$SPURITY" show f0.csv,rwb=10k >&2
try "$SPURITY" show f0.csv,seconds=1 >&2
try "$SPURITY" show f0.csv,rbw >&2
try "$SPURITY" show f0.csv,direct=yes >&2
try "$SPURITY" show f0.csv,rbw=10k,rbw=3k >&2
try "$SPURITY" show f0.csv,rbw=10k,20k >&2
try "$SPURITY" show f0.csv,role=ambiant >&2
try "$SPURITY" show f0.csv,, >&2
try "$SPURITY" show f0.csv,carrier=1.5M >&2
try "$SPURITY" show f1.csv,rbw=10k >&2
