# SPDX-License-Identifier: MIT
"""The mesh: points, cells, and the names by which everything else speaks of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import MeshError
from fea.mesh.solid import outer_faces

NODES_PER_CELL = {"triangle": 3, "line": 2, "tetra10": 10, "triangle6": 6}

_CURES = {
    "quad": "split each quadrilateral into two triangles (mesh files are split when they are read)",
    "tetra": "add mid-side nodes: linear tetrahedra are far too stiff in bending",
}


@dataclass(frozen=True, eq=False)
class Mesh:
    """Points, cells, and named places (node sets) and zones (cell sets); frozen.

    Args:
        points: (n, 3) coordinates, in any consistent length unit (mm for a device).
        cells: cell kind to (c, k) node numbers; kinds are "triangle" (k = 3), "line" (k = 2),
            "tetra10" (k = 10: corners, right-handed, then midsides 01 12 02 03 13 23) and
            "triangle6" (k = 6: a face of a tetra10, to carry its loads).
        places: place name to (m,) node numbers.
        zones: zone name to a pair of cell kind and (m,) cell numbers of that kind.

    Raises:
        MeshError: wrong shapes, node or cell numbers out of range, coordinates that are not
            finite, an unknown cell kind, or a name used for both a place and a zone is empty.

    Example:
        >>> mesh = Mesh([[0, 0, 0], [1, 0, 0], [0, 1, 0]], {"triangle": [[0, 1, 2]]},
        ...             places={"corner": [0]}, zones={"skin": ("triangle", [0])})
        >>> mesh.zone_cells("skin").tolist()
        [[0, 1, 2]]
    """

    points: NDArray[np.float64]
    cells: Mapping[str, NDArray[np.int64]]
    places: Mapping[str, NDArray[np.int64]] = field(default_factory=dict)
    zones: Mapping[str, tuple[str, NDArray[np.int64]]] = field(default_factory=dict)

    def __init__(
        self,
        points: ArrayLike,
        cells: Mapping[str, ArrayLike],
        places: Mapping[str, ArrayLike] | None = None,
        zones: Mapping[str, tuple[str, ArrayLike]] | None = None,
    ):
        checked_points = _checked_points(points)
        count = len(checked_points)
        checked_cells = {kind: _checked_cells(kind, value, count) for kind, value in cells.items()}
        checked_places = {
            name: _checked_numbers(f"place '{name}'", value, count, "node")
            for name, value in (places or {}).items()
        }
        checked_zones = {
            name: _checked_zone(name, value, checked_cells) for name, value in (zones or {}).items()
        }
        object.__setattr__(self, "points", checked_points)
        object.__setattr__(self, "cells", MappingProxyType(checked_cells))
        object.__setattr__(self, "places", MappingProxyType(checked_places))
        object.__setattr__(self, "zones", MappingProxyType(checked_zones))

    def table(self, kind: str) -> NDArray[np.int64]:
        """Node numbers (c, k) of all cells of a kind; c = 0 where the mesh has none."""
        return self.cells.get(kind, np.empty((0, NODES_PER_CELL[kind]), np.int64))

    def place(self, name: str) -> NDArray[np.int64]:
        """Node numbers (m,) of a place; raises `MeshError` that lists the places there are."""
        if name not in self.places:
            raise MeshError(f"unknown place '{name}'; this mesh has {_listed(self.places)}")
        return self.places[name]

    def zone(self, name: str) -> tuple[str, NDArray[np.int64]]:
        """Cell kind and cell numbers (m,) of a zone; raises `MeshError` that lists the zones."""
        if name not in self.zones:
            raise MeshError(f"unknown zone '{name}'; this mesh has {_listed(self.zones)}")
        return self.zones[name]

    def zone_cells(self, name: str) -> NDArray[np.int64]:
        """Node numbers (m, k) of the cells of a zone, in the zone's cell order."""
        kind, numbers = self.zone(name)
        return self.cells[kind][numbers]

    def zone_nodes(self, name: str) -> NDArray[np.int64]:
        """Sorted node numbers (m,) that the cells of a zone use."""
        return np.unique(self.zone_cells(name))

    def with_points(self, points: ArrayLike) -> "Mesh":
        """The same mesh with other coordinates (n, 3)."""
        return Mesh(points, self.cells, self.places, self.zones)

    def with_places(self, places: Mapping[str, ArrayLike]) -> "Mesh":
        """The same mesh with these places added or replaced."""
        return Mesh(self.points, self.cells, {**self.places, **places}, self.zones)

    def with_zones(self, zones: Mapping[str, tuple[str, ArrayLike]]) -> "Mesh":
        """The same mesh with these zones added or replaced."""
        return Mesh(self.points, self.cells, self.places, {**self.zones, **zones})

    def with_faces(self, faces: Mapping[str, str]) -> "Mesh":
        """The same mesh with zones of "triangle6" on its solids, to put loads on.

        Args:
            faces: name of the new zone to the name of a place; the zone gets the outer faces of
                solids whose six nodes belong to the place.

        Raises:
            MeshError: an unknown place, or one that holds no whole outer face of a solid.

        Example:
            >>> corners = np.array([[0, 0, 0], [2, 0, 0], [0, 2, 0], [0, 0, 2]])
            >>> ends = [[0, 1], [1, 2], [0, 2], [0, 3], [1, 3], [2, 3]]
            >>> mesh = Mesh([*corners, *corners[ends].mean(axis=1)], {"tetra10": [range(10)]},
            ...             places={"floor": [0, 1, 2, 4, 5, 6]})
            >>> mesh = mesh.with_faces({"underside": "floor"})  # for Pressure("underside", …)
            >>> mesh.zone_cells("underside").tolist()
            [[0, 2, 1, 6, 5, 4]]
        """
        outer, _ = outer_faces(self.table("tetra10"))
        tables = [self.table("triangle6")]
        zones = {}
        for zone, place in faces.items():
            chosen = outer[np.isin(outer, self.place(place)).all(axis=1)]
            if not len(chosen):
                raise MeshError(
                    f"place '{place}' holds no whole outer face of a solid (corners and midsides)"
                )
            start = sum(len(table) for table in tables)
            zones[zone] = ("triangle6", start + np.arange(len(chosen)))
            tables.append(chosen)
        cells = {**self.cells, "triangle6": np.concatenate(tables)}
        return Mesh(self.points, cells, self.places, {**self.zones, **zones})


