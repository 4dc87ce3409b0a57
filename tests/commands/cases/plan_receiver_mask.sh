# SPDX-License-Identifier: GPL-2.0-or-later
# Masks and a receiver. 47 CFR 95.1779(b) names no bandwidth and no peaks: captures of the carrier show it, and the line
# printed does, run as it stands but for the full scale. Half of 5 W stands in the carrier, a quarter in each of two
# sidebands, and a line 30 dB under the whole 15 kHz off, where 25 dB are asked: 5 dB inside.
set -- plan --carrier 462.625M --power 5W --rules us-gmrs --max-input 0dBm --noise -120dBm/1k --pad 60dB,0.3dB,6G,50W \
    --only mask --modulation test --audio-filter yes --emission F3E
"$SPURITY" "$@" --rate 500k --json plan.json >text
near plan.json verdict ready = visibility/0/rbw_hz 300 0 visibility/0/limit_dbm 11.99 0.01 captures/0/rbw_hz 300 0
awk 'on { print; if (!/\\$/) exit } /^afterwards/ { on = 1 }' text >line
sed 's/--power READING/--full-scale -10dBm --json check.json/' line >judge
python3 -c 'import json
for n, one in enumerate(json.load(open("plan.json"))["captures"][:2]): print("carrier-%d" % (n + 1), one["center_hz"])' >centers
while read -r name center; do
    capture "$name" rate=500k center="$center" seconds=0.3 noise=-80 462.625M=-16.02 462.624M=-19.03 462.626M=-19.03 \
        462.640M=-43.01
done <centers
for name in leakage ambient; do
    capture $name rate=500k center=462.7M seconds=0.3 noise=-80
done
PATH=$(dirname "$SPURITY"):$PATH sh judge >answer || cat answer
near check.json verdict pass = judgements/0/margin 5.0 0.2
# Too narrow a band; and a mask of peaks (47 CFR 90.210(d)), which a capture's mean never shows.
try "$SPURITY" "$@" --rate 48k >text
sed -n 1,2p text
set -- plan --carrier 460.0125M --power 5W --rules us-land-mobile --max-input 0dBm --noise -120dBm/1k \
    --pad 60dB,0.3dB,6G,50W --only mask --modulation test --audio-filter yes --emission F3E --bandwidth 12.5k --station mobile
try "$SPURITY" "$@" --rate 500k >text
sed -n 1,2p text
# A range of next to no width is not swept, and said.
try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 0dBm --noise -120dBm/1k \
    --pad 60dB,0.3dB,6G,50W --range 146.94M-146.94000001M --json plan.json >text
near plan.json verdict 'not enough' = sweeps/0/rbw_hz 1000 0
grep -c ' 0 Hz' text || true
