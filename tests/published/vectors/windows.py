#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-2.0-or-later
"""Figures of the windows in lib/spectrum/windows.c, from their coefficients (N -> infinity).

Prints the rows of the table; test_windows.c works the same figures out again, in another way, and holds them against
the published columns."""
import numpy as np
from scipy.optimize import brentq, minimize_scalar
from scipy.special import i0

WINDOWS = [
    ("rectangular", [1]),
    ("hann", [.5, .5]),
    ("hamming", [.54, .46]),
    ("blackman", [.42, .5, .08]),
    ("blackman-harris", [.35875, .48829, .14128, .01168]),
    ("nuttall3b", [.4243801, .4973406, .0782793]),
    ("nuttall4b", [.355768, .487396, .144232, .012604]),
    ("nuttall4c", [.3635819, .4891775, .1365995, .0106411]),
    ("kaiser", 3.5),
    ("sft3f", [.26526, .5, .23474]),
    ("sft4f", [.21706, .42103, .28294, .07897]),
    ("sft5m", [.209671, .407331, .281225, .092669, .0091036]),
    ("hft70", [1, 1.90796, 1.07349, .18199]),
    ("hft90d", [1, 1.942604, 1.340318, .440811, .043097]),
    ("hft95", [1, 1.9383379, 1.3045202, .4028270, .0350665]),
    ("hft116d", [1, 1.9575375, 1.4780705, .6367431, .1228389, .0066288]),
    ("hft144d", [1, 1.96760033, 1.57983607, .81123644, .22583558, .02773848, .00090360]),
    ("hft169d", [1, 1.97441843, 1.65409889, .95788187, .33673420, .06364622, .00521942, .00010599]),
]


def response(w, d):
    d = np.asarray(d, dtype=float)
    if np.isscalar(w):
        s = (np.pi * w) ** 2 - (np.pi * d) ** 2
        r = np.sqrt(np.abs(s)) + 1e-300
        return np.where(s > 0, np.sinh(np.minimum(r, 700)) / r, np.sin(r) / r) / (np.sinh(np.pi * w) / (np.pi * w))
    total = w[0] * np.sinc(d)
    for k, c in enumerate(w[1:], 1):
        # cos(2 pi k t) with alternating sign, about the middle of the window: two shifted sincs
        total = total + c / 2 * (np.sinc(d - k) + np.sinc(d + k))
    return total / w[0]


def shape(w, t):
    if np.isscalar(w):
        return i0(np.pi * w * np.sqrt(np.maximum(0, 1 - (2 * t - 1) ** 2))) / i0(np.pi * w)
    return sum((-1) ** k * c * np.cos(2 * np.pi * k * t) for k, c in enumerate(w))


def overlap(w):
    """The overlap at which flatness of the overlap-added window less the correlation of neighbours is largest."""
    n = 20000
    s = shape(w, np.arange(n) / n)
    best = (-9, 0)
    for percent in np.arange(0, 950, 1):
        hop = int(round(n * (1 - percent / 1000)))
        total = np.zeros(hop)
        for start in range(0, n, hop):
            part = s[start:start + hop]
            total[:len(part)] += part
        flat = total.min() / total.max() if total.max() > 0 else 0
        same = np.dot(s[:n - hop], s[hop:]) / np.dot(s, s)
        best = max(best, (flat - same, percent / 1000))
    return best[1]


for name, w in WINDOWS:
    flat = not np.isscalar(w) and name[:3] in ("sft", "hft")
    width = 2 * brentq(lambda d: response(w, d) - np.sqrt(.5), 0.1, 4)
    inner = np.arange(0, .5 + 1e-9, .0005)
    scallop = -np.max(np.abs(20 * np.log10(np.abs(response(w, inner)))))
    grid = np.arange(.0005, 60, .0005)
    r = response(w, grid)
    cross = np.nonzero((r[:-1] > 1e-15) & (r[1:] <= 1e-15))[0][0]
    null = grid[cross]
    null = round(null) if abs(null - round(null)) < .002 else brentq(lambda d: float(response(w, d)), null - .01, null + .01)
    a = np.abs(r)
    peak = [i for i in range(1, len(a) - 1) if a[i] >= a[i - 1] and a[i] > a[i + 1] and grid[i] > null][:40]
    top = max(peak, key=lambda i: a[i])
    side = -minimize_scalar(lambda d: -20 * np.log10(abs(float(response(w, d)))), bounds=(grid[top] - .001, grid[top] + .001),
                            method="bounded", options={"xatol": 1e-9}).fun
    side = -abs(side)
    t = (np.arange(200000) + .5) / 200000
    s = shape(w, t)
    enbw = np.mean(s ** 2) / np.mean(s) ** 2
    gain = np.mean(s) / s.max()
    gain = np.mean(s) / (1.0 if np.isscalar(w) else sum(w))
    print("%-16s gain %.10f enbw %.9f width %.9f scallop %.9f side %.6f null %.9f overlap %.3f" %
          (name, gain, enbw, width, scallop, side, null, overlap(w)))
