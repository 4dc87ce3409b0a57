# SPDX-License-Identifier: GPL-2.0-or-later
# One set of 2 W on 462.6125 MHz, sold for two services: each judges it by its own figures. The second harmonic is
# -65 + 40 = -25 dBm at the terminal against 43 + 10 log P, which is -13 dBm: 12.0 dB clear in both. Power: 2 W ERP of the
# one (0.0 dB clear, less than U), 5 W ERP of the other (3.98 dB clear). The ITU's figure is not confirmed.
# Channels: of the one 12.5 kHz wide, of the other 20 kHz, the carrier in its middle.
sweep start=20M stop=4700M step=40k rbw=100k floor=-95 462.6125M=-7 925.225M=-65 >wide.csv
sweep start=462M stop=463.2M step=1k rbw=3k floor=-110 462.6125M=-7 >near.csv
sweep start=462.5M stop=462.73M step=100 rbw=300 floor=-115 462.6125M=-7 >nearest.csv
ask() {
    rules=$1
    shift
    try "$SPURITY" check wide.csv near.csv nearest.csv --pad 40dB,0.5dB,6G --power 2W --emission F3E --modulation none \
        --lowest 20M --reference-ppm 2 --only emissions,power --rules "$rules" "$@"
}
ask us-frs --antenna-gain 0dBd
ask us-gmrs --antenna-gain 0dBd
ask us-gmrs
ask itu-a
