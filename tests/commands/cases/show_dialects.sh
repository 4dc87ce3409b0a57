# SPDX-License-Identifier: GPL-2.0-or-later
# The same ramp of 21 points, 100 to 102 MHz in steps of 0.1 MHz, -90 to -70 dBm, in several dialects.
ramp() { # delimiter, decimal mark
    awk -v d="$1" -v m="$2" 'BEGIN { for (i = 0; i <= 20; i++) {
        row = sprintf("%.1f%s%.1f", 100 + i / 10, d, -90 + i); gsub(/\./, m, row); print row } }'
}
{ printf 'Frequency [MHz];Level [dBm]\n'; ramp ';' ,; } >semicolon.csv
{ printf 'Frequency (MHz)\tTrace 1 (dBm)\n'; ramp "$(printf '\t')" .; } >tab.txt
{ printf '# invented\n# RBW 30 kHz\n# frequency/MHz level/dBm\n'; ramp '  ' .; } >blank.txt
{ printf '\357\273\277Frequency (MHz),Level (dBm)\r\n'; ramp , . | sed 's/$/\r/'; } >bom_crlf.csv
for file in semicolon.csv tab.txt blank.txt bom_crlf.csv; do
    "$SPURITY" show $file
done
