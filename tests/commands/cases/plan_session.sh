# SPDX-License-Identifier: GPL-2.0-or-later
# The skeleton: beside the text, the mode by the umask, nothing left over, never written over, in no folder that is not
# there; on standard output alone with '-'.
umask 027
plan() {
    "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k \
        --pad 30dB,0.3dB,6G,50W --pad 10dB,0.3dB,6G,2W --station "it's: [a]" "$@"
}
plan --session set.yaml >text
grep -c READY text
grep -E 'format:|spurity check|file: "carrier|pad: |carrier: |station: |done: ' set.yaml | uniq
stat -c '%A %n' set.yaml
echo 'mine' >mine.yaml
try plan --session mine.yaml >&2
cat mine.yaml
try plan --session missing/set.yaml >&2
try plan --session . >&2
try plan --session out --json out >&2
try plan --session - --json - >&2
plan --session - >only.yaml
cmp set.yaml only.yaml
ls -A
