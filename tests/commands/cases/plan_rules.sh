# SPDX-License-Identifier: GPL-2.0-or-later
# Two rule sets: each named at the head, and each row says by whose clause.
try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --rules itu-a --max-input 20dBm \
    --noise -110dBm/10k --pad 40dB,0.3dB,6G,50W
try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --rules itu-a --json out.json >text
tail -n 1 text
near out.json rules/0/id us-amateur = rules/1/id itu-a = format spurity-plan = version 1 0
