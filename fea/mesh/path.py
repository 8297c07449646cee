# SPDX-License-Identifier: MIT
"""Straight paths along a surface of triangles, from a point of its rim into it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.mesh.rim import Rim, rim_of
from fea.mesh.topology import edges_of

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_GAP = 0.1
"""By how much a direction may miss the triangles round a node of a curved surface, which do not lie
in one plane; as a share of the way."""


@dataclass(frozen=True, eq=False)
class Station:
    """A point on a path.

    Attributes:
        cell: the triangle it lies in.
        weights: (3,) its area coordinates there.
        along: (3,) unit vector of the path, in the plane of the triangle.
    """

    cell: int
    weights: Array
    along: Array


@dataclass(frozen=True, eq=False)
class Paths:
    """Straight paths on one surface.

    Attributes:
        points: (n, 3);  triangles: (c, 3) node numbers.
        rim: its free rim.
        across: (c, 3) the triangle beyond each edge, edge k running from corner k to k + 1; −1
            where there is none or more than one.
    """

    points: Array
    triangles: IntArray
    rim: Rim
    across: IntArray

    @classmethod
    def on(cls, points: Array, triangles: IntArray) -> Paths:
        """Prepare paths on triangles (c, 3) among points (n, 3)."""
        edges = edges_of(triangles)
        flat = edges.of_triangle.ravel()
        order = np.argsort(flat, kind="stable")
        pair = order[edges.uses[flat[order]] == 2].reshape(-1, 2)
        across = np.full(triangles.size, -1, dtype=np.int64)
        across[pair] = pair[:, ::-1] // 3
        return cls(points, triangles, rim_of(points, triangles), across.reshape(-1, 3))

    def inward(
        self, row: int, share: float, distances: Sequence[float]
    ) -> tuple[tuple[Station, ...], IntArray]:
        """Walk straight into the surface from a point of the rim.

        Args:
            row: of the rim's table.
            share: of the whole angle there, 0.5 to halve it.
            distances: from the start, rising.

        Returns:
            The stations at these distances, as many as lie before the surface ends, and the
            numbers of the triangles passed.

        Example:
            >>> square = np.array([[0, 0, 0], [3, 0, 0], [3, 3, 0], [0, 3, 0.0]])
            >>> paths = Paths.on(square, np.array([[0, 1, 3], [1, 2, 3]]))
            >>> corner = int(np.flatnonzero(paths.rim.nodes == 0)[0])
            >>> stations, passed = paths.inward(corner, 0.5, [1.0, 4.0, 9.0])
            >>> [station.cell for station in stations], passed.tolist()
            ([0, 1], [0, 1])
        """
        cell, along = self._start(row, share)
        here = self.points[self.rim.nodes[row]]
        stations, passed, _ = self._walk(cell, here, along, distances)
        return stations, passed

    def outward(
        self, node: int, direction: Array, distances: Sequence[float], cells: IntArray | None = None
    ) -> tuple[tuple[Station, ...], IntArray, float]:
        """Walk straight along the surface from a node, in a direction laid onto it.

        Args:
            node: where the path starts.
            direction: (3,), of any length.
            distances: from the node, rising.
            cells: triangles round the node that the path may start in; None for all.

        Returns:
            The stations at these distances, as many as lie before the surface ends, the triangles
            passed, and how far the path went: to the last distance, or to where the surface ends.

        Example:
            >>> square = np.array([[0, 0, 0], [3, 0, 0], [3, 3, 0], [0, 3, 0.0]])
            >>> paths = Paths.on(square, np.array([[0, 1, 3], [1, 2, 3]]))
            >>> far = paths.outward(0, np.array([1.0, 1.0, 5.0]), [9.0])[2]
            >>> round(far, 3)  # across to the far corner
            4.243
        """
        start = self._leaving(node, direction, cells)
        if start is None:
            return (), np.empty(0, dtype=np.int64), 0.0
        return self._walk(start[0], self.points[node], start[1], distances)

    def _leaving(
        self, node: int, direction: Array, cells: IntArray | None
    ) -> tuple[int, Array] | None:
        """The triangle round a node that holds a direction laid into its plane, and the latter."""
        around = np.flatnonzero((self.triangles == node).any(axis=1)) if cells is None else cells
        best, found = -_GAP, None
        for cell in around.tolist():
            corner = int(np.flatnonzero(self.triangles[cell] == node)[0])
            sides = self.points[self.triangles[cell, [(corner + 1) % 3, (corner + 2) % 3]]]
            basis = (sides - self.points[node]).T
            shares = np.linalg.pinv(basis) @ direction
            within = float(shares.min() / np.abs(shares).max(initial=1e-300))
            if shares.max() > 0.0 and within > best:
                best, found = within, (cell, _unit(basis @ np.maximum(shares, 0.0)))
        return found

    def _walk(
        self, cell: int, here: Array, along: Array, distances: Sequence[float]
    ) -> tuple[tuple[Station, ...], IntArray, float]:
        """Stations at distances, triangles passed, and the way gone."""
        stations: list[Station] = []
        passed: list[int] = []
        gone = 0.0
        while len(stations) < len(distances) and cell >= 0 and cell not in passed:
            passed.append(cell)
            weights, rate = self._area_coordinates(cell, here, along)
            leaving = rate < -1e-12 * np.abs(rate).max()
            step = np.where(leaving, np.maximum(weights, 0.0), np.inf) / np.where(leaving, -rate, 1)
            side = int(np.argmin(step))
            ahead = float(step[side])
            while len(stations) < len(distances) and distances[len(stations)] <= gone + ahead:
                at = weights + (distances[len(stations)] - gone) * rate
                stations.append(Station(cell, at, along))
            here, gone = here + ahead * along, gone + ahead
            cell, along = self._cross(cell, (side + 1) % 3, along)
        if len(stations) == len(distances):
            gone = float(distances[-1])
        return tuple(stations), np.array(passed, dtype=np.int64), gone

    def _start(self, row: int, share: float) -> tuple[int, Array]:
        """The triangle round a rim point that holds a direction, and the direction."""
        node = self.rim.nodes[row]
        cells, corners = np.nonzero(self.rim.of_corner == row)
        sides = {
            int(cell): [int(self.triangles[cell, (corner + k) % 3]) for k in (1, 2)]
            for cell, corner in zip(cells, corners, strict=True)
        }
        ends = [end for pair in sides.values() for end in pair]
        first = next(end for end in ends if ends.count(end) == 1)
        rest = share * float(self.rim.angle[row])
        while True:
            cell = next(cell for cell, pair in sides.items() if first in pair)
            pair = sides.pop(cell)
            second = pair[1 - pair.index(first)]
            start, end = (_unit(self.points[k] - self.points[node]) for k in (first, second))
            angle = float(np.arctan2(np.linalg.norm(np.cross(start, end)), start @ end))
            if rest <= angle or not sides:
                upright = _unit(end - (end @ start) * start)
                return cell, np.cos(rest) * start + np.sin(rest) * upright
            first, rest = second, rest - angle

    def _area_coordinates(self, cell: int, here: Array, along: Array) -> tuple[Array, Array]:
        """Area coordinates (3,) of a point of a triangle, and their change per length (3,)."""
        a, b, c = self.points[self.triangles[cell]]
        basis = np.linalg.pinv(np.stack([b - a, c - a], axis=1))
        value, rate = basis @ (here - a), basis @ along
        return np.array([1.0 - value.sum(), *value]), np.array([-rate.sum(), *rate])

    def _cross(self, cell: int, edge: int, along: Array) -> tuple[int, Array]:
        """The triangle beyond an edge, and the direction unfolded into its plane."""
        beyond = int(self.across[cell, edge])
        if beyond < 0:
            return beyond, along
        nodes = self.triangles[cell, [edge, (edge + 1) % 3]]
        start, end = self.points[nodes]
        axis = _unit(end - start)
        (apex,) = self.triangles[beyond][~np.isin(self.triangles[beyond], nodes)]
        into = self.points[apex] - start
        into = _unit(into - (into @ axis) * axis)
        lengthwise = float(along @ axis)
        return beyond, lengthwise * axis + np.sqrt(max(1.0 - lengthwise**2, 0.0)) * into


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector))
