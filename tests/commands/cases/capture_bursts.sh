# SPDX-License-Identifier: GPL-2.0-or-later
# Keyed 30 ms of every 75: the level is that of the key-down time, -6 dBFS; of all the time it would be 4 dB less
# (10 log10 0.4).
capture x seconds=0.3 burst=0.03 pause=0.045 center=146.9M 146.94M=-6
"$SPURITY" measure x.sigmf-meta,full-scale=-10dBm,rbw=1k --direct --json out.json >text
near out.json carrier/level_dbm -16 0.1
"$SPURITY" show x.sigmf-meta,full-scale=-10dBm,rbw=1k
