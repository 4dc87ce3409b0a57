# SPDX-License-Identifier: GPL-2.0-or-later
# Every built-in rule set plans for a carrier of its own: an answer, never a crash, never harm behind 60 dB.
# ID CARRIER POWER OPTIONS
while read -r id carrier power options; do
    status=0
    # shellcheck disable=SC2086 # a list of words on purpose
    "$SPURITY" plan --carrier "$carrier" --power "$power" --rules "$id" --max-input 20dBm --noise -120dBm/10k \
        --pad 30dB,0.3dB,12G,200W --pad 30dB,0.3dB,12G,2W --json "$id-$carrier.json" $options >text 2>told || status=$?
    case $status in
    0 | 3) ;;
    *) echo "$id $carrier: $status"; cat told ;;
    esac
    python3 - "$id-$carrier.json" "$id" <<'END'
import json, sys
plan = json.load(open(sys.argv[1]))
assert plan["rules"][0]["id"] == sys.argv[2]
assert plan["verdict"] in ("ready", "not enough"), plan["verdict"]
assert plan["sweeps"] and plan["cautions"] and plan["headline"], plan
assert all(s["stop_hz"] > s["start_hz"] and s["rbw_hz"] > 0 and s["points"] >= 2 for s in plan["sweeps"])
assert all(0 < len(s["why"]) for s in plan["sweeps"])
END
done <<'END'
us-amateur 28.5M 100W
us-amateur 146.94M 5W
us-gmrs 462.575M 50W --emission F3E
us-frs 462.6125M 2W --emission F3E
us-murs 151.82M 2W --emission F3E
us-cb 27.185M 4W --emission A3E
us-rcrs 72.01M 0.75W
us-land-mobile 155.5M 25W --emission F3E --bandwidth 12.5k
itu-a 146.94M 25W
itu-b 146.94M 25W
eu-amateur 145.5M 5W
eu-pmr446 446.00625M 500mW --emission F3E
eu-land-mobile 155.5M 25W
END
"$SPURITY" rules | awk '/^[a-z]+-/ { print $1 }' >built-in
while read -r id; do
    ls "$id"-*.json >files 2>&1 || echo "no plan was made for $id"
done <built-in
echo done