def triangle_geometry(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Areas (c,) and unit normals (c, 3) of triangles; the normal of a zero area is zero."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    double = np.cross(b - a, c - a)
    length = np.linalg.norm(double, axis=1)
    safe = np.where(length > 0.0, length, 1.0)
    return 0.5 * length, double / safe[:, None]


def _listed(names: Mapping[str, object]) -> str:
    return ", ".join(f"'{name}'" for name in names) or "none"


def _checked_points(points: ArrayLike) -> NDArray[np.float64]:
    array = np.array(points, dtype=float)
    if array.ndim != 2 or array.shape[1] != 3:
        raise MeshError(f"points must have shape (n, 3); got {array.shape}")
    bad = np.flatnonzero(~np.isfinite(array).all(axis=1))
    if bad.size:
        raise MeshError(f"point {bad[0]} has a coordinate that is not finite: {array[bad[0]]}")
    array.setflags(write=False)
    return array


def _checked_cells(kind: str, value: ArrayLike, count: int) -> NDArray[np.int64]:
    if kind not in NODES_PER_CELL:
        cure = _CURES.get(kind, f"use one of {', '.join(NODES_PER_CELL)}")
        raise MeshError(f"cell kind '{kind}' is not supported; {cure}")
    array = np.array(value, dtype=np.int64).reshape(-1, NODES_PER_CELL[kind])
    if np.shape(value) not in ((0,), array.shape):
        raise MeshError(
            f"{kind} cells must have shape (c, {array.shape[1]}); got {np.shape(value)}"
        )
    if array.size and (array.min() < 0 or array.max() >= count):
        row = np.flatnonzero(((array < 0) | (array >= count)).any(axis=1))[0]
        raise MeshError(
            f"{kind} cell {row} uses node {array[row].tolist()}, but there are {count} points"
        )
    array.setflags(write=False)
    return array


def _checked_numbers(what: str, value: ArrayLike, count: int, kind: str) -> NDArray[np.int64]:
    array = np.unique(np.asarray(value, dtype=np.int64).ravel()) if kind == "node" else (
        np.asarray(value, dtype=np.int64).ravel().copy()
    )
    if array.size == 0:
        raise MeshError(f"{what} is empty; give it at least one {kind}, or leave it out")
    if array.min() < 0 or array.max() >= count:
        raise MeshError(f"{what} names {kind} {array.max()}, but there are {count} of them")
    array.setflags(write=False)
    return array


def _checked_zone(
    name: str, value: tuple[str, ArrayLike], cells: Mapping[str, NDArray[np.int64]]
) -> tuple[str, NDArray[np.int64]]:
    kind, numbers = value
    if kind not in cells:
        raise MeshError(f"zone '{name}' is made of {kind} cells, but the mesh has none")
    array = _checked_numbers(f"zone '{name}'", numbers, len(cells[kind]), "cell")
    if len(np.unique(array)) != len(array):
        raise MeshError(f"zone '{name}' names a cell twice")
    return kind, array
