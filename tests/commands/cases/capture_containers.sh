# SPDX-License-Identifier: GPL-2.0-or-later
# Containers of audio, two channels I and Q, one channel real; by either file of a pair, in an archive.  The carrier
# stands at -6 dBFS, full scale is -10 dBm.
[ -n "${SPURITY_AUDIO:-}" ] || skip "SPURITY_AUDIO names no writer of audio containers (meson does)"
level() {
    name=$1
    shift
    "$SPURITY" measure "$@" --direct --json out.json >text
    echo "$name $(near out.json carrier/level_dbm -16 0.03 carrier/frequency_hz "$carrier" 2)"
}
carrier=146940000
capture iq rate=96k center=146.93M seconds=0.2 146.94M=-6
for kind in wav wavex wavf rf64 w64 au caf flac wav24 wav8; do
    "$SPURITY_AUDIO" $kind 96000 2 iq.sigmf-data "iq.$kind"
    level $kind "iq.$kind,center=146.93M,full-scale=-10dBm"
done
level data iq.sigmf-data,full-scale=-10dBm
mkdir iq
cp iq.sigmf-data iq.sigmf-meta iq
tar cf iq.sigmf iq
level archive iq.sigmf,full-scale=-10dBm
capture real datatype=ri16_le rate=96k seconds=0.2 10k=-6
carrier=10000
"$SPURITY_AUDIO" flac 96000 1 real.sigmf-data real.flac
level one-channel real.flac,full-scale=-10dBm --carrier 10k
# A container's header needs a file that can be gone back in; a stream of samples does not
try "$SPURITY" measure stdin,center=146.93M --direct <iq.w64 >&2
cat iq.wav | try "$SPURITY" measure stdin,center=146.93M --direct >&2
