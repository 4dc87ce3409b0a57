# SPDX-License-Identifier: GPL-2.0-or-later
# What is built in; what binds a 5 W set on 146.94 MHz (25 uW: -16.02 dBm); a wrong id and a broken file.
try "$SPURITY" rules
# Of so many clauses the text was read: counted in the files themselves.
"$SPURITY" rules >table
for file in "$SOURCE"/lib/rules/data/*.yaml; do
    set=$(basename "$file" .yaml)
    [ "$set" != own-country ] || continue
    confirmed=$(grep -c '^    status: confirmed' "$file" || true)
    all=$(grep -c '^    status: ' "$file")
    grep -q "^$set  *$confirmed of $all  " table || echo "WRONG: $set has $confirmed of $all: $(grep "^$set " table)"
done
try "$SPURITY" rules us-amateur --carrier 146.94M --power 5W --at 293.88M --json out.json
python3 - <<'END'
import json
clauses = json.load(open("out.json"))["clauses"]
levels = [a["level_dbm"] for c in clauses if c["applies"] and c["clause"] == "97.307(e)" for a in c["allowed"]]
print("97.307(e):", levels and all(abs(level + 16.02) < 0.01 for level in levels))
END
try "$SPURITY" rules us-amatuer >&2
printf 'format: spurity-rules\nversion: 1\nid: own\ntitel: x\n' >own.yaml
try "$SPURITY" rules --lint own.yaml >lint 2>&1
tail -n 1 lint
grep -c 'titel' lint
for set in us-amateur us-gmrs us-frs us-murs us-cb us-rcrs us-land-mobile itu-a itu-b eu-amateur eu-pmr446 eu-land-mobile \
    "$SOURCE/lib/rules/data/own-country.yaml"; do
    "$SPURITY" rules --lint "$set" | grep -v ', 0 doubts' || true
done
try "$SPURITY" rules us-land-mobile '90.210(d)(2)'
try "$SPURITY" rules us-land-mobile 90.2100 >&2
