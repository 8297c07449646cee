# SPDX-License-Identifier: MIT
"""The whole check of a shipped device as a multiple of one bare factorisation of its own matrix.

    python tests/benchmarks/bench_check.py [DEVICE [WEARER]]

Everything of `fea.assess` counts, fitting the device included, the report does not. The measure is
SuperLU alone on the reduced matrix, with the options that the solver gives it. Medians of several
runs, each followed by a bare factorisation, after one that is thrown away. Goal: at most five.
"""

import sys
import time
from itertools import pairwise
from statistics import median

from goals import Goal, goal_table
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

import fea
from fea.assessment import Assessment
from fea.limb import Limb
from fea.shipped import resolve
from fea.structure.realise import realise
from fea.tables import text_table
from fea.wearer import read_wearer

RUNS = 5
GOAL = Goal("whole check", "one bare factorisation", 5.0)


def factorisation_seconds(matrix: csc_matrix) -> float:
    """Time of one bare factorisation."""
    start = time.perf_counter()
    splu(
        matrix,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    return time.perf_counter() - start


def stages(device: str, wearer: fea.Wearer) -> tuple[Assessment, dict[str, float]]:
    """One assessment and the seconds of its parts, as it announces them itself."""
    marks: list[tuple[str, float]] = []
    result = fea.assess(
        fea.read_device(device),
        wearer,
        solver="superlu",
        progress=lambda message: marks.append((message, time.perf_counter())),
    )
    marks.append(("end", time.perf_counter()))
    return result, {name: end - start for (name, start), (_, end) in pairwise(marks)}


def main(device: str = "ribbed-polypropylene-child", wearer: str = "demo-child") -> None:
    """Print the table and the ratio."""
    person = read_wearer(resolve("wearers", wearer))
    fitted = fea.read_device(device).fit(Limb.of(person))
    matrix = csc_matrix(fea.prepare(realise(fitted), "superlu").reduced)
    runs, bares = [], []
    for _ in range(RUNS + 1):
        runs.append(stages(device, person))
        bares.append(factorisation_seconds(matrix))
    del runs[0], bares[0]
    bare = median(bares)
    cases = len(runs[0][0].cases) + len(runs[0][0].step)
    parts = {name: median(run[name] for _, run in runs) for name in runs[0][1]}
    parts["whole check"] = whole = median(sum(run.values()) for _, run in runs)
    print(f"{device} for {wearer}: {matrix.shape[0]} unknowns, {cases} cases, {RUNS} runs")
    rows = [
        (name, f"{seconds:.3f}", f"{seconds / whole:.0%}", f"{seconds / bare:.2f}")
        for name, seconds in parts.items()
    ]
    print(text_table(("part", "s", "share", "factorisations"), rows))
    print(f"one bare factorisation takes {bare:.3f} s")
    print()
    print(goal_table([GOAL.row(whole / bare)]))


if __name__ == "__main__":
    main(*sys.argv[1:])
