# SPDX-License-Identifier: GPL-2.0-or-later
# Both files of a recording are one; two channels of it are not.
capture x center=146.9M seconds=0.02 channels=2 146.94M=-6
try "$SPURITY" measure x.sigmf-meta,channel=1 x.sigmf-data,channel=1 --direct >&2
try "$SPURITY" measure x.sigmf-meta,channel=1 x.sigmf-meta,channel=1 --direct >&2
try "$SPURITY" show x.sigmf-meta,channel=1 x.sigmf-data,channel=2 >shown
cat shown
