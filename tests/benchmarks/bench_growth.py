# SPDX-License-Identifier: MIT
"""How time and memory grow with the size of the roof, from arrays to displacements.

    python tests/benchmarks/bench_growth.py [SOLVER [SQUARES_ALONG_AN_EDGE ...]]

Each size runs in a process of its own: one small roof first, then the one that counts. Times are of
the processor with one thread, memory is the largest the process held less what it held before. The
exponent is the slope of the logarithms over the degrees of freedom, by least squares.
"""

import os

for _variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_variable] = "1"  # before any library reads it

import json
import resource
import subprocess
import sys
import time

import numpy as np
import roof

from fea.tables import text_table

SIZES = ("40", "58", "84", "122", "176", "223")  # 10 086 to 301 056 degrees of freedom


def one(solver: str, n: int) -> dict[str, float]:
    """Seconds and megabytes of one size, in this process."""
    roof.ours(roof.Roof(10), solver)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time()
    roof.ours(roof.Roof(n), solver)
    seconds = time.process_time() - start
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    return {"dofs": roof.Roof(n).dofs, "seconds": seconds, "megabytes": grown / 1024.0}


def main(solver: str = "superlu", *sizes: str) -> None:
    """Print a row a size, and the exponents."""
    found = []
    for n in sizes or SIZES:
        command = [sys.executable, __file__, "--one", solver, n]
        run = subprocess.run(command, capture_output=True, text=True, check=True)
        found.append(json.loads(run.stdout))
    values = np.array([[row["dofs"], row["seconds"], row["megabytes"]] for row in found])
    rows = [(f"{dofs:.0f}", f"{s:.2f}", f"{mb:.0f}") for dofs, s, mb in values]
    print(f"roof, {solver}")
    print(text_table(("degrees of freedom", "s", "MB"), rows))
    slope = [float(np.polyfit(*np.log(values[:, [0, k]]).T, 1)[0]) for k in (1, 2)]
    print(f"time grows as the {slope[0]:.2f}th power, memory as the {slope[1]:.2f}th")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(one(sys.argv[2], int(sys.argv[3]))))
    else:
        main(*sys.argv[1:])
