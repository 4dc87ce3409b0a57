# SPDX-License-Identifier: GPL-2.0-or-later
# A page of a capture; of real samples; of several centres; of what is not used.
capture x seconds=0.1 center=146.9M 146.94M=-6
"$SPURITY" show x.sigmf-meta,full-scale=-10dBm --pad 40dB
"$SPURITY" show x.sigmf-data --seconds 0.05
capture real datatype=ru8 noise=-40 seconds=0.1 60k=-6
"$SPURITY" show real.sigmf-meta
# two centres in one recording
sed 's|"captures": \[|"captures": [{"core:sample_start": 20000, "core:frequency": 147.2e6},|' x.sigmf-meta >y.sigmf-meta
cp x.sigmf-data y.sigmf-data
try "$SPURITY" show y.sigmf-meta
