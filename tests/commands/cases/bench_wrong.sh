# SPDX-License-Identifier: GPL-2.0-or-later
# A bench file with a mistake: one message with the file, the line and the key, whichever command takes it.
sweep start=10M stop=1.6G step=50k rbw=100k floor=-100 146.94M=-3.01 >set.csv
wrong() {
    printf 'format: spurity-bench\nversion: 1\n%s\n' "$1" >bench.yaml
    "$SPURITY" measure set.csv --bench bench.yaml >text || echo "-> $?"
}
wrong 'max_input: 20'
wrong 'noise: -110dBm'
wrong 'chain: [{pad: 30dBm}]'
wrong 'chain: [{loss: none.csv}]'
wrong 'lowest: -4M'
wrong 'detector: fast'
wrong 'range: 1G-30M'
wrong 'uncertainty: -1'
wrong 'budget: {amplitude: 0.6}'
wrong 'budget: {amplitud: 0.6 dB}'
try "$SPURITY" measure set.csv --budget bench.yaml
try "$SPURITY" measure set.csv --budget none.yaml
try "$SPURITY" measure set.csv --bench .
try "$SPURITY" measure set.csv --budget bench.yaml --uncertainty 2
try "$SPURITY" plan --bench-template --carrier 5M
