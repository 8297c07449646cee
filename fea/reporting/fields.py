# SPDX-License-Identifier: MIT
"""One VTU with every case: displacements, stresses and the governing utilisation."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.touch import nodal_pressure
from fea.mesh.writing import write_fields
from fea.solver.recovery import LAYERS
from fea.solver.solution import Solution
from fea.structure.singular import left_out, singular_places
from fea.tensors import von_mises

Array = NDArray[np.float64]
CellFields = dict[str, dict[str, Array]]


def save_fields(path: str | Path, result: Assessment) -> None:
    """Write the device's mesh with the fields of all cases.

    Point fields: "displacement_mm [case]" (n, 3), and of a case that buckles "buckling_shape
    [case]" (n, 3), of which the largest movement is 1; "pressure_kpa [case]" (n,) between limb and
    device, NaN where they never touch, left out where numbers from memory are forbidden.

    Cell fields: "utilisation", of the governing case; "zone", the number of the zone in the order
    of walls and bars, from 1; "left_out", 1 where the plain maximum of stress leaves a triangle
    out, since stress does not converge there, 0 where it is judged, NaN where it is not judged for
    another reason. Of each case the von Mises stress, NaN where there is none:
    "mises_cell_mean_bottom_mpa" and "…_top_mpa", of the mean section forces of a triangle;
    "mises_corner_max_bottom_mpa", "…_middle_mpa" and "…_top_mpa", the largest of the stress
    recovered at its three corners, as in the report's table, which passes over the triangles left
    out; "mises_corner_max_error_mpa", the estimated error of the largest of the three, not added.
    """
    mesh = result.device.mesh
    solutions = {**result.run.solutions, **result.run.step}
    points = {
        f"displacement_mm [{case}]": solution.displacement[: len(mesh.points), :3]
        for case, solution in solutions.items()
    }
    points |= {} if not result.requirements.allow_memory else {
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
        "left_out": {"triangle": _left_out(result)},
    }
    for case, solution in solutions.items():
        for name, values in _stresses(result, solution).items():
            cells[f"{name} [{case}]"] = {"triangle": values}
    write_fields(path, mesh, points, cells)


def _stresses(result: Assessment, solution: Solution) -> Mapping[str, Array]:
    """Stress of all triangles in one case, by the name of the field."""
    mesh = result.device.mesh
    means = [f"mises_cell_mean_{layer}_mpa" for layer in ("bottom", "top")]
    peaks = [f"mises_corner_max_{layer}_mpa" for layer in LAYERS]
    error = "mises_corner_max_error_mpa"
    fields = {
        name: np.full(len(mesh.cells["triangle"]), np.nan) for name in (*means, *peaks, error)
    }
    if not result.device.walls:
        return fields
    recovered = solution.system.recovery([solution])
    for zone in result.device.walls:
        cells = mesh.zone(zone)[1]
        for name, layer in zip(means, ("bottom", "top"), strict=True):
            fields[name][cells] = von_mises(solution.stress(zone, at=layer))
        mises = von_mises(recovered.surface_stress(zone))[0]
        for name, values in zip(peaks, mises, strict=True):
            fields[name][cells] = values.max(axis=1)
        every = np.moveaxis(np.stack([mises, recovered.stress_error(zone)[0]]), 2, 1)
        stress, doubt = every.reshape(2, len(cells), -1)
        fields[error][cells] = doubt[np.arange(len(cells)), stress.argmax(axis=1)]
    return fields


def _left_out(result: Assessment) -> Array:
    """What became of each triangle in the plain maximum of stress, see `save_fields`."""
    judged = ~np.isnan(np.asarray(result.cell_utilisation, dtype=float))
    systems = {id(each.system): each.system for each in result.run.solutions.values()}
    singular = np.zeros(len(judged), dtype=bool)
    for system in systems.values():
        singular |= left_out(system.structure, singular_places(system.structure)).cells
    return np.where(judged, 0.0, np.where(singular, 1.0, np.nan))


def _zone_numbers(result: Assessment) -> dict[str, Array]:
    mesh = result.device.mesh
    numbers = {kind: np.zeros(len(table)) for kind, table in mesh.cells.items()}
    for number, zone in enumerate((*result.device.walls, *result.device.bars), start=1):
        kind, rows = mesh.zone(zone)
        numbers[kind][rows] = number
    return numbers
