# SPDX-License-Identifier: GPL-2.0-or-later
# Missing files, folders, one file twice, none at all.
sweep start=1M stop=2M step=10k rbw=30k >f0.csv
mkdir folder
ln -s f0.csv again.csv
try "$SPURITY" measure >&2
try "$SPURITY" measure missing.csv >&2
try "$SPURITY" measure folder >&2
try "$SPURITY" measure '' >&2
try "$SPURITY" measure f0.csv/x >&2
try "$SPURITY" measure f0.csv ./f0.csv >&2
try "$SPURITY" measure f0.csv again.csv >&2
try "$SPURITY" measure - - >&2
try "$SPURITY" measure f0.csv --loss missing.s2p >&2
try "$SPURITY" measure f0.csv --loss folder >&2
try "$SPURITY" check f0.csv >&2
try "$SPURITY" check f0.csv --direct --rules missing.yaml >&2
try "$SPURITY" check f0.csv --direct --rules us-amatuer >&2
try "$SPURITY" check f0.csv --direct --rules us-amateur --rules us-amateur >&2
try "$SPURITY" measure f0.csv --direct --full-scale -10dBm >&2
