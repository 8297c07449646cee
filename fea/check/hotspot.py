# SPDX-License-Identifier: MIT
"""The structural hot-spot stress beside a place where stress does not converge.

The recovered stress is read at two distances along a straight path from the place into the wall,
where it does converge, and carried back in a straight line to the place itself. What the notch
proper adds over less than the wall thickness is not in it.

Source: hobbacher-2016, made for the toes of welds; borrowed here for corners and held edges.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.mesh.path import Paths, Station
from fea.solver.recovery import Recovered
from fea.structure.patches import shell_walls, smooth_patches
from fea.structure.sections import ShellSection
from fea.structure.singular import CORNER, SingularPlace

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

HALVED, FANNED = (0.5,), (0.25, 0.5, 0.75)
"""Shares of the angle at the rim along which paths start: normal to an edge; at a corner, where the
direction of the worst stress is not known, on both sides of its middle too; judgement."""


class UnreadError(Exception):
    """A hot spot that cannot be read; the message says why, and what would cure it."""


@dataclass(frozen=True)
class Extrapolation:
    """Where stress is read beside a hot spot, and how it is carried back.

    Attributes:
        largest_cell: most that the cells passed may measure, in wall thicknesses.
        distances: of the readings from the place, in wall thicknesses.
        weights: of the readings; their sum is 1.
    """

    largest_cell: float
    distances: tuple[float, float]
    weights: tuple[float, float]


FINE = Extrapolation(0.4, (0.4, 1.0), (1.67, -0.67))
COARSE = Extrapolation(1.0, (0.5, 1.5), (1.5, -0.5))
"""For fine and for coarse cells. Source: hobbacher-2016."""


@dataclass(frozen=True, eq=False)
class HotSpot:
    """A hot spot at the start of one path.

    Attributes:
        point: (3,) where the path starts.
        cell: the triangle it starts in.
        extrapolation: the rule that suits the cells passed.
        stations: one for each reading.
    """

    point: tuple[float, float, float]
    cell: int
    extrapolation: Extrapolation
    stations: tuple[Station, ...]


@dataclass(frozen=True, eq=False)
class HotSpots:
    """The hot spots of one structure, and what its recovered solutions say there."""

    recovered: Recovered

    @cached_property
    def paths(self) -> Paths:
        """Paths on all triangles."""
        mesh = self.recovered.recovery.system.structure.mesh
        return Paths.on(mesh.points, mesh.cells["triangle"])

    @cached_property
    def walls(self) -> Array:
        """(c,) wall thickness."""
        return shell_walls(self.recovered.recovery.system.structure)

    def of(self, place: SingularPlace) -> tuple[HotSpot, ...]:
        """The hot spots of a place, one for each path.

        Raises:
            UnreadError: one of them cannot be read: the place is not on the rim, the cells are too
                coarse, or the wall ends or changes too near.
        """
        rim = self.paths.rim
        rows = np.flatnonzero(np.isin(rim.nodes, place.nodes))
        if not np.isin(place.nodes, rim.nodes[rows]).all():
            raise UnreadError("it does not lie on the rim, so no path leads away from it; test it")
        shares = FANNED if place.reason == CORNER else HALVED
        return tuple(self._read(int(row), share) for row in rows for share in shares)

    def stress(self, spot: HotSpot) -> tuple[Array, Array]:
        """Stress (cases, 3, 3) of a hot spot, and the estimated error (cases, 3) of its von Mises
        stress.

        The second axis is bottom, middle, top; the third 11, 22, 12 in axes along and across the
        path, carried back one by one. The error is that of the readings, times their weights.
        """
        cases = len(self.recovered.means)
        carried, error = np.zeros((cases, 3, 3)), np.zeros((cases, 3))
        for weight, station in zip(spot.extrapolation.weights, spot.stations, strict=True):
            zone, row = self._rows[station.cell]
            stress, doubt = self._zone_stress(zone)
            carried += weight * self._along(station, station.weights @ stress[:, :, row])
            error += abs(weight) * doubt[:, :, row] @ station.weights
        return carried, error

    def zone(self, spot: HotSpot) -> str:
        """Zone of the triangle in which the path of a hot spot starts."""
        return self._rows[spot.cell][0]

    def _read(self, row: int, share: float) -> HotSpot:
        stations, passed = self.paths.inward(row, share, [0.0])
        wall = float(self.walls[stations[0].cell])
        reach = COARSE.distances[-1] * wall
        size = self._cell_size(self.paths.inward(row, share, [reach])[1])
        if size > COARSE.largest_cell * wall:
            raise UnreadError(
                f"its cells measure up to {size:.1f} mm there; make them at most {wall:.1f} mm, "
                "the wall thickness, or test the place"
            )
        rule = FINE if size <= FINE.largest_cell * wall else COARSE
        stations, passed = self.paths.inward(row, share, [wall * far for far in rule.distances])
        if len(stations) < len(rule.distances) or np.ptp(self._patches[passed]):
            raise UnreadError(
                f"the wall ends, folds or changes within {rule.distances[-1]:g} wall thicknesses "
                "of it; test the place"
            )
        x, y, z = self.paths.points[self.paths.rim.nodes[row]].tolist()
        return HotSpot((x, y, z), int(passed[0]), rule, stations)

    def _cell_size(self, cells: IntArray) -> float:
        """Largest mean edge of some triangles."""
        corners = self.paths.points[self.paths.triangles[cells]]
        edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
        return float(edges.mean(axis=1).max())

    def _along(self, station: Station, stress: Array) -> Array:
        """Stress (cases, 3, 3) in material axes, turned into axes along and across the path."""
        shells = self.recovered.recovery.system.shells
        assert shells is not None
        c, s = shells.facets.axes[station.cell, :2] @ station.along
        turn = np.array(
            [[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]]
        )
        return stress @ turn.T

    @cached_property
    def _patches(self) -> IntArray:
        return smooth_patches(self.recovered.recovery.system.structure)

    @cached_property
    def _rows(self) -> dict[int, tuple[str, int]]:
        structure = self.recovered.recovery.system.structure
        return {
            int(cell): (zone, row)
            for zone, section in structure.sections.items()
            if isinstance(section, ShellSection)
            for row, cell in enumerate(structure.mesh.zone(zone)[1])
        }

    @cached_property
    def _cache(self) -> dict[str, tuple[Array, Array]]:
        return {}

    def _zone_stress(self, zone: str) -> tuple[Array, Array]:
        """Recovered stress and its error of a zone, computed once."""
        if zone not in self._cache:
            recovered = self.recovered
            self._cache[zone] = recovered.surface_stress(zone), recovered.stress_error(zone)
        return self._cache[zone]
