# SPDX-License-Identifier: GPL-2.0-or-later
# A loss table as the whole chain: 40 dB to 2 GHz (invented). What passes it at the carrier is 36.99 - 40 = -3.01 dBm. A
# table that ends at 1 GHz leaves harmonics 7 and up not shown; a name with a quote comes back quoted for a shell.
printf 'Frequency (MHz),Loss (dB)\n1,40\n500,40\n2000,40\n' >"it's.csv"
printf 'Frequency (MHz),Loss (dB)\n1,40\n500,40\n1000,40\n' >short.csv
plan() {
    "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k "$@"
}
plan --loss "it's.csv" --loss-uncertainty 0.3dB --json out.json >text
near out.json level_at_instrument_dbm -3.0103 0.001 pad_db 40 0.001
sed 's/ \\$//' text | tr -s ' \n' ' ' | grep -o -- "--loss 'it[^ ]*csv'" | uniq
try plan --loss short.csv --json short.json >text
tail -n 1 text
python3 - <<'END'
import json
for one in json.load(open("short.json"))["visibility"]:
    if one["what"].startswith("harmonic"):
        print(one["what"], one["shown"])
END
# A name that would turn a terminal red comes out as what it is; bash reads it back.
name=$(printf 'a\033[31m\302\233b.csv')
cp short.csv "$name"
try plan --loss "$name" >text
awk 'index($0, "\033") || index($0, "\302\233") { found = 1 } END { print found ? "obeyed" : "shown" }' text
grep -o -- "--loss .*csv'" text | uniq
