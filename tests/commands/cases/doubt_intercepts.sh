# SPDX-License-Identifier: GPL-2.0-or-later
# -3.01 dBm at the input, harmonic intercept +45 dBm: the instrument makes 2 x -3.01 - 45 = -51.02 dBm, -11.02 dBm at the
# terminal. A reading of -15 dBm there may be all its own: not shown. By two tones +25 dBm: the third harmonic's intercept
# is 29.77 dBm, own 3 x -3.01 - 2 x 29.77 = -68.57; a reading of -50 dBm may be off by 20 lg (1 + 10^(-18.57/20)) = 0.97 dB.
sweep start=25M stop=1500M step=40k rbw=100k floor=-115 146.94M=-3.01 293.88M=-55 440.82M=-50 >a.csv
set -- a.csv --pad 40dB,2G --second-harmonic-intercept 45dBm --third-order-intercept 25dBm --uncertainty 2,1.5
try "$SPURITY" check "$@" --rules us-amateur --beyond 1M --json out.json
near out.json emissions/0/own_db 3.98 0.2 emissions/1/own_db -18.57 0.2 emissions/1/instrument_low_db 0.97 0.03
