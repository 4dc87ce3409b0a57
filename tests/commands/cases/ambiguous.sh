# SPDX-License-Identifier: GPL-2.0-or-later
# What reads in two ways is refused with both readings, by show and measure alike; an option settles it.
for i in 1 2 3 4 5 6 7 8 9; do echo "10$i,5,-2$i,3"; done >commas.csv
for i in 1 2 3 4 5 6 7 8 9; do echo "10$i.5,-2$i.5"; done >no_unit.csv
try "$SPURITY" show commas.csv >&2
try "$SPURITY" measure commas.csv --direct >&2
try "$SPURITY" show no_unit.csv >&2
"$SPURITY" show no_unit.csv --frequency-unit MHz
"$SPURITY" show no_unit.csv,frequency-unit=GHz
