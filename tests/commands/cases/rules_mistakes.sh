# SPDX-License-Identifier: GPL-2.0-or-later
# A user's own rule file with every kind of mistake. The file the program gives to begin with is spoilt in one place a row;
# each time it is refused (2) with the line, the key, what was found and what is allowed, by `rules` and by `check` alike.
# The line is worked out here: that of the first difference from the good file, or of the line the third field names.
# Columns: what sed does ~ what the message says ~ pattern of the line blamed (empty: the first that differs).
"$SPURITY" rules --template >good.yaml
try "$SPURITY" rules --lint ./good.yaml
hand_held -65
cat >table <<'END_OF_TABLE'
s/^format: .*/format: other-rules/ ~ 'other-rules' in format, expected spurity-rules ~
s/^version: 1/version: 2/ ~ '2' in version, expected 1 ~
s/^id: own-country/id: Own Country/ ~ 'Own Country' in id, expected small letters, digits ~
/^title:/d ~ no 'title' in the top level, expected a key 'title' ~ ^format:
/^edition:/d ~ no 'edition' in the top level, expected a key 'edition' ~ ^format:
s/^title:/titel:/ ~ 'titel' in the top level, expected format, version, id, title, edition, antenna, channels, bandwidths, investigated, clauses; did you mean 'title'? ~
s/^title: .*/title: ""/ ~ title, expected ~
s/^# antenna: fixed.*/antenna: glued/ ~ 'glued' in antenna, expected connector, fixed ~
/^clauses:/,$d ~ no 'clauses' in the top level, expected a key 'clauses' ~ ^format:
/^clauses:/,$c clauses: [] ~ 0 entries in clauses, expected 1 to 500 entries ~
/^clauses:/,$c clauses: nonsense ~ clauses, expected a list ~
s/frequency: 446.10625 MHz/frequency: 446.10625/ ~ '446.10625', a figure without a unit, in channels/1/frequency, expected a frequency with its unit ~
s/number: "2"/number: "1"/ ~ channel '1' again in channels/2, expected each number once ~
s/power: 500 mW, of: ERP}/power: 500, of: ERP}/ ~ '500', a figure without a unit, in channels/1/power, expected a power with its unit ~
s/of: ERP}/of: EIRP}/ ~ 'EIRP' in channels/1/of, expected mean power, carrier power, PEP, ERP ~
s/channel: 25 kHz, authorised: 20 kHz/channel: 25 kHz/ ~ no 'authorised' in bandwidths/1 ~
s/harmonics: "10"/harmonics: "1"/ ~ investigated/1/harmonics ~
s/harmonics: "10", up_to: 40 GHz, // ~ investigated/1 ~
s/citation: own law, 1.1$/citaton: own law, 1.1/ ~ 'citaton' in clauses/1, expected clause, citation ~
/says: spurious emissions of amateur transmitters of 100 W or less/d ~ no 'says' in clauses/1, expected a key 'says' ~ clause: "1.1"
/status: unverified  .*only when/d ~ no 'status' in clauses/1 ~ clause: "1.1"
s/status: unverified  .*only when.*/status: certain/ ~ 'certain' in clauses/1/status, expected unverified, confirmed ~
s/group: emissions  .*/group: emission/ ~ 'emission' in clauses/1/group, expected emissions, power, mask, frequency, modulation; did you mean 'emissions'? ~
0,/quantity: spurious emission/s//quantity: spur/ ~ 'spur' in clauses/1/quantity, expected spurious emission, mask, carrier power ~
0,/up_to: 100 W}/s//up_to: 100}/ ~ '100', a figure without a unit, in clauses/1/applies/power/up_to, expected a power with its unit ~
0,/up_to: 100 W}/s//up_to: 100 kHz}/ ~ '100 kHz' in clauses/1/applies/power/up_to, expected a power with its unit ~
0,/up_to: 100 W}/s//up_to: 1,5 kW}/ ~ clauses/1/applies/power ~
0,/up_to: 100 W}/s//up_to: -100 W}/ ~ '-100 W' in clauses/1/applies/power/up_to ~
0,/up_to: 100 W}/s//up_to: 100 W, below: 90 W}/ ~ clauses/1/applies/power ~
0,/power: {of: PEP, /s//power: {/ ~ no 'of' in clauses/1/applies/power ~
0,/power: {of: PEP/s//power: {of: loud power/ ~ 'loud power' in clauses/1/applies/power/of, expected mean power, carrier power, PEP, ERP ~
0,/carrier: {from: 144 MHz, up_to: 440 MHz}/s//carrier: {from: 440 MHz, up_to: 144 MHz}/ ~ clauses/1/applies/carrier ~
0,/carrier: {from: 144 MHz, up_to: 440 MHz}/s//carrier: {frm: 144 MHz}/ ~ 'frm' in clauses/1/applies/carrier, expected from, up_to, above, below; did you mean 'from'? ~
0,/carrier: {from: 144 MHz, up_to: 440 MHz}/s//dates: {installed: {above: 2003-13-01}}/ ~ '2003-13-01' in clauses/1/applies/dates/installed/above, expected ~
0,/carrier: {from: 144 MHz, up_to: 440 MHz}/s//dates: {sold: {above: 2003-01-01}}/ ~ 'sold' in clauses/1/applies/dates, expected installed, marketed, built ~
0,/carrier: {from: 144 MHz, up_to: 440 MHz}/s//sector: 7/ ~ 'sector' in clauses/1/applies, expected carrier, power, bandwidth, dates ~
s/where: {from: spurious domain}   .*/where: {from: somewhere}/ ~ 'somewhere' in clauses/1/where/from, expected ~
s/where: {from: spurious domain}   .*/where: {around: channels, width: 10 kHz}/ ~ 'channels' in clauses/1/where/around, expected harmonics ~
s/reference_bandwidth: itu .*/reference_bandwidth: wide/ ~ 'wide' in clauses/1/reference_bandwidth, expected itu ~
s/reference_bandwidth: itu .*/reference_bandwidth: 100/ ~ '100', a figure without a unit, in clauses/1/reference_bandwidth, expected ~
0,/detector: mean/s//detector: loudest/ ~ 'loudest' in clauses/1/detector, expected mean, peak, mean or peak ~
/      highest_of:  /s/highest_of/hihgest_of/ ~ 'hihgest_of' in clauses/1/limit, expected level ~
/suppression: {a: 43 dB/d ~ clauses/1/limit/highest_of, expected 2 to 20 entries ~ suppression: {fixed: 60
s/a: 43 dB, b: 10 dB, log10: power/a: 43, b: 10 dB, log10: power/ ~ '43', a figure without a unit, in clauses/1/limit/highest_of/1/suppression/a, expected a ratio in dB ~
s/log10: power . 1 W/log10: power/ ~ 'power' in clauses/1/limit/highest_of/1/suppression/log10, expected ~
s/log10: power . 1 W/log10: noise \/ 1 W/ ~ 'noise / 1 W' in clauses/1/limit/highest_of/1/suppression/log10, expected ~
s/suppression: {a: 43 dB, b: 10 dB, log10: power . 1 W, below: mean power}/suppression: {a: 43 dB, b: 10 dB, log10: power \/ 1 W}/ ~ no 'below' in clauses/1/limit/highest_of/1/suppression ~
s/fixed: 63 dB, below: mean power/fixed: 63 dB, below: loud power/ ~ 'loud power' in clauses/2/limit/suppression/below, expected mean power ~
s/fixed: 63 dB, below/fixed: 63 dB, level: 1 uW, below/ ~ 'level' in clauses/2/limit/suppression, expected fixed ~
s/limit: {level: -36 dBm}/limit: {level: -36}/ ~ '-36', a figure without a unit, in clauses/3/limit/level, expected ~
s/limit: {level: -36 dBm}/limit: {}/ ~ clauses/3/limit, expected ~
/limit: {level: -36 dBm}/d ~ without a limit in clauses/3, expected a key 'limit' ~ clause: "1.2"
s/channels: \[all\]/channels: ["9"]/ ~ '9' in clauses/3/applies/channels ~
s/audio_filter: no .*/audio_filter: maybe/ ~ 'maybe' in clauses/4/applies/audio_filter, expected no, yes ~
s/offset: {above: 6.25 kHz, below: 500 %/offset: {above: 6.25 kHz, below: 500/ ~ '500', a figure without a unit, in clauses/4/where/offset/below, expected a frequency with its unit, as 12.5 kHz, or a share ~
s/from_centre_of: channel/from_centre_of: town/ ~ 'town' in clauses/4/where/offset/from_centre_of, expected channel, bandwidth ~
s/limit: {level: 400 W, of: PEP}.*/limit: {level: 400 W}/ ~ clauses/5/limit ~
s/limit: {level: 2.5 ppm}/limit: {level: 2.5 W}/ ~ '2.5 W' in clauses/8/limit/level, expected ~
s/limit: {level: 2.5 kHz}/limit: {suppression: {fixed: 3 dB, below: PEP}}/ ~ clauses/9/limit ~
s/{centre: 446.1125 MHz, width: 25 kHz}/{centre: 446.1125 MHz}/ ~ clauses/7/bands/3 ~
$a\    limit: {level: 1 W} ~ clauses/10 ~
$a\  - clause: &one "9.9" ~ anchor ~
$a\    says: twice ~ 'says' ~
s/^title: A.*/title: "\\x07A"/ ~ a control character, expected printable text ~
s/^id: own-country/id: [own/ ~ while parsing a flow sequence), expected well-formed YAML ~ ^title:
END_OF_TABLE
rows=0
while IFS= read -r row; do
    edit=${row%% ~ *}
    rest=${row#* ~ }
    says=${rest%% ~*}
    blamed=${rest##*~}
    blamed=${blamed# }
    rows=$((rows + 1))
    sed "$edit" good.yaml >mine.yaml
    if cmp -s good.yaml mine.yaml; then
        echo "WRONG row $rows changes nothing: $edit"
        continue
    fi
    status=0
    "$SPURITY" rules --lint ./mine.yaml >out 2>err || status=$?
    [ $status = 2 ] || echo "WRONG row $rows: $edit: exit status $status: $(cat err)"
    [ ! -s out ] || echo "WRONG row $rows: something on standard output"
    [ "$(wc -l <err)" = 1 ] || echo "WRONG row $rows: $(wc -l <err) lines of complaint"
    if [ -n "$blamed" ]; then
        line=$(grep -n "$blamed" mine.yaml | head -n 1 | cut -d: -f1)
    else
        line=$(diff good.yaml mine.yaml | sed -n '1s/.*[acd]\([0-9]*\).*/\1/p')
    fi
    grep -q "'./mine.yaml', line $line, column [0-9]*: found .*, expected " err ||
        echo "WRONG row $rows: $edit: line $line expected: $(cat err)"
    grep -qF -- "$says" err || echo "WRONG row $rows: '$says' expected: $(cat err)"
    status=0
    "$SPURITY" check near.csv --pad 40dB --rules ./mine.yaml >out 2>again || status=$?
    [ $status = 2 ] && cmp -s err again || echo "WRONG row $rows: check tells otherwise ($status): $(cat again)"
done <table
[ $rows -ge 60 ] && echo "every row was refused as it should be"
