# SPDX-License-Identifier: GPL-2.0-or-later
# Several traces in one file: the choice by number (frequency not counted) or title; levels alone with their span.
{ echo 'Frequency (Hz),Live (dBm),Max hold (dBm)'
    for i in 1 2 3 4 5 6 7 8 9; do echo "10${i}000000,-4$i,-3$i"; done; } >two.csv
"$SPURITY" show two.csv
"$SPURITY" show two.csv --trace 'Max hold'
"$SPURITY" show two.csv,trace=2
try "$SPURITY" show two.csv --trace 3 >&2
seq -20 -1 -60 >levels.txt
try "$SPURITY" show levels.txt >&2
"$SPURITY" show levels.txt --start 100M --stop 140M --level-unit dBm
