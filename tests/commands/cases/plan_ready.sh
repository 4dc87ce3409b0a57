# SPDX-License-Identifier: GPL-2.0-or-later
# A bench that is good enough. 5 W is 36.99 dBm; 40 dB less is -3.01 dBm, 23.01 dB under the +20 dBm the input stands.
# Without the pad of 30 dB it would be 26.99 dBm (500 mW), over that; without the one of 10 dB 6.99 dBm, which harms
# nothing. The limit on 2 m is 25 uW, -16.02 dBm (47 CFR 97.307(e)).
try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k \
    --pad 30dB,0.3dB,6G,50W --pad 10dB,0.3dB,6G,2W --second-harmonic-intercept 45dBm --third-order-intercept 20dBm
