# SPDX-License-Identifier: GPL-2.0-or-later
# Empty, binary, words, a single point, shuffled: refused with a sentence; the files after it are shown all the same.
: >empty.csv
head -c 3000 "$SPURITY" >program.bin
printf 'Frequency (Hz),Level (dBm)\n100,abc\n200,def\n300,ghi\n' >words.csv
printf 'Frequency (Hz),Level (dBm)\n100000000,-20\n' >single.csv
printf 'Frequency (Hz),Level (dBm)\n100,-20\n300,-21\n200,-22\n500,-23\n400,-20\n900,-20\n100,-20\n50,-20\n' >shuffled.csv
sweep start=1M stop=2M step=10k rbw=30k >good.csv
for file in empty.csv program.bin words.csv single.csv shuffled.csv; do
    try "$SPURITY" show $file good.csv
done
