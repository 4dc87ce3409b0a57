# SPDX-License-Identifier: GPL-2.0-or-later
# What turns dBFS into dBm: nothing, full scale, a meter; one scale for two files of one receiver and gain.
capture f0 center=146.9M 146.94M=-6
capture h2 center=293.84M 293.88M=-56
# Nothing: only the ratio within the file
"$SPURITY" measure f0.sigmf-meta --direct --json out.json >text
near out.json carrier/level_dbm null = warnings/0/code full-scale-unsure =
# 40 dB before a receiver whose full scale is -10 dBm: -6 - 10 + 40 = 24 dBm
"$SPURITY" measure f0.sigmf-meta,full-scale=-10dBm --pad 40dB --json out.json >text
near out.json carrier/level_dbm 24 0.03
# The meter says 4.7 W (36.72 dBm), h2 is 50 dB below on the same scale, and 20 dB more with its own pad of 20 dB less
"$SPURITY" measure f0.sigmf-meta,scale=a h2.sigmf-meta,scale=a --pad 40dB --power 4.7W --json out.json >text
near out.json carrier/level_dbm 36.72 0.01 emissions/0/level_dbc -50 0.05 emissions/0/level_dbm -13.28 0.05
"$SPURITY" measure f0.sigmf-meta,scale=a h2.sigmf-meta,scale=a,pad=60dB --pad 40dB --power 4.7W --json out.json >text
near out.json emissions/0/level_dbc -30 0.05
# Another scale: the meter anchors the carrier's only
"$SPURITY" measure f0.sigmf-meta,scale=a h2.sigmf-meta,scale=b --pad 40dB --power 4.7W --carrier 146.94M --json out.json >text
near out.json carrier/level_dbm 36.72 0.01 emissions/0/level_dbm null = emissions/0/level_dbc null =
