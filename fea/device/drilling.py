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
    """The mesh with the places of holes, each the nearest node of its zone, and the holes.

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
            wrong.append(Problem(f"holes.{number}.{key}", (
                f"hole '{table.name}' lies {gaps.min():.1f} mm from zone '{table.zone}', more "
                f"than {REACH:g} mm; move it onto the wall")))
        if not wrong:
            mesh = mesh.with_places({f"{table.name} hole": nodes[[np.argmin(gaps)]]})
            holes.append(Hole(table.name, table.zone, f"{table.name} hole", table.diameter_mm))
    problems += wrong
    return mesh, tuple(holes)


def hole_table(hole: Hole, at: NDArray[np.float64]) -> dict[str, object]:
    """The keys of `HoleTable` that give this hole again; `at` is its node, mm."""
    return {"name": hole.name, "zone": hole.zone, "diameter_mm": hole.diameter, "at": at}
