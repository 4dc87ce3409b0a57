# SPDX-License-Identifier: GPL-2.0-or-later
# A notch for the carrier as a two-port: 30 dB at 146.94 MHz, 1 dB from 200 MHz on. Behind it and a pad of 10 dB the
# carrier stands at 36.99 - 40 = -3.01 dBm, the second harmonic of -25 dBm at -36 dBm. Where the table ends (1 GHz)
# nothing is extrapolated: harmonics 7 and up are not shown.
{ echo '! invented notch'; echo '# MHz S DB R 50'
    echo '1 -20 0 -1 0 -1 0 -20 0'; echo '140 -20 0 -1 0 -1 0 -20 0'; echo '146 -1 0 -30 0 -30 0 -1 0'
    echo '148 -1 0 -30 0 -30 0 -1 0'; echo '200 -20 0 -1 0 -1 0 -20 0'; echo '1000 -20 0 -1 0 -1 0 -20 0'; } >notch.s2p
sweep start=25M stop=1500M step=40k rbw=100k floor=-95 146.94M=-3.01 293.88M=-36 >wide.csv
sweep start=146M stop=148M step=1k rbw=3k floor=-120 seed=3 146.94M=-3.01 >near.csv
try "$SPURITY" check wide.csv near.csv --loss notch.s2p --pad 10dB --rules us-amateur --json out.json
near out.json carrier/level_dbm 36.99 0.1 emissions/0/level_dbm -25 0.1
