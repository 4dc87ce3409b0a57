# SPDX-License-Identifier: GPL-2.0-or-later
# What is allowed where, as table, JSON and picture. Figures by hand, for 4 W (36.02 dBm) on 27.185 MHz, A3E:
# 47 CFR 95.979(a): 25 dB from 4 to 8 kHz: 11.0 dBm; 35 dB from 8 to 20 kHz: 1.0 dBm; 53 + 10 log 4 = 59.02 dB beyond: -23.0
# dBm; 60 dB around harmonics: -24.0 dBm. For 5 W of 95.1779(b) without a filter, 6.1 kHz x 10^(56.99 / 116) = 18.907 kHz.
try "$SPURITY" rules us-cb --carrier 27.185M --power 4W --emission A3E
try "$SPURITY" rules us-gmrs --carrier 462.575M --power 5W --emission F3E
# an offset has its sign; a frequency is absolute; where nothing is set it says so
try "$SPURITY" rules us-gmrs 95.1779 --carrier 462.575M --power 5W --emission F3E --audio-filter yes --at -12.5k,+30k,462.576M
"$SPURITY" rules us-gmrs --carrier 462.575M --power 5W --emission F3E --audio-filter yes --at -12.5k,+30k,925.15M --json - >out.json
python3 - <<'END_OF_PYTHON'
import json
answer = json.load(open("out.json"))
places = [[(a["frequency_hz"], a["offset_hz"], a["level_dbm"]) for a in c["allowed"]] for c in answer["clauses"]]
print("places", sorted({(p[0], p[1]) for c in places for p in c}))
told = {c["clause"]: [a["level_dbm"] for a in c["allowed"]] for c in answer["clauses"] if c["applies"] and c["group"] in ("emissions", "mask")}
print("(b)(1)", told["95.1779(b)(1)"], "(b)(2)", told["95.1779(b)(2)"], "(b)(7)", told["95.1779(b)(7)"])
END_OF_PYTHON
for kind in svg png pdf; do
    try "$SPURITY" rules us-gmrs --carrier 462.575M --power 5W --emission F3E --plot limits.$kind >words
    tail -n 1 words
    [ -s limits.$kind ]
done
"$SPURITY" rules us-cb --carrier 27.185M --power 4W --emission A3E --plot - >picture
grep -c '</svg>' picture
# what cannot be
refused() {
    try "$SPURITY" rules "$@" >words
    tail -n 1 words
}
"$SPURITY" rules --template >mine.yaml
refused ./mine.yaml --carrier 145M --power 5W,pep --json mine.yaml
refused us-cb --carrier 27.185M --power 4W --emission A3E --json - --plot -
refused us-cb --plot limits.gif --carrier 27.185M
refused us-cb --plot none.svg
refused us-amateur --plot none.svg --carrier 146.94M
refused --plot none.svg
refused us-cb --at +10k
refused us-cb --carrier 27.185M --at 10W
refused us-cb --carrier 27.185M --at ,
refused us-cb --carrier 27.185M --power 1W..4W
refused us-cb 95.979 more
[ ! -e none.svg ]
mkdir nothing
status=0
PATH=$(pwd)/nothing "$SPURITY" rules us-cb --carrier 27.185M --power 4W --emission A3E --plot none.svg >words || status=$?
grep -c "60 dB below mean power" words
echo "without gnuplot $status"
[ ! -e none.svg ]
