# SPDX-License-Identifier: GPL-2.0-or-later
# One set of 5 W on 146.94 MHz under two rule sets, then on a personal-radio channel under three. Harmonics at the
# terminal: -65 + 40 = -25 dBm and -72 + 40 = -32 dBm. 97.307(e) allows 25 uW (-16.02 dBm), the ITU's Category A
# 43 + 10 log P (-13 dBm): the first is the stricter by 3.0 dB.
sweep start=20M stop=1500M step=40k rbw=100k floor=-95 146.94M=-3 293.88M=-65 440.82M=-78 >wide.csv
sweep start=146.3M stop=147.5M step=1k rbw=3k floor=-110 146.94M=-3 >near.csv
sweep start=146.9M stop=146.98M step=100 rbw=300 floor=-115 146.94M=-3 >nearest.csv
two() {
    "$SPURITY" check wide.csv near.csv nearest.csv --pad 40dB,0.5dB,6G --modulation none --reference-ppm 1 \
        --only emissions,power --lowest 20M --rules us-amateur --rules itu-a "$@"
}
try two
try two --harmonics 5
two --json - >result.json || true
grep -A5 '"strictest": {' result.json | head -n 6
# A channel of two services, on none of the third's: bandwidths, caps on radiated power, and the range that 47 CFR 2.1057
# wants looked through from the lowest frequency generated.
sweep start=5M stop=4700M step=40k rbw=100k floor=-95 462.5625M=-5 925.125M=-65 >wide.csv
sweep start=462M stop=463.2M step=1k rbw=3k floor=-110 462.5625M=-5 >near.csv
sweep start=462.5M stop=462.6M step=100 rbw=300 floor=-115 462.5625M=-5 >nearest.csv
three() {
    "$SPURITY" check wide.csv near.csv nearest.csv --pad 40dB,0.5dB,6G --modulation none --reference-ppm 1 \
        --only emissions,power --rules us-gmrs --rules us-frs --rules us-murs "$@"
}
try three
try three --lowest 5M --antenna-gain 0dBd --bandwidth 60k
