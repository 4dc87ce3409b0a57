# SPDX-License-Identifier: GPL-2.0-or-later
# What cannot be written is told before any work, and nothing appears.
sweep start=25M stop=400M step=40k rbw=100k 146.94M=-3 >f0.csv
touch file
mkdir folder
cp f0.csv before.csv
try "$SPURITY" measure f0.csv --pad 40dB --json - --plot - >&2
try "$SPURITY" measure f0.csv --pad 40dB --json missing/out.json >&2
try "$SPURITY" measure f0.csv --pad 40dB --json file/out.json >&2
try "$SPURITY" measure f0.csv --pad 40dB --json folder >&2
try "$SPURITY" measure f0.csv --pad 40dB --json folder/ >&2
try "$SPURITY" measure f0.csv --pad 40dB --json out.svg --plot out.svg >&2
try "$SPURITY" measure f0.csv --pad 40dB --json f0.csv >&2
try "$SPURITY" measure f0.csv --pad 40dB --json ./f0.csv >&2
try "$SPURITY" measure f0.csv --pad 40dB --plot out >&2
cmp f0.csv before.csv
ls -A . folder
