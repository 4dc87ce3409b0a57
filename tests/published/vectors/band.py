#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-2.0-or-later
# Makes band.h: noise of known density as a sweep would read it, and its power in a bandwidth told without any of that.
# Complex Gaussian noise (numpy) is shaped in the frequency domain; each reading is the power behind a Gaussian filter of
# the RBW, averaged in power or in dB over thousands of stretches (the filter: scipy.signal.windows.gaussian, of a length
# that holds it to -100 dB).  The power in the bandwidth is that of the same samples through a brick-wall filter (Parseval).
# Run: python3 tests/published/vectors/band.py > tests/published/vectors/band.h     Needs numpy and scipy.
import numpy as np
import scipy
from scipy import signal

RATE, RBW, COUNT = 1e6, 10e3, 2_000_000
BINS = 200  # 5 kHz apart: half an RBW
DENSITY, FLOOR = -100.0, -135.0  # dBm/Hz
LOW, HIGH = -200e3, 200e3  # of the noise
FROM, TO = -50e3, 50e3  # of the bandwidth: 100 kHz


def samples():
    rng = np.random.default_rng(20260101)
    hz = np.fft.fftfreq(COUNT, 1 / RATE)
    spectrum = (rng.standard_normal(COUNT) + 1j * rng.standard_normal(COUNT)) / np.sqrt(2)
    density = np.where((hz >= LOW) & (hz < HIGH), 10 ** (DENSITY / 10), 0) + 10 ** (FLOOR / 10)
    spectrum *= np.sqrt(density * RATE * COUNT)  # mW/Hz to samples of mean power density * rate
    inside = (hz >= FROM) & (hz < TO)
    power = np.sum(np.abs(spectrum[inside]) ** 2) / COUNT**2
    return np.fft.ifft(spectrum), 10 * np.log10(power)


def readings(x):
    sigma = np.sqrt(np.log(2)) / (np.pi * RBW) * RATE  # |H|^2 is one half at RBW / 2
    window = signal.windows.gaussian(BINS, sigma, sym=False)
    stretches = np.lib.stride_tricks.sliding_window_view(x, BINS)[:: BINS // 2]
    power = np.abs(np.fft.fft(stretches * window, axis=1) / window.sum()) ** 2
    mean = np.fft.fftshift(10 * np.log10(power.mean(axis=0)))
    log = np.fft.fftshift((10 * np.log10(power)).mean(axis=0))
    return mean, log, len(stretches)


def table(name, row):
    print(f"static const double {name}[BAND_POINTS] = {{")
    for at in range(0, len(row), 8):
        print("    " + ", ".join(f"{value:.3f}" for value in row[at : at + 8]) + ",")
    print("};")


def main():
    x, power = samples()
    mean, log, count = readings(x)
    print("/* clang-format off */")
    print("/* SPDX-License-Identifier: GPL-2.0-or-later */")
    print(f"/* Made by band.py with scipy {scipy.__version__}: noise of {DENSITY:g} dBm/Hz over {(HIGH - LOW) / 1e3:g} kHz")
    print(f" * in an RBW of {RBW / 1e3:g} kHz, a reading every {RATE / BINS / 1e3:g} kHz from {-RATE / 2e3:g} kHz. */")
    print(f"enum {{ BAND_POINTS = {BINS}, BAND_AVERAGES = {count} }};")
    print(f"static const double band_rbw_hz = {RBW}, band_step_hz = {RATE / BINS}, band_start_hz = {-RATE / 2};")
    print(f"static const double band_from_hz = {FROM}, band_to_hz = {TO};")
    print(f"static const double band_density = {DENSITY}; /* dBm/Hz */")
    print(f"static const double band_power = {power:.4f}; /* dBm, of the samples themselves */")
    table("band_mean", mean)
    table("band_log", log)


main()
