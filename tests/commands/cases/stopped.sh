# SPDX-License-Identifier: GPL-2.0-or-later
# SIGTERM and SIGINT end the work by the signal, and leave nothing.
mkfifo pipe
for signal in TERM INT; do
    status=0
    # a run in the background has SIGINT ignored: set it back
    env --default-signal=INT,TERM timeout -k 20 --preserve-status -s $signal 0.5 "$SPURITY" measure pipe --direct --json out.json || status=$?
    echo "$signal: $status"
done
ls -A
