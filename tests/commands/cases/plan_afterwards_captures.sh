# SPDX-License-Identifier: GPL-2.0-or-later
# As plan_afterwards, of a receiver: its captures are invented, the filter that is wanted for some of them is tabled, and
# the line printed is run as it stands but for what no plan knows: the power that a meter read, which its READING stands
# for, or the full scale (-10 dBm) in its place. 5 W behind 60 dB is
# -23.01 dBm, 13.01 dB under it. The range is narrow on the user's word, so a pass is not to be had.
"$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 0dBm --noise -100dBm/10k --rate 480k \
    --range 146.6M-147.3M --pad 40dB,0.3dB,6G,50W --pad 20dB,0.3dB,6G,2W --only emissions,power --json plan.json \
    --session set.yaml >text || [ $? = 3 ] # which the plan says beforehand
awk 'on { print; if (!/\\$/) exit } /^afterwards/ { on = 1 }' text >line
sed 's/--power READING/--full-scale -10dBm/' line >judge
PATH=$(dirname "$SPURITY"):$PATH
try sh line
printf 'Frequency (MHz),Loss (dB)\n1,1\n3000,1\n' >filter-loss.csv
python3 - <<'END' >captures
import json
files = [line.split('"')[1] for line in open("set.yaml") if line.startswith("      - file:")]
for name, one in zip(files, json.load(open("plan.json"))["captures"]):
    held = one["purpose"] not in ("leakage", "ambient") and abs(one["center_hz"] - 146.94e6) < one["rate_hz"] / 2
    print(name[: -len(".sigmf-meta")], int(one["rate_hz"]), one["center_hz"], "146.94M=-13.01" if held else "")
END
while read -r name rate center line; do
    # shellcheck disable=SC2086 # no line, or one
    capture "$name" rate="$rate" center="$center" seconds=0.1 noise=-80 $line
done <captures
wc -l <captures
status=0
sh judge >answer || status=$?
[ $status = 3 ] || cat judge answer
grep -o '146.94 MHz, 37.0 dBm' answer
grep -c 'rbw=1kHz' line
