# SPDX-License-Identifier: GPL-2.0-or-later
# The bench said once: taken by plan and check, told in the result's settings, overridden by options.
sweep start=10M stop=1.6G step=50k rbw=100k floor=-100 146.94M=-3.01 293.88M=-65 440.82M=-73 >set.csv
sweep start=145M stop=149M step=100 rbw=300 floor=-125 146.94M=-3.01 >near.csv
"$SPURITY" plan --bench-template >template.yaml
sed '/^#/d; s/ *#.*//' template.yaml >bench.yaml
cat >look.py <<'END'
import json, math, sys
result = json.load(open("result.json"))
for name, one in sorted(result["settings"].items()):
    if one["from"] != "default" and not name.startswith("files/"):
        print(f"{name}: {one['value']} ({one['from']})")
print("warnings:", *sorted({w["code"] for w in result["warnings"]}))
def again(rows):
    return 2 * math.sqrt(sum(r["standard_db"] ** 2 for r in rows if r["side"] == "both"))
carrier, h2 = result["carrier"], result["emissions"][0]
for what, told, rows in (("carrier", carrier["uncertainty_db"], carrier["budget"]),
                         ("H2, dBm", h2["uncertainty_db"], h2["budget"]),
                         ("H2, dBc", h2["uncertainty_dbc"], h2["budget_dbc"])):
    print(f"{what}: U {told:.1f} dB, over two rows add up:", len(rows) > 2 and abs(again(rows) - told) < 0.002)
END
echo "== the bench"
try "$SPURITY" check set.csv near.csv --bench bench.yaml --carrier 146.94M --rules us-amateur --json result.json >text
grep '146.94 MHz' text
python3 look.py
echo "== options say over it"
cat >small.yaml <<'END'
format: spurity-budget
version: 1
amplitude: 0.4 dB
END
try "$SPURITY" measure set.csv --bench bench.yaml --pad 40dB,0.1dB --budget small.yaml --json result.json >text
python3 look.py
try "$SPURITY" measure set.csv --bench bench.yaml --direct --uncertainty 1.0 --json result.json >text
python3 look.py | grep -v '^H2'
echo "== a plan"
try "$SPURITY" plan --bench bench.yaml --carrier 146.94M --power 5W --rules us-amateur --json plan.json >text
grep -o '^READY' text
grep -o -- '--bench bench.yaml' text | head -n 1
echo "== a table beside the bench file"
mkdir benches
printf '1 MHz,0.1\n2 GHz,0.6\n' >benches/coupler.csv
printf 'format: spurity-bench\nversion: 1\nchain:\n  - pad: 40dB, 0.2dB, 6G\n  - loss: coupler.csv\n' >benches/two.yaml
try "$SPURITY" measure set.csv --bench benches/two.yaml --json result.json >text
python3 look.py | grep -E '^(pad|loss)'
