# SPDX-License-Identifier: GPL-2.0-or-later
# Channels and widths. A carrier on a channel is named; one off every channel is told so, in words and in JSON; --bandwidth
# names the channel or what is authorised in it. 7.27 (10 - 2.88) = 51.76 dB below 5 W (36.99 dBm): -14.77 dBm.
value() {
    python3 -c 'import json, sys
at = json.load(open(sys.argv[1]))
for key in sys.argv[2].split("/"):
    at = at[int(key)] if isinstance(at, list) else at[key]
print(sys.argv[2], at)' "$@"
}
why() {
    python3 -c 'import json, sys
print(next(c["why"] for c in json.load(open(sys.argv[1]))["clauses"] if c["quantity"] == "channel"))' "$1"
}
try "$SPURITY" rules us-frs --carrier 462.6125M --power 2W --antenna-gain 0dBd --json on.json
value on.json channel/service
value on.json channel/number
value on.json channel/bandwidth_hz
value on.json investigated/to_hz
value on.json antenna_fixed
why on.json
try "$SPURITY" rules us-frs --carrier 462.74M --power 2W --json off.json
value off.json channel
why off.json
# of single sideband 4 kHz is authorised in the same channel
"$SPURITY" rules us-cb --carrier 27.385M --power 12W,pep --emission J3E --json cb.json >words
value cb.json channel/number
value cb.json channel/bandwidth_hz
for width in 12.5k 11.25k 16k; do
    "$SPURITY" rules us-land-mobile 90.210 --carrier 155M --power 5W --emission F3E --audio-filter no \
        --bandwidth $width --at +10k --json out.json >words
    grep '^bandwidth' words
    grep -F '90.210(d)(2) binds' words || true
    grep -F 'binding: 7.27' words || true
    value out.json bandwidth/source
done
# what decides and is not said is asked by name
try "$SPURITY" rules us-gmrs '95.1767(a)(1)' --carrier 462.6M --power 5W
try "$SPURITY" rules us-gmrs --carrier 462.6M --power 5W --station handheld >&2
