# SPDX-License-Identifier: GPL-2.0-or-later
# Each is refused with what is missing, contradictory or wrong; nothing is written.
touch f0.csv
try "$SPURITY" plan >&2
try "$SPURITY" plan --power 5W --rules us-amateur >&2
try "$SPURITY" plan --carrier 146.94M --rules us-amateur >&2
try "$SPURITY" plan --carrier 146.94M --power 5W >&2
full() {
    try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --json out.json "$@" >&2
}
full f0.csv
full --corrected
full --direct --pad 40dB
full --pad 40dB --direct
full --rbw 10k
full --loss missing.csv
full --loss-uncertainty 0.3dB --pad 40dB
full --noise -110dBm
full --noise -110dBm/
full --noise -110/10k
full --noise -110dBm/0
full --noise -110dBm/10furlongs
full --max-input 20
full --max-input
full --max-inptu 20dBm
full --second-harmonic-intercept 45
full --third-order-intercept 20dB
full --rules us-amatuer
full --rules us-amateur
full --max-input 20dBm --max-input 30dBm
ls -A
