# SPDX-License-Identifier: GPL-2.0-or-later
# What a mask cannot be shown with: no word of the modulation, a carrier without any, voice, no reference, a wider RBW.
unfit() { try "$SPURITY" "$@" >out.txt; sed -n "/^not shown/,/^assumed/p; /^->/p" out.txt; }
tone="$SOURCE/traces/personal-radio-tone.csv"
set -- --pad 40dB,0.5dB,6G,50W --emission F3E --audio-filter yes --rules us-gmrs
unfit check "$tone" "$@" --only mask,modulation
unfit check "$tone" "$@" --only mask --modulation voice
unfit check "$tone" "$@" --only frequency --modulation test
unfit check "$SOURCE/traces/personal-radio.csv,trace=2,detector=max-hold" "$@" --only mask --modulation test
