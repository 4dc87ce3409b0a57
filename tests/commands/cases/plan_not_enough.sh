# SPDX-License-Identifier: GPL-2.0-or-later
# What makes a plan not enough, exit 3: what the input stands is unsaid; a pad's rating is; the noise is so high that a
# line over the limit could hide (-40 dBm in 10 kHz behind 40 dB is 0 dBm at the terminal, 16 dB over -16.02 dBm); the
# noise is unsaid; a pad known to 200 MHz only.
plan() {
    echo "== $*"
    try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur "$@"
}
plan --noise -110dBm/10k --pad 40dB,0.3dB,6G,50W
plan --max-input 20dBm --noise -110dBm/10k --pad 40dB,0.3dB,6G
plan --max-input 20dBm --noise -40dBm/10k --pad 40dB,0.3dB,6G,50W
plan --max-input 20dBm --pad 40dB,0.3dB,6G,50W
plan --max-input 20dBm --noise -110dBm/10k --pad 40dB,0.3dB,200M,50W
plan
