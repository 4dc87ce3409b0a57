# SPDX-License-Identifier: GPL-2.0-or-later
# Colour on a terminal only, and never with NO_COLOR; no progress where the work takes less than a second.
command -v script >/dev/null || skip 'script(1) is missing'
script -qc true /dev/null >/dev/null 2>&1 || skip 'no pseudo-terminal to be had here'
sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-65 >f0.csv
escapes() {
    awk 'index($0, "\033[") { found = 1 } END { print found ? "colour" : "plain" }'
}
export TERM=xterm
"$SPURITY" check f0.csv --pad 40dB --rules us-amateur | escapes
script -qc '"$SPURITY" check f0.csv --pad 40dB --rules us-amateur' /dev/null | escapes
NO_COLOR=1 script -qc '"$SPURITY" check f0.csv --pad 40dB --rules us-amateur' /dev/null | escapes
TERM=dumb script -qc '"$SPURITY" check f0.csv --pad 40dB --rules us-amateur' /dev/null | escapes
