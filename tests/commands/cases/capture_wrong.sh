# SPDX-License-Identifier: GPL-2.0-or-later
# What a description can have wrong, each told in one sentence.
capture x seconds=0.02 center=146.9M 146.94M=-6
cp x.sigmf-meta good
with() { # the description with one thing changed
    sed "$1" good >x.sigmf-meta
    try "$SPURITY" measure x.sigmf-meta --direct >&2
}
with 's/"core:datatype": "ci16_le"/"core:datatype": "ci12_le"/'
with '/core:datatype/d'
with 's/400000.0/-1/'
with '/core:sample_rate/d'
with 's/400000.0/"fast"/'
with 's/"global": {/"global": {"core:dataset": "..\/other.bin",/'
with 's/"core:version": "1.2.0"/"core:version": "1.2.0", "core:version": "1.1.0"/'
with 's/"core:sample_start": 0/"core:sample_start": -3/'
with 's/}/]/'
with 's/"captures"/"Captures"/'
cp good x.sigmf-meta
mv x.sigmf-data gone
try "$SPURITY" measure x.sigmf-meta --direct >&2
: >x.sigmf-data
try "$SPURITY" measure x.sigmf-meta --direct >&2
mv gone x.sigmf-data
rm x.sigmf-meta
try "$SPURITY" measure x.sigmf-data --direct >&2
try "$SPURITY" measure x.sigmf-data,rate=400k --direct >&2
try "$SPURITY" measure x.sigmf-data,datatype=ci16_le --direct >&2
try "$SPURITY" measure x.sigmf-data,rate=400k,datatype=ci16_le --direct >&2
cp good x.sigmf-meta
try "$SPURITY" measure x.sigmf-meta,channel=2 --direct >&2
try "$SPURITY" measure x.sigmf-meta,detector=peak --direct >&2
try "$SPURITY" measure x.sigmf-meta --seconds 10us --direct >&2
try "$SPURITY" measure x.sigmf-meta,datatype=ci13_le --direct >&2
cp good x.sigmf-meta
for said in start=140M stop=150M trace=2 level-unit=dBuV skip-bytes=16; do
    try "$SPURITY" measure "x.sigmf-meta,$said" --direct >&2
done
