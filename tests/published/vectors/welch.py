#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-2.0-or-later
# Makes welch.h: averaged periodograms by scipy.signal.welch of a sequence that test_welch.c makes again by the same
# integer arithmetic.  Run: python3 tests/published/vectors/welch.py > tests/published/vectors/welch.h
# Needs numpy and scipy (general-purpose; any version: welch has not changed what it computes).
import numpy as np
import scipy
from scipy import signal

N, HOP, BLOCKS = 64, 32, 9
LENGTH = N + (BLOCKS - 1) * HOP


def sequence(count):
    """16-bit integers of a linear congruential generator (Numerical Recipes' constants, from memory) and two tones."""
    state, out = 12345, []
    for _ in range(count):
        state = (1664525 * state + 1013904223) % 2**32
        out.append((state >> 20) - 2048)  # -2048..2047
    return np.array(out, dtype=np.int64)


def samples_complex():
    noise = sequence(2 * LENGTH)
    i, q = noise[0::2].copy(), noise[1::2].copy()
    n = np.arange(LENGTH)
    # Tones as integers, so that C makes the same: period 16 (bin 4) and an alternating sign (bin 32).
    square = np.where((n // 8) % 2 == 0, 9000, -9000)
    i += square
    q += np.where(n % 2 == 0, 3000, -3000)
    return (i + 1j * q) / 32768.0


def samples_real():
    noise = sequence(LENGTH)
    n = np.arange(LENGTH)
    return (noise + np.where((n // 8) % 2 == 0, 9000, -9000)) / 32768.0


WINDOWS = {  # ours -> scipy's periodic window of the same coefficients
    "SPURITY_WINDOW_RECTANGULAR": "boxcar",
    "SPURITY_WINDOW_HANN": "hann",
    "SPURITY_WINDOW_HAMMING": "hamming",
    "SPURITY_WINDOW_BLACKMAN": "blackman",
    "SPURITY_WINDOW_BLACKMAN_HARRIS": "blackmanharris",
    "SPURITY_WINDOW_NUTTALL4C": "nuttall",
}


def table(name, rows):
    print(f"static const double {name}[WELCH_WINDOWS][WELCH_N] = {{")
    for row in rows:
        print("    {")
        for at in range(0, len(row), 5):
            print("        " + ", ".join(f"{value:.12e}" for value in row[at : at + 5]) + ",")
        print("    },")
    print("};")


def main():
    x, r = samples_complex(), samples_real()
    two, one = [], []
    for window in WINDOWS.values():
        _, p = signal.welch(x, fs=1.0, window=window, nperseg=N, noverlap=N - HOP, detrend=False,
                            return_onesided=False, scaling="spectrum")
        two.append(np.fft.fftshift(p))
        _, p = signal.welch(r, fs=1.0, window=window, nperseg=N, noverlap=N - HOP, detrend=False,
                            return_onesided=True, scaling="spectrum")
        one.append(np.pad(p, (0, N - len(p))))
    print("/* clang-format off */")
    print("/* SPDX-License-Identifier: GPL-2.0-or-later */")
    print(f"/* Made by welch.py with scipy {scipy.__version__}: mean power spectra, complex (rising from -rate/2) and real")
    print(" * (one side, rising from 0; the rest is 0). */")
    print(f"enum {{ WELCH_N = {N}, WELCH_HOP = {HOP}, WELCH_LENGTH = {LENGTH}, WELCH_WINDOWS = {len(WINDOWS)} }};")
    print("static const spurity_window welch_window[WELCH_WINDOWS] = {")
    print("    " + ",\n    ".join(WINDOWS) + "};")
    table("welch_complex", two)
    table("welch_real", one)


main()
