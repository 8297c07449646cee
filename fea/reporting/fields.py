# SPDX-License-Identifier: MIT
"""One VTU with every case: displacements, stresses and the governing utilisation."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.touch import nodal_pressure
from fea.mesh.writing import write_fields
from fea.solver.solution import Solution
from fea.tensors import von_mises

CellFields = dict[str, dict[str, NDArray[np.float64]]]


def save_fields(path: str | Path, result: Assessment) -> None:
    """Write the device's mesh with the fields of all cases.

    Point fields: "displacement_mm [case]" (n, 3), and of a case that buckles "buckling_shape
    [case]" (n, 3), of which the largest movement is 1; "pressure_kpa [case]" (n,) between limb and
    device, NaN where they never touch. Cell fields: "utilisation", of the governing
    case; "zone", the number of the zone in the order of walls and bars, from 1;
    "mises_top_mpa [case]" and "mises_bottom_mpa [case]"; NaN where there is none.
    """
    mesh = result.device.mesh
    solutions = {**result.run.solutions, **result.run.step}
    points = {
        f"displacement_mm [{case}]": solution.displacement[: len(mesh.points), :3]
        for case, solution in solutions.items()
    }
    points |= {
        f"pressure_kpa [{case}]": 1000.0 * nodal_pressure(solution)[: len(mesh.points)]
        for case, solution in solutions.items()
    }
    points |= {
        f"buckling_shape [{case}]": mode.shapes[0, : len(mesh.points), :3]
        for case, mode in result.run.modes.items() if len(mode.shapes)
    }
    cells: CellFields = {
        "utilisation": {"triangle": np.asarray(result.cell_utilisation, dtype=float)},
        "zone": _zone_numbers(result),
    }
    for case, solution in solutions.items():
        for side in ("top", "bottom"):
            cells[f"mises_{side}_mpa [{case}]"] = {"triangle": _mises(result, solution, side)}
    write_fields(path, mesh, points, cells)


def _mises(result: Assessment, solution: Solution, side: str) -> NDArray[np.float64]:
    mesh = result.device.mesh
    values = np.full(len(mesh.cells["triangle"]), np.nan)
    for zone in result.device.walls:
        values[mesh.zone(zone)[1]] = von_mises(solution.stress(zone, at=side))
    return values


def _zone_numbers(result: Assessment) -> dict[str, NDArray[np.float64]]:
    mesh = result.device.mesh
    numbers = {kind: np.zeros(len(table)) for kind, table in mesh.cells.items()}
    for number, zone in enumerate((*result.device.walls, *result.device.bars), start=1):
        kind, rows = mesh.zone(zone)
        numbers[kind][rows] = number
    return numbers
