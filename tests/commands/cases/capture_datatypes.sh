# SPDX-License-Identifier: GPL-2.0-or-later
# Every datatype of SigMF tells the same carrier: -6 dBFS where full scale is -10 dBm, so -16 dBm.  Noise of -45 dBFS
# dithers the eight bit ones (one step is -42 dBFS); in the filter of the reading it is 75 dB under the carrier.
for type in c r; do
    for number in f32_le f32_be f64_le f64_be i32_le i32_be i16_le i16_be u32_le u32_be u16_le u16_be i8 u8; do
        center=146.9M carrier=146.94M
        [ $type = c ] || center=0 carrier=40k
        capture x datatype=$type$number seconds=0.04 center=$center noise=-45 $carrier=-6
        "$SPURITY" measure x.sigmf-meta,full-scale=-10dBm --direct --carrier $carrier --json out.json >text
        echo "$type$number $(near out.json carrier/level_dbm -16 0.02)"
    done
done
