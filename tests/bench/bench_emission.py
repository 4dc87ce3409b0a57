# SPDX-License-Identifier: GPL-2.0-or-later
"""Floor and emissions of a million points against scipy.signal.find_peaks plus a rolling median by pandas.

    python3 bench_emission.py BENCH_PROGRAM

Same data, same machine, best of five each.  The target is a ratio of at most 0.5.
"""
import subprocess
import sys
import tempfile
import time

import numpy
import pandas
import scipy.signal

N = 1_000_000


def sweep(rng):
    """Noise (four power averages) with 200 lines through a Gaussian filter, dB."""
    power = rng.gamma(4, 1 / 4, N) * 1e-10
    x = numpy.arange(N)
    for centre, level in zip(rng.uniform(1000, N - 1000, 200), rng.uniform(-85, -10, 200)):
        near = slice(int(centre) - 20, int(centre) + 21)
        power[near] += 10 ** (level / 10) * numpy.exp2(-((x[near] - centre) / 1.0) ** 2)
    return 10 * numpy.log10(power)


def best(function):
    times = []
    for _ in range(5):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def main():
    level = sweep(numpy.random.default_rng(1))
    median = best(lambda: pandas.Series(level).rolling(101, center=True).median())
    peaks = best(lambda: scipy.signal.find_peaks(level, height=-85))
    with tempfile.NamedTemporaryFile() as file:
        level.tofile(file)
        file.flush()
        ours, lines, size = subprocess.run([sys.argv[1], file.name], check=True, capture_output=True,
                                           text=True).stdout.split()
    print(f"pandas {pandas.__version__} rolling median (101) {median:.3f} s, "
          f"scipy {scipy.__version__} find_peaks {peaks:.3f} s")
    print(f"floor and emissions {float(ours):.3f} s ({lines} found, {size} bytes a point), "
          f"ratio {float(ours) / (median + peaks):.3f} (target 0.5)")
    return 0 if float(ours) <= 0.5 * (median + peaks) else 1


sys.exit(main())
