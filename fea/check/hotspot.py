# SPDX-License-Identifier: MIT
"""The structural hot-spot stress beside a place where stress does not converge.

The recovered stress is read at two distances along a straight path from the place into the wall,
where it does converge, and carried back in a straight line to the place itself. What the notch
proper adds over less than the wall thickness is not in it. Paths lead inwards from a rim, ahead
from the end of a rib or of a strut that runs along the wall, and all round the end of a strut that
enters it, there from the face of the strut.

Source: hobbacher-2016, made for the toes of welds; borrowed here for corners and held edges.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from fea.mesh.mesh import triangle_geometry
from fea.mesh.path import Paths, Station
from fea.mesh.topology import edges_of
from fea.solver.recovery import Recovered
from fea.structure.patches import shell_walls, smooth_patches
from fea.structure.sections import ShellSection, StrutSection
from fea.structure.singular import CORNER, RIB, STRUT, SingularPlace

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Walk = Callable[[Sequence[float]], tuple[tuple[Station, ...], IntArray]]

HALVED, FANNED = (0.5,), (0.25, 0.5, 0.75)
"""Shares of the angle at the rim along which paths start: normal to an edge; at a corner, where the
direction of the worst stress is not known, on both sides of its middle too; judgement."""
AHEAD, ALL_ROUND = np.radians([-45.0, 0.0, 45.0]), np.radians(45.0 * np.arange(8))
"""Directions of the paths from the end of a rib or strut, against the one it lies in; judgement."""
ALONG = 0.7
"""Cosine of the angle to the wall from which a strut runs along it; judgement."""


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
    distances: tuple[float, ...]
    weights: tuple[float, ...]


FINE = Extrapolation(0.4, (0.4, 1.0), (1.67, -0.67))
COARSE = Extrapolation(1.0, (0.5, 1.5), (1.5, -0.5))
"""For fine and for coarse cells. Source: hobbacher-2016."""
ROOT = Extrapolation(0.4, COARSE.distances, COARSE.weights)
"""At the end of a strut, where force and moment enter at one node: nearer to it than half a wall
stress has not settled, and cells must be fine; judgement."""


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
    """The hot spots of one structure, and what its recovered solutions say there.

    Attributes:
        recovered: the solutions.
        at: stress is read at this distance (mm) from the place alone, in cells no larger, and not
            carried back: for laminates (`fea.check.laminatepeak`). None carries it back.
    """

    recovered: Recovered
    at: float | None = None

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
        if place.reason in (RIB, STRUT):
            return tuple(spot for node in place.nodes for spot in self._from_end(int(node)))
        rim = self.paths.rim
        rows = np.flatnonzero(np.isin(rim.nodes, place.nodes))
        if not np.isin(place.nodes, rim.nodes[rows]).all():
            raise UnreadError("it does not lie on the rim, so no path leads away from it; test it")
        shares = FANNED if place.reason == CORNER else HALVED
        return tuple(
            self._read(int(rim.nodes[row]), partial(self.paths.inward, int(row), share))
            for row in rows
            for share in shares
        )

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

    def row(self, cell: int) -> int:
        """Row of a triangle in its zone."""
        return self._rows[cell][1]

    def _read(
        self, node: int, walk: Walk, face: float = 0.0,
        rules: tuple[Extrapolation, ...] = (FINE, COARSE),
    ) -> HotSpot:
        """A hot spot ``face`` ahead of a node, from a walk that takes distances from the node.

        The first of the rules, which go from fine to coarse, whose cells are large enough counts.
        """
        stations, passed = walk([0.0])
        if not stations:
            raise UnreadError("the wall ends there; test the place")
        wall = float(self.walls[stations[0].cell])
        if self.at is not None:
            rules = (Extrapolation(self.at / wall, (self.at / wall,), (1.0,)),)
        reach = rules[-1].distances[-1] * wall
        size, largest = self._cell_size(walk([face + reach])[1]), rules[-1].largest_cell * wall
        if size > largest:
            share = "" if largest == wall else f"{rules[-1].largest_cell:.2g} of "
            raise UnreadError(
                f"its cells measure up to {size:.1f} mm there; make them at most {largest:.1f} mm, "
                f"{share}the wall thickness, or test the place"
            )
        rule = next(rule for rule in rules if size <= rule.largest_cell * wall)
        stations, passed = walk([face + wall * far for far in rule.distances])
        if len(stations) < len(rule.distances) or np.ptp(self._patches[passed]):
            raise UnreadError(
                f"the wall ends, folds or changes within {rule.distances[-1]:g} wall thicknesses "
                "of it; test the place"
            )
        x, y, z = self.paths.points[node].tolist()
        return HotSpot((x, y, z), int(passed[0]), rule, stations)

    def _from_end(self, node: int) -> Iterator[HotSpot]:
        """Hot spots round the end of a rib or strut, in the wall that it ends on."""
        cells, ahead, face, rules = self._end(node)
        area, normals = triangle_geometry(self.paths.points, self.paths.triangles[cells])
        normal = area @ normals / np.linalg.norm(area @ normals)
        first = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))]) if ahead is None else ahead
        first = first - (first @ normal) * normal
        aside = np.cross(normal, first)
        for angle in ALL_ROUND if ahead is None else AHEAD:
            way = np.cos(angle) * first + np.sin(angle) * aside

            def walk(
                distances: Sequence[float], way: Array = way
            ) -> tuple[tuple[Station, ...], IntArray]:
                return self.paths.outward(node, way, distances, cells)[:2]

            yield self._read(node, walk, face, rules)

    def _end(
        self, node: int
    ) -> tuple[IntArray, Array | None, float, tuple[Extrapolation, ...]]:
        """Cells of the wall round an end, the way ahead of what ends there, its half depth, rules.

        The way is None for a strut that enters the wall.
        """
        around = np.flatnonzero((self.paths.triangles == node).any(axis=1))
        structure = self.recovered.recovery.system.structure
        for zone, section in structure.sections.items():
            if not isinstance(section, StrutSection):
                continue
            lines = structure.mesh.zone_cells(zone)
            (here,) = np.nonzero((lines == node).any(axis=1))
            if len(here):
                (other,) = lines[here[0]][lines[here[0]] != node]
                ahead = self.paths.points[node] - self.paths.points[other]
                ahead = ahead / np.linalg.norm(ahead)
                area, normals = triangle_geometry(self.paths.points, self.paths.triangles[around])
                normal = area @ normals / np.linalg.norm(area @ normals)
                along = np.sqrt(1.0 - (ahead @ normal) ** 2) > ALONG
                return around, ahead if along else None, _half_depth(section), (ROOT,)
        wall, behind = _under_rib(self.paths.triangles[around], node)
        return around[wall], self.paths.points[node] - self.paths.points[behind], 0.0, (
            FINE, COARSE)

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


def _half_depth(section: StrutSection) -> float:
    """Half the smaller side of a strut, 0 where its shape is not known."""
    points = section.fibre_points
    return 0.0 if points is None else float(np.abs(np.asarray(points)).max(axis=0).min())


def _under_rib(triangles: IntArray, node: int) -> tuple[NDArray[np.bool_], int]:
    """Which of the triangles (k, 3) round a rib's end are the wall, and the next node of the rib.

    The rib's own triangles reach a free edge there; the wall goes all round.
    """
    edges = edges_of(triangles)
    at_node = (edges.ends == node).any(axis=1)
    inner = edges.of_triangle[:, :, None] == edges.of_triangle[:, None].reshape(-1)[None, None]
    linked = inner & at_node[edges.of_triangle][:, :, None] & (
        edges.uses[edges.of_triangle] == 2)[:, :, None]
    pairs = linked.any(axis=1).reshape(len(triangles), len(triangles), 3).any(axis=2)
    group = connected_components(csr_matrix(pairs), directed=False)[1]
    free = (at_node & (edges.uses == 1))[edges.of_triangle].any(axis=1)
    joint = edges.ends[at_node & (edges.uses > 2)]
    (behind,) = joint[joint != node]
    return ~np.isin(group, group[free]), int(behind)
