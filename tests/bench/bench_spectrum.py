#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-2.0-or-later
"""Speed of the transform loop: against FFTW alone, between plans, and against scipy.signal.welch.

    bench_spectrum.py BENCH_SPECTRUM FOLDER [loop|plan|welch ...]

FOLDER takes a file of 1.6 GB for the run (deleted afterwards).  Figures are wall clock: run it on a machine at rest.
"""
import os
import statistics
import subprocess
import sys
import time

import numpy as np
import scipy.signal

ROUNDS = 5
MOST = 400_000_000


def make(path):
    rng = np.random.default_rng(1)
    at = np.arange(2_000_000)
    tone = 8000 * np.exp(2j * np.pi * 0.1 * at)
    block = np.empty(2 * at.size, "<i2")
    with open(path, "wb") as file:
        for _ in range(10):
            noisy = tone + rng.normal(0, 300, at.size) + 1j * rng.normal(0, 300, at.size)
            block[0::2], block[1::2] = noisy.real, noisy.imag
            for _ in range(MOST // at.size // 10):
                block.tofile(file)


def bench(*arguments):
    return subprocess.run([str(a) for a in arguments], check=True, capture_output=True, text=True).stdout


def plans(program, path):
    """The whole run as it comes over the better of two: by estimate, and measured (its plan timed apart)."""
    for samples in (100_000, 1_000_000, 40_000_000, MOST):
        for n in (1024, 4096, 16384, 65536, 262144):
            if samples < 2 * n:
                continue
            took = {}
            for how in ("policy", "estimate", "measure"):
                took[how] = statistics.median(
                    float(bench(program, "plan", path, samples, n, how).split()[0]) for _ in range(3))
            best = min(took["estimate"], took["measure"])
            print(f"{samples:>10} samples N {n:>6}: policy {took['policy']:.4f} s estimate {took['estimate']:.4f} "
                  f"measure {took['measure']:.4f}: {took['policy'] / best:.3f} x the better", flush=True)


def welch_blocks(path, samples, n):
    """scipy.signal.welch on 1 Mi-sample blocks, mean of the blocks, one thread."""
    total, blocks = 0, 0
    with open(path, "rb") as file:
        for start in range(0, samples, 1 << 20):
            raw = np.fromfile(file, "<i2", 2 * min(1 << 20, samples - start)).astype(np.float32) / 32768
            if raw.size < 2 * n:
                break
            total = total + scipy.signal.welch(raw.view(np.complex64), 10e6, "blackmanharris", n, n // 2,
                                               return_onesided=False, scaling="spectrum", detrend=False)[1]
            blocks += 1
    return total / blocks


def welch_whole(path, samples, n):
    raw = np.fromfile(path, "<i2", 2 * samples).astype(np.float32) / 32768
    return scipy.signal.welch(raw.view(np.complex64), 10e6, "blackmanharris", n, n // 2, return_onesided=False,
                              scaling="spectrum", detrend=False)[1]


def against_welch(program, path):
    for name, by, samples in (("1 Mi blocks", welch_blocks, MOST), ("whole array", welch_whole, 40_000_000)):
        start = time.perf_counter()
        by(path, samples, 4096)
        theirs = time.perf_counter() - start
        for threads in (1, 2):
            for kept in (False, True):  # plans in a file, as the program keeps them in the cache folder
                ours = []
                for i in range(ROUNDS + kept):
                    start = time.perf_counter()
                    said = bench(program, "run", path, samples, 4096, threads, *([path + ".plans"] if kept else []))
                    if i >= kept:
                        ours.append(time.perf_counter() - start)
                took = statistics.median(ours)
                print(f"welch, {name}, {samples} samples: {theirs:.2f} s; {threads} thread(s), plans "
                      f"{'kept' if kept else 'made'}, {took:.3f} s: {theirs / took:.1f} x   ({said.strip()})", flush=True)


def main():
    program, folder, what = sys.argv[1], sys.argv[2], sys.argv[3:] or ["loop", "plan", "welch"]
    path = os.path.join(folder, "spurity-bench.ci16")
    make(path)
    try:
        if "loop" in what:
            print(bench(program, "loop", path, 40_000_000), end="", flush=True)
        if "plan" in what:
            plans(program, path)
        if "welch" in what:
            against_welch(program, path)
    finally:
        os.unlink(path)
        if os.path.exists(path + ".plans"):
            os.unlink(path + ".plans")


main()
