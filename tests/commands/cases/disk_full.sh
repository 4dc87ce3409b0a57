# SPDX-License-Identifier: GPL-2.0-or-later
# What cannot be written is 4; what can, is.
[ -c /dev/full ] || skip '/dev/full is missing'
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
status=0
"$SPURITY" measure f0.csv --pad 40dB >/dev/full || status=$?
echo "standard output full: $status" >&2
status=0
"$SPURITY" measure f0.csv --pad 40dB >&- || status=$?
echo "standard output closed: $status" >&2
status=0
"$SPURITY" measure f0.csv --pad 40dB --json /dev/full >text || status=$?
echo "json full: $status" >&2
grep -q "146.94 MHz" text
"$SPURITY" measure f0.csv --pad 40dB --json /dev/null >text
echo "json to /dev/null: $?" >&2
mkfifo pipe
cat pipe >through &
"$SPURITY" measure f0.csv --pad 40dB --json pipe >text
wait
near through format spurity-measurement = >&2
