# SPDX-License-Identifier: GPL-2.0-or-later
# What a result keeps of a capture: settings and where they are from, digests, the same bits for any number of threads.
capture x seconds=0.2 center=146.9M 146.94M=-6
set -- measure x.sigmf-meta,full-scale=-10dBm --direct --edge 5% --seconds 0.15 --reproducible
"$SPURITY" "$@" --json one.json --threads 1 >text
near one.json settings/edge/value '5 %' = settings/seconds/value '0.15 s' = settings/reproducible/from option = \
    settings/files~0~full-scale/value '-10 dBm' = settings/files~0~rate/from file = inputs/0/kind capture = \
    inputs/0/sha256 "$(sha256sum <x.sigmf-data | cut -d ' ' -f 1)" = inputs/0/capture/samples 60000 0
"$SPURITY" "$@" --json two.json --threads 2 >text
cmp one.json two.json && echo same
# A recording's own digest is checked where it is asked for
was=$(sha512sum <x.sigmf-data | cut -d ' ' -f 1)
sed "s/\"core:datatype\"/\"core:sha512\": \"$was\", \"core:datatype\"/" x.sigmf-meta >good
cp good x.sigmf-meta
"$SPURITY" show x.sigmf-meta --hash >text
grep -c 'warning' text || true
printf 'x' | dd of=x.sigmf-data bs=1 seek=1000 conv=notrunc 2>/dev/null
"$SPURITY" show x.sigmf-meta --hash >text
grep -o 'one of them was changed' text
# Stopped while samples come without end
yes | timeout -s INT 1 "$SPURITY" measure stdin,rate=400k,datatype=cu8,center=146.9M --direct || echo "-> $?"
