# SPDX-License-Identifier: MIT
"""The Scordelis-Lo roof from arrays to displacements, beside bare solvers and other libraries.

    python tests/benchmarks/bench_scordelis.py [SQUARES_ALONG_AN_EDGE [RUNS]]

Gates on, fresh arrays in every run, nothing kept from one run to the next, one thread for all. The
ways take turns, sfepy one only; times are of the processor, which on a machine that is shared tell
more than the clock. Ratios are medians over the turns, of a way and its measure in one turn. Bare
is the same backend on the same matrix, factorised and solved once; of PARDISO with the settings
that the solver gives it, and with none. What is not installed is left out and named: the other
libraries come with `pip install -r tests/peers/requirements.txt` and `pip install sfepy`, PARDISO
with `pip install "stanchion[fast]"`.
"""

import os

for _variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_variable] = "1"  # before any library reads it

import sys
import time
from collections.abc import Callable
from statistics import median

import roof
from goals import Goal, goal_table
from scipy.sparse import csc_matrix

import fea
from fea.tables import text_table

PUBLISHED = -0.3024
OURS_SUPERLU, OURS_PARDISO = "Stanchion, SuperLU", "Stanchion, PARDISO"
BARE_SUPERLU, BARE_PARDISO = "bare SuperLU", "bare PARDISO, same settings"
BARE_DEFAULT = "bare PARDISO, no settings"
OPENSEES, PYFE3D = "OpenSees, ShellDKGT", "pyfe3d, Tria3DSG, SuperLU"
SFEPY = "sfepy, shell10x, quadrilaterals"
GOALS = (
    Goal(OURS_SUPERLU, BARE_SUPERLU, 1.3),
    Goal(OURS_PARDISO, BARE_DEFAULT, 1.3),
    Goal(OURS_PARDISO, BARE_PARDISO, 1.3),
    Goal(OPENSEES, OURS_SUPERLU, 10.0, at_least=True),
    Goal(OPENSEES, OURS_PARDISO, 10.0, at_least=True),
    Goal(PYFE3D, OURS_SUPERLU),
)
Way = Callable[[], object]


def ways(shape: roof.Roof) -> dict[str, Way]:
    """What takes turns, by name."""
    matrix = roof.scaled_matrix(fea.prepare(roof.model(shape), "superlu"))
    found: dict[str, Way] = {
        OURS_SUPERLU: lambda: roof.ours(roof.Roof(shape.n), "superlu"),
        BARE_SUPERLU: roof.bare_superlu(csc_matrix(matrix)),
    }
    if roof.pypardiso is not None:
        found[OURS_PARDISO] = lambda: roof.ours(roof.Roof(shape.n), "pardiso")
        found[BARE_PARDISO] = roof.bare_pardiso(matrix, {1: 1, 2: 0})
        found[BARE_DEFAULT] = roof.bare_pardiso(matrix, {})
    if roof.ops is not None:
        found[OPENSEES] = lambda: roof.opensees(roof.Roof(shape.n))
    if roof.pyfe3d is not None:
        found[PYFE3D] = lambda: roof.discrete_shear_gap(roof.Roof(shape.n))
    if roof.shell10x is not None:
        found[SFEPY] = lambda: roof.quadrilaterals(roof.Roof(shape.n))
    return found


def measured(found: dict[str, Way], runs: int) -> tuple[dict[str, list[float]], dict[str, object]]:
    """Seconds of each way in each turn, and what it returned; the first turn is thrown away."""
    seconds: dict[str, list[float]] = {name: [] for name in found}
    results: dict[str, object] = {}
    for turn in range(runs + 1):
        for name, way in found.items():
            if name == SFEPY and turn != 1:  # by far the slowest: one turn will do
                continue
            start = time.process_time()
            results[name] = way()
            if turn:
                seconds[name].append(time.process_time() - start)
    return seconds, results


def ratio(seconds: dict[str, list[float]], name: str, measure: str) -> float | None:
    """Median over the turns of a way's time over its measure's; None where one is missing."""
    if name not in seconds or measure not in seconds:
        return None
    pairs = zip(seconds[name], seconds[measure], strict=True)
    return median(one / other for one, other in pairs)


def main(n: str = "100", runs: str = "5") -> None:
    """Print the table, the ratios that are goals, and what was left out."""
    shape = roof.Roof(int(n))
    seconds, results = measured(ways(shape), int(runs))
    print(f"roof of {n} x {n} x 2 triangles, {shape.dofs} degrees of freedom, {runs} turns")
    rows = []
    for name, times in seconds.items():
        sag = results[name] if isinstance(results[name], float) else None
        off = "" if sag is None else f"{100 * (sag / PUBLISHED - 1):+.2f}"
        rows.append(
            (name, f"{median(times):.2f}", f"{min(times):.2f}", f"{sag:.5f}" if sag else "", off)
        )
    print(text_table(("way", "s", "least s", "sag", "% off the published"), rows))
    print()
    print(goal_table([goal.row(ratio(seconds, goal.one, goal.other)) for goal in GOALS]))
    for name in ("OPENSEES", "PYFE3D", "SFEPY", "PARDISO"):
        if (why := getattr(roof, f"NO_{name}", None)) is not None:
            print(f"left out: {why}")


if __name__ == "__main__":
    main(*sys.argv[1:])
