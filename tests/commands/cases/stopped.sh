# SPDX-License-Identifier: GPL-2.0-or-later
# SIGTERM and SIGINT end the work by the signal, and leave nothing.
mkfifo pipe
for signal in TERM INT; do
    status=0
    # timeout keeps the program in the foreground of its group; its own status is that of the program
    timeout --preserve-status -s $signal 0.5 "$SPURITY" measure pipe --direct --json out.json || status=$?
    echo "$signal: $status"
done
ls -A
