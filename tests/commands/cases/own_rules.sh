# SPDX-License-Identifier: GPL-2.0-or-later
# A rule file of the user's own beside a built-in one: the verdict is the worst of both. -25 dBm against -30 dBm fails
# by 5 dB, against -20 dBm passes by 5 dB.
hand_held -65
own() {
    cat <<END
format: spurity-rules
version: 1
id: own
title: limits of our own
edition: invented
clauses:
  - clause: '1'
    citation: own rule 1
    status: confirmed
    says: spurious emissions
    group: emissions
    quantity: spurious emission
    where: {from: necessary bandwidth}
    reference_bandwidth: itu
    limit: {level: $1}
END
}
own '-30 dBm' >strict.yaml
own '-20 dBm' >mild.yaml
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules strict.yaml
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules ./mild.yaml
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules us-amateur --rules strict.yaml --json out.json
near out.json verdict fail = verdicts/0/verdict pass = verdicts/1/verdict fail = rules/id us-amateur =
echo 'clauses: nonsense' >broken.yaml
try "$SPURITY" check wide.csv near.csv --pad 40dB --rules broken.yaml >&2
