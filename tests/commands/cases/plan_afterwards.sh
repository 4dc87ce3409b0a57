# SPDX-License-Identifier: GPL-2.0-or-later
# The command line printed at the end is one that check takes: its sweeps are invented as planned, then it is run as it
# stands. 5 W behind 40 dB, nothing else: -3.01 dBm.
"$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k \
    --pad 30dB,0.3dB,6G,50W --pad 10dB,0.3dB,6G,2W --modulation none --session set.yaml --json plan.json >text
awk 'on { print; if (!/\\$/) exit } /^afterwards/ { on = 1 }' text >line
awk '/^#   spurity check/ { on = 1 } /^#$/ { if (on) exit } on { sub(/^#/, ""); print }' set.yaml >session-line
awk 'on { print; if (!/\\$/) exit } /^  where the files do not tell/ { on = 1 }' text >keyed-line
python3 - <<'END' >sweeps
import json
files = [line.split('"')[1] for line in open("set.yaml") if line.startswith("      - file:")]
for name, one in zip(files, json.load(open("plan.json"))["sweeps"]):
    step = (one["stop_hz"] - one["start_hz"]) / (one["points"] - 1)
    print(name, int(one["start_hz"]), int(one["stop_hz"]), min(step, one["rbw_hz"] / 2), one["rbw_hz"])
END
while read -r name start stop step rbw; do
    case $name in
    leakage* | ambient*) line= ;; # neither by-passes the pads nor is there anyway
    *) line=146.94M=-3.01 ;;
    esac
    # shellcheck disable=SC2086 # no line, or one
    sweep start="$start" stop="$stop" step="$step" rbw="$rbw" floor=-100 $line >"$name"
done <sweeps
grep -c carrier.csv line
grep -o 'leakage.csv,role=leakage' line keyed-line
grep -o 'ambient.csv,role=ambient' line keyed-line
status=0
PATH=$(dirname "$SPURITY"):$PATH sh line >answer || status=$?
[ $status = 0 ] || cat line answer
head -n 1 answer
grep -o '146.94.* MHz, 37.0 dBm' answer
status=0
PATH=$(dirname "$SPURITY"):$PATH sh session-line >again || status=$?
cmp answer again
# Nor is the power that was planned one that was read.
grep -c -e --power line keyed-line session-line || true
grep -o 'add --power with what a meter read, if one did' text set.yaml
# Files that tell neither RBW nor detector: the other line tells both, of every file, and the answer is the same.
grep -o -e ' carrier.csv,[^ ]*' -e ' range-1.csv,[^ ]*' -e " 'harmonic[^ ]*" keyed-line
for file in *.csv; do
    grep -v -i -e rbw -e resolution -e detector -e average "$file" >bare && mv bare "$file"
done
PATH=$(dirname "$SPURITY"):$PATH sh keyed-line >told
grep -e '^PASS' -e '146.94.* MHz, 37.0 dBm' told
