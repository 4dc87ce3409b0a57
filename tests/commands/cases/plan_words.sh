# SPDX-License-Identifier: GPL-2.0-or-later
# What is unsaid is not "nothing": ratings (50 W of a pad, unknown); a level at which an instrument is no longer linear
# (5 W behind 30 dB: 37.0 - 30 = 7.0 dBm, common practice: 0 dBm); a carrier out of every band; a set that is to be
# measured in 1 MHz from 1 GHz on (Rec. ITU-R SM.329), where harmonic 7 of 146.94 MHz is the first.
plan() {
    "$SPURITY" plan --rules us-amateur --max-input 20dBm --noise -110dBm/10k "$@"
}
try plan --carrier 146.94M --power 5W --pad 30dB --pad 20dB | sed -n '/^NOT/p; /^what would/,/^$/p; /^->/p'
try plan --carrier 146.94M --power 5W --pad 30dB,6G,50W --json out.json >text
near out.json more_pad_db 10 0 attenuation_db 30 0
grep -A 1 'more pad would' text
grep -A 1 'harm nothing, but' text
grep 'from harmonic' text
tail -n 1 text
try plan --carrier 146.52k --power 5W | grep -e NOT -e '->'
try "$SPURITY" plan --carrier 462.575M --power 5W --rules us-gmrs --max-input 20dBm --noise -110dBm/10k >text
head -n 3 text
