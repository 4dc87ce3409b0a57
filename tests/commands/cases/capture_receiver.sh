# SPDX-License-Identifier: GPL-2.0-or-later
# What is the receiver's: its image and centre, clipping. I and Q unequal by 0.5 dB and 3 degrees make an image of
# ((1.0593 - 1)^2 + 0.05236^2) / 4 of the power: 28.1 dB down.
capture image seconds=0.3 center=146.9M gain=0.5 phase=3 dc=0.01 146.94M=-6
"$SPURITY" show image.sigmf-meta,full-scale=-10dBm
"$SPURITY" measure image.sigmf-meta,full-scale=-10dBm,rbw=1k --direct --json out.json >text
near out.json emissions/0/kind 'receiver artefact' = emissions/0/frequency_hz 146860000 100 \
    emissions/0/level_dbc -28.1 0.3
grep -o '"code": "[a-z-]*"' out.json | sort -u
# An image over the limit is no fail of the set, and no pass: 40 dB before full scale of -10 dBm, -16 dBm allowed
"$SPURITY" check image.sigmf-meta,full-scale=-10dBm,rbw=1k --pad 53dB,0.5dB,6G,50W --modulation none --rules us-amateur \
    --range 146M-148M >text || echo "-> $?"
head -n 3 text; sed -n '/^not shown/,/^$/p' text
# Held at half of full scale: several samples at one same maximum; at the rails: counted
capture held datatype=cf32_le seconds=0.1 center=146.9M clip=0.5 146.9413M=-3
"$SPURITY" show held.sigmf-meta
capture clipped seconds=0.1 center=146.9M 146.9413M=3
"$SPURITY" show clipped.sigmf-meta
"$SPURITY" measure clipped.sigmf-meta,full-scale=-10dBm --carrier 146.9413M --direct --json out.json >text
grep -o '"code": "clipped"' out.json | sort -u
