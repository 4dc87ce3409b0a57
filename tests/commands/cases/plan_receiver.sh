# SPDX-License-Identifier: GPL-2.0-or-later
# A receiver of 2.4 MS/s: captures in place of sweeps, none tuned onto the carrier or one of its harmonics, all of the
# rate told; 5 W behind 60 dB is -23.01 dBm.
try "$SPURITY" plan --carrier 146.94M --power 5W --rules us-amateur --max-input 0dBm --noise -100dBm/10k --rate 2.4M \
    --range 140M-160M --pad 40dB,0.3dB,6G,50W --pad 20dB,0.3dB,6G,2W --json out.json >text
python3 - <<'END'
import json
plan = json.load(open("out.json"))
captures = plan["captures"]
print("sweeps:", len(plan["sweeps"]), "captures:", bool(captures))
print("rates:", {c["rate_hz"] for c in captures})
off = [abs(c["center_hz"] - n * 146.94e6) for c in captures for n in range(1, 11)]
print("off the carrier and its harmonics:", min(off) > 10e3)
END
near out.json level_at_instrument_dbm -23.0103 0.001 carrier_hz 146940000 0
grep -c 'carrier.*sigmf-meta' text
