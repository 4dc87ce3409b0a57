# SPDX-License-Identifier: GPL-2.0-or-later
# Each is refused before anything is read: found, what is right.
for words in '--carrier 146,94M' '--carrier -5M' '--carrier 0' '--power 5' '--power 0W' '--power 5W..4W' '--power 4..5W' \
    '--rbw 10furlongs' '--detector rms' '--detector peak,0' '--modulation tset' '--audio-filter maybe' \
    '--antenna-gain 3dB' '--installed 2003-02-29' '--uncertainty -1' '--uncertainty 2.0,x' '--range 1G-30M' \
    '--range 30-1000M' '--range 30M' '--only emissions,mood' '--harmonics 1' '--decision guided' '--level-unit dBc' \
    '--delimiter dash' '--decimal-mark dot' '--block f16' '--emission FM' '--impedance 0' '--pad 1G' '--plot out.gif' \
    '--reference-ppm x' '--beyond 0' '--rate -1' '--rate fast' '--center here' '--datatype ci12' '--channel 0' \
    '--full-scale -10' '--skip-bytes -1' '--seconds 0' '--edge 50%' '--edge x' '--threads 0'; do
    try "$SPURITY" measure f0.csv $words >&2
done
