# SPDX-License-Identifier: GPL-2.0-or-later
# 47 CFR 97.307(d), 100 W (50 dBm) on 14.2 MHz, second harmonic at 9.0 dBm (41 dB down). Installed after 2003-01-01:
# 43 dB, at most 7.0 dBm: 2 dB over. On or before: 40 dB and 50 mW (16.99 dBm), at most 10.0 dBm: 1 dB inside. With an
# uncertainty of 0.5 dB that is a fail and a pass; unsaid, the two differ: not shown, and the option is named.
sweep start=3M stop=145M step=5k rbw=10k floor=-100 14.2M=-10 28.4M=-51 >wide.csv
sweep start=14.1M stop=14.3M step=100 rbw=300 floor=-115 seed=5 14.2M=-10 >near.csv
for day in '--installed 2015-06-01' '--installed 2003-01-02' '--installed 2003-01-01' '--installed 1990-01-01' ''; do
    try "$SPURITY" check wide.csv near.csv --pad 60dB --uncertainty 0.5 --rules us-amateur $day
done
