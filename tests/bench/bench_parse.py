# SPDX-License-Identifier: GPL-2.0-or-later
"""bench_parse.py BENCH_PARSE [ROWS]: reading a text sweep against the C reader of pandas, on the same file.

Target: at least 4 times faster.  Runs BENCH_PARSE (which writes the sweep and reads it), then pandas.read_csv.
"""
import os
import re
import subprocess
import sys
import tempfile
import time

import pandas

program = sys.argv[1]
rows = sys.argv[2] if len(sys.argv) > 2 else "10000000"
with tempfile.TemporaryDirectory() as folder:
    path = os.path.join(folder, "sweep.csv")
    told = subprocess.run([program, rows, path], stdout=subprocess.PIPE, text=True, check=False).stdout
    print(told, end="")
    ours = float(re.search(r"spurity\s+([0-9.]+) s", told).group(1))
    least = None
    for _ in range(3):
        started = time.perf_counter()
        table = pandas.read_csv(path, header=None, engine="c", names=["hz", "db"])
        took = time.perf_counter() - started
        least = took if least is None else min(least, took)
    print(f"pandas               {least:.3f} s for {len(table)} rows")
    print(f"ratio                {least / ours:.2f} times the time of spurity (target: at least 4)")
    sys.exit(0 if least >= 4 * ours else 3)
