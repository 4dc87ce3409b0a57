# SPDX-License-Identifier: GPL-2.0-or-later
# One word for many files, its keys for each of them: 5 W behind 40 dB, -3.01 dBm; the harmonics' files tell neither RBW
# nor detector.  A file that bears the name itself is that file; a bracket is a letter; commas and blanks do no harm.
sweep start=145M stop=149M step=5k rbw=10k floor=-100 146.94M=-3.01 >carrier.csv
mkdir 'a set[1], tested'
for n in 2 3 10; do
    sweep start=$((147 * n - 1))M stop=$((147 * n + 1))M step=5k floor=-100 |
        grep -v -i -e rbw -e 'resolution' >"a set[1], tested/harmonic-$n.csv"
done
"$SPURITY" measure carrier.csv 'a set[1], tested/harmonic-*.csv,rbw=10k,detector=average,10' --pad 40dB --json m.json >text
python3 - <<'END'
import json
for one in json.load(open("m.json"))["inputs"]:
    print(one["file"])
END
echo "by the shell's own"
cp 'a set[1], tested/harmonic-2.csv' 'star*.csv'
"$SPURITY" measure carrier.csv 'star*.csv,rbw=10k,detector=average' --pad 40dB --json m.json >text
grep -o '"star[^"]*"' m.json | head -n 1
try "$SPURITY" measure carrier.csv 'harmonic-*.csv,rbw=10k' --pad 40dB
try "$SPURITY" measure carrier.csv 'carrier.c?v' --pad 40dB
try "$SPURITY" measure 'car*.csv,colour=3' --pad 40dB
