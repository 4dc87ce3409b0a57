# SPDX-License-Identifier: GPL-2.0-or-later
# dBuV into 50 ohm is dBm + 106.99 (20 lg 1e6 + 10 lg 50 - 30), into 75 ohm dBm + 108.75; 1 V into 50 ohm is 20 mW,
# 13.0 dBm; 0 dBW is 30 dBm; 2 nW is -57.0 dBm.
row() { # unit, level of the last of ten rows
    { printf 'Frequency (MHz),Level (%s)\n' "$1"; for i in 1 2 3 4 5 6 7 8 9; do echo "10$i,$3"; done; echo "110,$2"; } \
        >"$4"
}
row dBuV 106.99 16.99 microvolt.csv
row dBuV 108.75 18.75 microvolt75.csv
row V 1 0.1 volt.csv
row dBW 0 -100 dbw.csv
row nW 2 0.2 nanowatt.csv
"$SPURITY" show microvolt.csv
"$SPURITY" show microvolt75.csv --impedance 75
"$SPURITY" show volt.csv
"$SPURITY" show dbw.csv
"$SPURITY" show nanowatt.csv
