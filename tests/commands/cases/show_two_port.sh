# SPDX-License-Identifier: GPL-2.0-or-later
# A two-port with |S21| = 0.1 (20 dB) at its lower end, 0.0891251 (21 dB) at its upper, and a table in dB are losses.
{ echo '! invented'; echo '# MHz S MA R 50'; for row in "1 0.01 0 0.1" "10 0.01 0 0.0988553" "100 0.01 0 0.0944061" "1000 0.01 0 0.0891251"; do
    echo "$row 0 ${row##* } 0 0.01 0"; done; } \
    >pad.s2p
"$SPURITY" show pad.s2p
printf 'Frequency (MHz),Loss (dB)\n1,0.2\n10,0.4\n100,0.9\n1000,3.1\n' >cable.csv
"$SPURITY" show cable.csv
