#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-2.0-or-later
# Makes tone_fm.h: carriers frequency-modulated by one tone in closed form, sum_n J_n(D / fm) cos(2 pi (f0 + n fm) t),
# with what masks of the regulation leave of them.  Run: /usr/bin/python3 tests/published/vectors/tone_fm.py > tests/published/vectors/tone_fm.h
# Needs scipy (general-purpose; any version).
import math
from scipy.special import jv

NEVER = math.inf


def steps(*rows):
    """Attenuation below P by offset in kHz; rows (above, up to, function)."""
    def at(khz):
        for low, high, f in rows:
            if low < khz <= high:
                return f(khz)
        return None
    return at


# 47 CFR 95.1779(b)(1), (2); 95.2779(b)(1), (5), (6); 90.210(c), (d), (e), each at the power in watts of its row.
MASKS = {
    "gmrs filtered": lambda p: steps((10, 20, lambda f: 25), (20, 50, lambda f: 35)),
    "murs 151": lambda p: steps((5.625, 12.5, lambda f: 7.27 * (f - 2.88))),
    "murs 154 unfiltered": lambda p: steps((5, 10, lambda f: 83 * math.log10(f / 5)),
                                           (10, 50, lambda f: min(29 * math.log10(f * f / 11), 50))),
    "C": lambda p: steps((5, 10, lambda f: 83 * math.log10(f / 5)),
                         (10, 50, lambda f: min(29 * math.log10(f * f / 11), 50))),
    "D": lambda p: steps((5.625, 12.5, lambda f: 7.27 * (f - 2.88)),
                         (12.5, 55.625, lambda f: min(50 + 10 * math.log10(p), 70))),
    "E": lambda p: steps((3, 4.6, lambda f: min(30 + 16.67 * (f - 3), 55 + 10 * math.log10(p), 65)),
                         (4.6, 53, lambda f: min(55 + 10 * math.log10(p), 65))),
}
CASES = [  # mask, power W, tone Hz, deviation Hz
    ("gmrs filtered", 5, 2400, 4500), ("gmrs filtered", 5, 2400, 9000), ("gmrs filtered", 5, 2600, 3000),
    ("murs 151", 2, 2400, 1500), ("murs 151", 2, 2400, 3000), ("murs 151", 2, 2300, 2300),
    ("murs 154 unfiltered", 2, 2400, 2500), ("murs 154 unfiltered", 2, 2400, 5000),
    ("C", 25, 2400, 3500), ("C", 25, 2600, 6000),
    ("D", 5, 2400, 2300), ("D", 5, 2400, 3500), ("D", 5, 2350, 2000), ("D", 50, 2400, 2300),
    ("E", 5, 1050, 900), ("E", 5, 1100, 1800),
]
LINES = 24


def occupied(powers, tone):
    """99 %: the outermost lines beyond which less than half a per cent of the power lies on each side."""
    beyond = 0.0
    for n in range(LINES, 0, -1):
        beyond += powers[n]
        if beyond >= 0.005:
            return 2 * n * tone
    return 0


def main():
    print("/* SPDX-License-Identifier: GPL-2.0-or-later */")
    print("/* Made by tone_fm.py; do not edit. */")
    print("struct tone_fm {\n    const char *mask;\n    double watts, tone_hz, deviation_hz, occupied_hz;")
    print("    double margin_db, margin_hz; /* least over the mask, and its offset */")
    print(f"    double line_db[{LINES + 1}]; /* of line n below and above, against all the power */\n}};")
    print("static const struct tone_fm tone_fm[] = {")
    for mask, watts, tone, deviation in CASES:
        powers = [float(jv(n, deviation / tone)) ** 2 for n in range(LINES + 1)]
        limit = MASKS[mask](watts)
        margin, place = NEVER, 0
        for n in range(1, LINES + 1):
            down = limit(n * tone / 1e3)
            if down is not None and powers[n] > 1e-12 and -down - 10 * math.log10(powers[n]) < margin:
                margin, place = -down - 10 * math.log10(powers[n]), n * tone
        lines = ", ".join(f"{10 * math.log10(max(p, 1e-30)):.4f}" for p in powers)
        print(f'    {{"{mask}", {watts}, {tone}, {deviation}, {occupied(powers, tone)}, {margin:.4f}, {place}, {{{lines}}}}},')
    print("};")


main()
