# SPDX-License-Identifier: GPL-2.0-or-later
# Samples without a description: what the options say.  -6 dBFS, full scale -10 dBm, 40 kHz above the centre.
say() { echo "$1 $(near out.json carrier/level_dbm "$2" 0.03 carrier/frequency_hz "$3" 5)"; }
at=rate=400k,datatype=cu8,center=146.9M,full-scale=-10dBm
capture x datatype=cu8 meta=no noise=-45 center=146.9M 146.94M=-6
mv x.sigmf-data x.cu8
"$SPURITY" measure x.cu8 --rate 400k --datatype cu8 --center 146.9M --full-scale -10dBm --direct --json out.json >text
say options -16 146940000
"$SPURITY" measure "x.cu8,$at" --direct --json out.json >text
say keys -16 146940000
"$SPURITY" measure "stdin,$at" --direct --json out.json <x.cu8 >text
say input -16 146940000
# I and Q swapped: mirrored about the centre, unless it is said
"$SPURITY" measure "x.cu8,$at,swapped" --direct --json out.json >text
say swapped -16 146860000
# endless, ended by --seconds: 20 000 samples in
while cat x.cu8; do :; done 2>/dev/null | "$SPURITY" measure "stdin,$at" --seconds 0.05 --direct --json out.json >text
say endless -16 146940000
# bytes before the samples: an odd number of them would swap I and Q
capture y datatype=ci16_le skip=37 meta=no center=146.9M 146.94M=-6
"$SPURITY" measure y.sigmf-data,rate=400k,datatype=ci16_le,center=146.9M,full-scale=-10dBm,skip-bytes=37 --direct \
    --json out.json >text
say skipped -16 146940000
