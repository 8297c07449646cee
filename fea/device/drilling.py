# SPDX-License-Identifier: MIT
"""Holes that the mesh does not show: their table in a device file, and their place on the wall."""

from collections.abc import Callable, Mapping, Sequence
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from fea.device.device import Hole
from fea.device.selection import Point
from fea.device.strapping import HoleMm
from fea.errors import DeviceError
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


def drilled(
    mesh: Mesh,
    tables: Sequence[HoleTable],
    landmarks: Mapping[str, NDArray[np.float64]],
    to_frame: Callable[[Point], NDArray[np.float64]] = np.asarray,
) -> tuple[Mesh, tuple[Hole, ...]]:
    """The mesh with the places of holes, each the nearest node of its zone, and the holes.

    Args:
        mesh: of the device, in its frame.
        tables: of the device file.
        landmarks: name to (3,) point, mm.
        to_frame: takes a point of the file into the device frame, mm.

    Raises:
        DeviceError: a zone or landmark that is not there, a name that is taken, or no node of the
            zone within `REACH`.
    """
    holes = []
    for table in tables:
        where = f"hole '{table.name}'"
        walls = [zone for zone, (kind, _) in mesh.zones.items() if kind == "triangle"]
        if table.zone not in walls:
            raise DeviceError(f"{where}: unknown zone '{table.zone}'; there are {', '.join(walls)}")
        if table.name in mesh.zones or f"{table.name} hole" in mesh.places:
            raise DeviceError(f"{where}: the name is taken; give each hole its own")
        if table.landmark is None:
            assert table.at is not None
            at = to_frame(table.at)
        elif table.landmark in landmarks:
            at = landmarks[table.landmark] + table.offset_mm
        else:
            raise DeviceError(f"{where}: unknown landmark '{table.landmark}'; there are "
                              f"{', '.join(landmarks)}")
        nodes = mesh.zone_nodes(table.zone)
        gaps = np.linalg.norm(mesh.points[nodes] - at, axis=1)
        if gaps.min() > REACH:
            raise DeviceError(f"{where} lies {gaps.min():.1f} mm from zone '{table.zone}', more "
                              f"than {REACH:g} mm; move it onto the wall")
        mesh = mesh.with_places({f"{table.name} hole": nodes[[np.argmin(gaps)]]})
        holes.append(Hole(table.name, table.zone, f"{table.name} hole", table.diameter_mm))
    return mesh, tuple(holes)


def hole_table(hole: Hole, at: NDArray[np.float64]) -> dict[str, object]:
    """The keys of `HoleTable` that give this hole again; `at` is its node, mm."""
    return {"name": hole.name, "zone": hole.zone, "diameter_mm": hole.diameter, "at": at}
