# SPDX-License-Identifier: GPL-2.0-or-later
# Colour on a terminal only; a locale with a decimal comma changes no byte; nothing is lost unnoticed.
plan() {
    "$SPURITY" plan --carrier 146.94M --power 4.5W --rules us-amateur --max-input 20.5dBm --noise -110dBm/10k \
        --pad 40.5dB,0.3dB,6G,50W "$@"
}
plan --json c.json --session c.yaml >c.txt
awk 'index($0, "\033[") { found = 1 } END { print found ? "colour" : "plain" }' c.txt
if command -v localedef >/dev/null && mkdir locales && localedef -i de_DE -f UTF-8 locales/de_DE.UTF-8 >/dev/null 2>&1; then
    LOCPATH="$PWD/locales" LC_ALL=de_DE.UTF-8 "$SPURITY" plan --carrier 146.94M --power 4.5W --rules us-amateur \
        --max-input 20.5dBm --noise -110dBm/10k --pad 40.5dB,0.3dB,6G,50W --json comma.json --session comma.yaml >comma.txt
    cmp c.json comma.json
    cmp c.txt comma.txt
    cmp c.yaml comma.yaml
fi
status=0
plan >/dev/full 2>told || status=$?
echo "full: $status"
status=0
plan --session /dev/full >text 2>told || status=$?
echo "session full: $status"
