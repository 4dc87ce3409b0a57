# SPDX-License-Identifier: GPL-2.0-or-later
# A locale whose decimal mark is a comma changes nothing: same text, same JSON, options with a point.
command -v localedef >/dev/null || skip 'localedef is missing'
[ -e /usr/share/i18n/locales/de_DE ] || [ -e /usr/share/i18n/locales/de_DE.gz ] || skip 'no locale sources'
mkdir locales
localedef -i de_DE -f UTF-8 locales/de_DE.UTF-8 >/dev/null 2>&1 || skip 'localedef could not make a locale'
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
LC_ALL=C "$SPURITY" measure f0.csv --pad 40.5dB --json c.json >c.txt
export LOCPATH="$PWD/locales" LC_ALL=de_DE.UTF-8
[ "$(locale decimal_point)" = , ] || skip 'the locale made has no decimal comma'
"$SPURITY" measure f0.csv --pad 40.5dB --json comma.json >comma.txt
unset LC_ALL
cmp c.json comma.json
cmp c.txt comma.txt
near comma.json carrier/level_dbm 37.49 0.1
