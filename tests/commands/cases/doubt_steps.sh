# SPDX-License-Identifier: GPL-2.0-or-later
# 5 W behind 40, 50 and 60 dB. The second harmonic is the instrument's: at its input it falls 20 dB for 10 dB, so 10 dB a
# step at the terminal (-60 + 40 = -20, -30, -40 dBm). The third is the set's: -25 dBm throughout. What stands at 311.4 MHz
# does not move on the instrument: -78 + 40, + 50, + 60. At 515 MHz both mix: -44, then it stands lower, at no whole order.
step() {
    sweep start=25M stop=1500M step=40k rbw=100k floor=-115 seed="$2" 146.94M="$3" 293.88M="$4" 440.82M="$5" \
        311.4M=-78 515M="$6" >"$1"
}
step a.csv 1 -3.01 -60 -65 -84
step b.csv 2 -13.01 -80 -75 -98.5
step c.csv 3 -23.01 -100 -85 -120
set -- a.csv b.csv,pad=40dB,2G,pad=10dB,2G c.csv,pad=40dB,2G,pad=20dB,2G --pad 40dB,2G --uncertainty 2,1.5
try "$SPURITY" doubt "$@" --json out.json
near out.json lines/0/compressed_db 0 0.001 lines/1/instrument_order 2 0 lines/1/readings/2/level_dbm -40 0.2 \
    lines/1/readings/2/step_db 20 0 lines/2/readings/2/level_dbm -25 0.2 lines/0/readings/1/level_dbm 36.99 0.1
# The same table settles the verdict: the harmonic is judged at what two steps leave of the set's own, not at -20 dBm.
try "$SPURITY" check "$@" --rules us-amateur --beyond 1M --json check.json >text
grep -E '^  (H2|H3) ' text
near check.json emissions/0/instrument_order 2 0
grep -c own-harmonics text || true
# One attenuation tells nothing.
try "$SPURITY" doubt a.csv --pad 40dB,2G --uncertainty 2,1.5
