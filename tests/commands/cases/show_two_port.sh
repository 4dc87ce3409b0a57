# SPDX-License-Identifier: GPL-2.0-or-later
# A two-port of 20 dB by its |S21| = 0.1 and a table in dB are losses.
{ echo '! invented'; echo '# MHz S MA R 50'; for f in 1 10 100 1000; do echo "$f 0.01 0 0.1 0 0.1 0 0.01 0"; done; } \
    >pad.s2p
"$SPURITY" show pad.s2p
printf 'Frequency (MHz),Loss (dB)\n1,0.2\n10,0.4\n100,0.9\n1000,3.1\n' >cable.csv
"$SPURITY" show cable.csv
