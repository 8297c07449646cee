# SPDX-License-Identifier: MIT
"""Holes that the mesh does not show: their table in a device file, and their place on the wall."""

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from fea.device.device import Hole
from fea.device.selection import Point
from fea.device.strapping import HoleMm
from fea.errors import Problem
from fea.inputfile import Schema
from fea.mesh.mesh import Mesh

REACH = 15.0
"""Furthest (mm) that a hole may lie from the nodes of its zone. Source: assumed."""

NOTED = 0.25
"""Way from a hole to its node, in diameters, from which on a note says so. Source: assumed."""


class HoleTable(Schema):
    """A round hole drilled into a zone: at a point, or at a landmark and an offset from it.

    Keys: `at` a point in the file's own unit and axes (of a recipe: mm, device frame); or
    `landmark` with `offset_mm` forward, to the left and up.
    """

    name: Annotated[str, Field(min_length=1)]
    zone: str
    diameter_mm: HoleMm
    at: Point | None = None
    landmark: str | None = None
    offset_mm: Point = (0.0, 0.0, 0.0)

    @model_validator(mode="after")
    def _one_place(self) -> "HoleTable":
        if (self.at is None) == (self.landmark is None):
            raise ValueError("needs exactly one of at and landmark")
        if self.at is not None and any(self.offset_mm):
            raise ValueError("offset_mm belongs to a landmark")
        return self


def hole_names(
    tables: Sequence[HoleTable],
    walls: Collection[str],
    landmarks: Collection[str],
    taken: Collection[str],
) -> list[Problem]:
    """Names in the tables of holes that lead nowhere, or are taken.

    Args:
        tables: of the device file.
        walls: zones that can be drilled;  landmarks: that can be named;  taken: names that no hole
            may have.
    """
    problems = []
    names = [table.name for table in tables]
    for number, table in enumerate(tables):
        where, hole = f"holes.{number}", f"hole '{table.name}'"
        if table.zone not in walls:
            known = ", ".join(walls)
            what = f"{hole}: unknown zone '{table.zone}'; there are {known}"
            problems.append(Problem(f"{where}.zone", what))
        if table.name in taken or table.name in names[:number]:
            what = f"{hole}: the name is taken; give each hole its own"
            problems.append(Problem(f"{where}.name", what))
        if table.landmark is not None and table.landmark not in landmarks:
            known = ", ".join(landmarks)
            what = f"{hole}: unknown landmark '{table.landmark}'; there are {known}"
            problems.append(Problem(f"{where}.landmark", what))
    return problems


def drilled(
    mesh: Mesh,
    tables: Sequence[HoleTable],
    landmarks: Mapping[str, NDArray[np.float64]],
    problems: list[Problem],
    turned: Callable[[Point], NDArray[np.float64]] = np.asarray,
    scale: float = 1.0,
) -> tuple[Mesh, tuple[Hole, ...]]:
    """The mesh with the places of holes, and the holes where the wall comes nearest to them.

    The place of a hole is a node: of the cell that it lies in, the corner nearest to it.

    Args:
        mesh: of the device, in its frame.
        tables: of the device file.
        landmarks: name to (3,) point, mm.
        problems: takes every zone or landmark that is not there, name that is taken, and hole
            without a node of its zone within `REACH`; with any, the mesh is not to be used.
        turned, scale: take a point of the file into the device frame, and its unit to mm.
    """
    walls = [zone for zone, (kind, _) in mesh.zones.items() if kind == "triangle"]
    wrong = hole_names(tables, walls, landmarks, mesh.zones)
    holes = []
    for number, table in enumerate(tables):
        aim = landmarks.get(table.landmark or "")
        at = None if aim is None else aim + table.offset_mm
        if table.at is not None:
            at = scale * turned(table.at)
        if table.zone not in walls or at is None:
            continue
        nodes = mesh.zone_nodes(table.zone)
        gaps = np.linalg.norm(mesh.points[nodes] - at, axis=1)
        if gaps.min() > REACH:
            key = "at" if table.landmark is None else "offset_mm"
            x, y, z = mesh.points[nodes[np.argmin(gaps)]]
            wrong.append(Problem(f"holes.{number}.{key}", (
                f"hole '{table.name}' lies {gaps.min():.1f} mm from zone '{table.zone}', more "
                f"than {REACH:g} mm; move it onto the wall, which comes nearest at "
                f"({x:.0f}, {y:.0f}, {z:.0f}) mm of the device frame")))
        if not wrong:
            node, point = _on_the_wall(mesh, table.zone, at)
            place = f"{table.name} hole"
            mesh = mesh.with_places({place: np.array([node])})
            holes.append(Hole(table.name, table.zone, place, table.diameter_mm, point))
    problems += wrong
    return mesh, tuple(holes)


def _on_the_wall(
    mesh: Mesh, zone: str, at: NDArray[np.float64]
) -> tuple[int, tuple[float, float, float]]:
    """Where a zone comes nearest to a point, and the nearest corner of the cell there."""
    cells = mesh.zone_cells(zone)
    feet = nearest_points(mesh.points[cells], at)
    row = int(np.argmin(np.linalg.norm(feet - at, axis=1)))
    x, y, z = (round(float(value), 6) for value in feet[row])
    gaps = np.linalg.norm(mesh.points[cells[row]] - feet[row], axis=1)
    return int(cells[row, np.argmin(gaps)]), (x, y, z)


def nearest_points(corners: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """The point (c, 3) of each triangle (c, 3, 3) that is nearest to a point (3,).

    Example:
        >>> one = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 4, 0]]])
        >>> nearest_points(one, np.array([1.0, 1.0, 3.0])).tolist()
        [[1.0, 1.0, 0.0]]
        >>> nearest_points(one, np.array([4.0, 4.0, 3.0])).tolist()
        [[2.0, 2.0, 0.0]]
    """
    start, edges = corners, np.roll(corners, -1, axis=1) - corners
    to = at - start
    along = np.sum(to * edges, axis=2) / np.sum(edges**2, axis=2)
    feet = start + np.clip(along, 0.0, 1.0)[..., None] * edges
    best = np.argmin(np.linalg.norm(feet - at, axis=2), axis=1)
    nearest = feet[np.arange(len(feet)), best]
    normal = np.cross(edges[:, 0], edges[:, 1])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    inside = np.all(np.sum(np.cross(edges, to) * normal[:, None], axis=2) >= 0.0, axis=1)
    off = np.sum(to[:, 0] * normal, axis=1)[:, None] * normal
    return np.where(inside[:, None], at - off, nearest)


def hole_notes(mesh: Mesh, holes: Sequence[Hole]) -> tuple[str, ...]:
    """Holes that the mesh has no node near to, in words."""
    shifts = {hole: hole.shift(mesh) for hole in holes}
    return tuple(
        f"The mesh has no node at hole '{hole.name}' of {hole.diameter:g} mm: stress is read round "
        f"the nearest, {shift:.1f} mm off; finer cells there would bring it nearer."
        for hole, shift in shifts.items() if shift > NOTED * hole.diameter
    )


def hole_table(hole: Hole, at: NDArray[np.float64]) -> dict[str, object]:
    """The keys of `HoleTable` that give this hole again; `at` is its middle, mm."""
    return {"name": hole.name, "zone": hole.zone, "diameter_mm": hole.diameter, "at": at}
