# SPDX-License-Identifier: GPL-2.0-or-later
# What --lint doubts in a file that can be read: a branch that never decides, an overlap, a gap, a table that answers twice.
# (A figure without a unit is a mistake: rules_mistakes.) Doubts are told, with status 0: the file can be used.
"$SPURITY" rules --template >good.yaml
doubt() {
    sed "$1" good.yaml >mine.yaml
    ! cmp -s good.yaml mine.yaml || echo "changes nothing: $1"
    try "$SPURITY" rules --lint ./mine.yaml
}
# the most lenient of 43 dB + 10 log P, at most 63 dB up to 100 W, and 200 dB: the latter never is
doubt 's/suppression: {fixed: 60 dB, below: mean power}/suppression: {fixed: 200 dB, below: mean power}/'
# two clauses of one set of conditions, from 90 W on
doubt 's/power: {of: PEP, above: 100 W}/power: {of: PEP, above: 90 W}/'
# nothing between 100 W and 110 W
doubt 's/power: {of: PEP, above: 100 W}/power: {of: PEP, above: 110 W}/'
# two numbers for one frequency
doubt 's/frequency: 446.11875 MHz/frequency: 446.10625 MHz/'
# one width authorised twice
doubt 's/channel: 12.5 kHz, authorised: 12.5 kHz, carrier: {from: 446 MHz, up_to: 447 MHz}/channel: 25 kHz, authorised: 16 kHz, carrier: {from: 145 MHz, up_to: 447 MHz}/'
# a file of one's own serves wherever an id does
try "$SPURITY" rules ./good.yaml --carrier 145.5M --power 5W --at 291M
try "$SPURITY" rules --template --lint good.yaml
try "$SPURITY" rules --template us-frs
try "$SPURITY" rules --lint good.yaml --carrier 145M
