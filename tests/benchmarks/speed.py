# SPDX-License-Identifier: MIT
"""How long each part of the way takes on this machine, for finer and finer cells.

    python tests/benchmarks/speed.py [SIZE_MM ...]

Times are of one run each and depend on the machine; use their ratios.
"""

import sys
import time
from collections.abc import Callable
from typing import TypeVar

import fea
from fea.limb import Limb
from fea.structure.realise import realise
from fea.tables import text_table

DEVICE = "ribbed-polypropylene-child"
T = TypeVar("T")
SIZES_MM = (10.0, 7.0, 5.0)
HEADERS = ("cells of mm", "triangles", "unknowns", "mesh s", "prepare s", "all s", "worst share")


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """The result of some work, and the seconds it took."""
    start = time.perf_counter()
    result = work()
    return result, time.perf_counter() - start


def row(size: float) -> tuple[str, ...]:
    """One cell size: mesh, preparation for solving, and the whole assessment."""
    wearer = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
    recipe = fea.read_device(DEVICE)
    device, mesh_seconds = timed(lambda: recipe.fit(Limb.of(wearer), size))
    structure = realise(device)
    _, prepare_seconds = timed(lambda: fea.prepare(structure))
    result, all_seconds = timed(lambda: fea.assess(recipe, wearer, size=size))
    triangles = len(device.mesh.cells["triangle"])
    worst = max(check.utilisation for check in result.checks)
    times = (f"{seconds:.2f}" for seconds in (mesh_seconds, prepare_seconds, all_seconds))
    return (f"{size:g}", str(triangles), str(6 * len(device.mesh.points)), *times, f"{worst:.2f}")


def main(sizes: list[str]) -> None:
    """Print the table."""
    rows = [row(size) for size in (map(float, sizes) if sizes else SIZES_MM)]
    print(f"{DEVICE}, a child of 35 kg")
    print(text_table(HEADERS, rows))


if __name__ == "__main__":
    main(sys.argv[1:])
