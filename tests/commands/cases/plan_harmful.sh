# SPDX-License-Identifier: GPL-2.0-or-later
# What would break something, each told in the first block, exit 1: straight into the instrument (50 W is 46.99 dBm,
# 26.99 dB over +20 dBm); a pad that gets 50 W and stands 2 W; the second pad of a pair over its rating (50 W behind 3 dB
# is 25.06 W, on a pad of 20 W); pads in the wrong order.
plan() {
    echo "== $*"
    try "$SPURITY" plan --carrier 146.94M --power 50W --rules us-amateur --max-input 20dBm --noise -110dBm/10k "$@"
}
plan --direct
plan --pad 40dB,0.3dB,6G,2W --pad 10dB,0.3dB,6G,2W
plan --pad 3dB,0.3dB,6G,100W --pad 40dB,0.3dB,6G,20W
plan --pad 10dB,0.3dB,6G,2W --pad 30dB,0.3dB,6G,100W
plan --direct --json out.json >text
near out.json verdict harmful = level_at_instrument_dbm 46.9897 0.001 headroom_db -26.9897 0.001 pad_db 0 0
