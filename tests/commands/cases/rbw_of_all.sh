# SPDX-License-Identifier: GPL-2.0-or-later
# --rbw and --detector are of the traces whose files tell none: each sweep of a test point keeps its own, and is told.
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3 >wide.csv
sweep start=146M stop=148M step=1k rbw=3k 146.94M=-3 >near.csv
for i in 1 2 3 4 5 6 7 8 9; do echo "10${i}000000 Hz,-90 dBm"; done >bare.csv
"$SPURITY" show wide.csv near.csv bare.csv --rbw 10k --detector peak
"$SPURITY" show wide.csv,rbw=30k,detector=max-hold
