# SPDX-License-Identifier: MIT
"""A part of the walls of a device that stays where it is when the device is meshed anew.

What is left out round a singular place is measured in cells, so it shrinks as they do, and the
largest stress outside it climbs towards the place. To compare meshes the part that one of them
leaves out is held in space, and left out of all.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.errors import ModelError
from fea.mesh.mesh import Mesh

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_INWARD = 0.1  # share of the way to the middle of its cell by which a corner is drawn in
_CANDIDATES = 24  # triangles with the nearest middles, among which a point's own is sought


@dataclass(frozen=True, eq=False)
class Region:
    """Some cells of a mesh, as a part of space.

    Attributes:
        mesh: the mesh.
        cells: (c,) True for those of its triangles that belong to the region.

    Example:
        >>> coarse = Mesh([[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0]],
        ...               {"triangle": [[0, 1, 2], [0, 2, 3]]}, zones={"w": ("triangle", [0, 1])})
        >>> fine = Mesh([*coarse.points, [1, 1, 0]],
        ...             {"triangle": [[0, 1, 4], [1, 2, 4], [0, 4, 3], [4, 2, 3]]},
        ...             zones={"w": ("triangle", range(4))})
        >>> Region(coarse, np.array([True, False])).on(fine).tolist()
        [True, True, False, False]
    """

    mesh: Mesh
    cells: Mask

    def on(self, mesh: Mesh) -> Mask:
        """Which triangles (k,) of another mesh of the same device reach into the region.

        Zones of the same name are one part of the device, so a near sheet of another zone is not
        taken for it.

        Raises:
            ModelError: the mesh lacks a zone that the region lies in.
        """
        found = np.zeros(len(mesh.cells["triangle"]), dtype=bool)
        for zone, (kind, numbers) in self.mesh.zones.items():
            if kind != "triangle" or not self.cells[numbers].any():
                continue
            if zone not in mesh.zones:
                raise ModelError(f"zone '{zone}', a part of which is held, is not on this mesh")
            corners = mesh.points[mesh.zone_cells(zone)]
            inner = corners + _INWARD * (corners.mean(axis=1, keepdims=True) - corners)
            found[mesh.zone(zone)[1]] |= self._holds(zone, inner.reshape(-1, 3))
        return found

    def _holds(self, zone: str, points: Array) -> Mask:
        """Whether any of each three points in turn lies in the region's part of a zone."""
        corners = self.mesh.points[self.mesh.zone_cells(zone)]
        belongs, middle = self.cells[self.mesh.zone(zone)[1]], corners.mean(axis=1)
        longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max()
        near = np.flatnonzero(cKDTree(middle[belongs]).query(points)[0] < longest)
        inside = np.zeros(len(points), dtype=bool)
        count = min(_CANDIDATES, len(middle))
        others = cKDTree(middle).query(points[near], k=count)[1].reshape(-1, count)
        away = _away(points[near, None], corners[others])
        inside[near] = belongs[others[np.arange(len(near)), away.argmin(axis=1)]]
        return np.asarray(inside.reshape(-1, 3).any(axis=1))


def _away(points: Array, corners: Array) -> Array:
    """How far points (…, 3) are from triangles (…, 3, 3): 0 inside, and about right outside."""
    origin = corners[..., 0, :]
    u, v = corners[..., 1, :] - origin, corners[..., 2, :] - origin
    w, normal = points - origin, np.cross(u, v)
    double = np.linalg.norm(normal, axis=-1)
    normal = normal / double[..., None]
    second = np.sum(np.cross(w, v) * normal, axis=-1) / double
    third = np.sum(np.cross(u, w) * normal, axis=-1) / double
    least = np.minimum(np.minimum(second, third), 1.0 - second - third)
    return np.maximum(-least, 0.0) * np.sqrt(double) + np.abs(np.sum(w * normal, axis=-1))
