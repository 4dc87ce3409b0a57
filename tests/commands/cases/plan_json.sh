# SPDX-License-Identifier: GPL-2.0-or-later
# The object alone with `--json -`, the same as in a file; every key of the contract; what is unsaid is null; the
# settings are as understood.
"$SPURITY" plan --carrier 146.94M --power 4.5W..5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k \
    --pad 40dB,0.3dB,6G,50W --json out.json >text
"$SPURITY" plan --carrier 146.94M --power 4.5W..5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k \
    --pad 40dB,0.3dB,6G,50W --json - >only.json
cmp out.json only.json
near out.json power_w 5 0 attenuators/0/db 40 0 attenuators/0/rating_w 50 0 attenuators/0/arriving_w 5 0 \
    settings/noise/value '-110.0 dBm in 10 kHz' = settings/decision/from default = pad_db 40 0
python3 - <<'END'
import json
plan = json.load(open("out.json"))
keys = {
    "": "format version verdict attenuation_db pad_db level_at_instrument_dbm attenuators sweeps captures visibility cautions",
    "attenuators": "db rating_w arriving_w why",
    "sweeps": "start_hz stop_hz rbw_hz points detector seconds why",
    "visibility": "frequency_hz what limit_dbm rbw_hz floor_dbm bound_dbm margin_db shown advice",
}
for place, names in keys.items():
    node = plan[place][0] if place else plan
    missing = set(names.split()) - set(node)
    print(place or "plan", "lacks", sorted(missing) if missing else "nothing")
END
status=0
"$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --json bare.json >text || status=$?
echo "bare: $status"
near bare.json attenuation_db null 0 pad_db null 0 max_input_dbm null 0 visibility/0/shown null 0
