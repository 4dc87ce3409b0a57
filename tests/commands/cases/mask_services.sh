# SPDX-License-Identifier: GPL-2.0-or-later
# One set, two services. A tone of 2.5 kHz at 4.3 kHz deviation (index 1.72) has J3^2 = -21.1 dB at 7.5 kHz, J4^2 =
# -34.2 dB at 10 kHz. 47 CFR 95.1779(b)(1) asks 25 dB from 10 kHz on: 9.2 dB inside. 95.579(a)(1) asks 25 dB from
# 6.25 kHz on: 3.9 dB over, on both sides. 5 ppm and 2.5 ppm of 462.5625 MHz are 2313 and 1156 Hz; it stands 700 Hz high.
set -- check "$SOURCE/traces/personal-radio-tone.csv" --pad 40dB,0.5dB,6G,50W --modulation test --emission F3E \
    --audio-filter yes --only mask,frequency --reference-ppm 0.5
try "$SPURITY" "$@" --rules us-gmrs --json out.json >out.txt
sed -n "/^  mask/,/^$/p" out.txt
near out.json judgements/0/clause '95.1779(b)(1)' = judgements/0/margin 9.2 0.3 judgements/0/reference_bandwidth_hz 300 0 \
    judgements/0/outcome pass = judgements/2/measured 15000 20 judgements/3/measured 700 30
try "$SPURITY" "$@" --rules us-frs --json out.json >out.txt
sed -n "/^  mask/,/^$/p" out.txt
near out.json verdict fail = judgements/0/outcome fail = judgements/0/margin -3.9 0.3 judgements/0/frequency_hz 462555700 60
