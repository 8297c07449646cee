# SPDX-License-Identifier: MIT
"""What each fastening carries, and the wall and bar that it goes through.

A tie hands three forces and three moments from bar to wall. A rivet or screw carries them so:

- the force in the plane of the wall as shear of its shank;
- the force out of the wall as pull, where it draws bar and wall apart;
- the moment about its own axis not at all: it turns in its hole. Its row takes such moments as
  forces in the plane of the wall (`fea.check.jointrules.row_forces`);
- a moment that tilts it as pull: the bar heels over the rim of the washer, half a washer away, or
  about its own length over its edge, where that is nearer.

Forces act where bar and wall touch. Friction between them is not counted on.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from fea.check.jointrules import row_forces, rows_of
from fea.check.neighbours import SECTOR, Cut
from fea.device.device import Bar, Device, Fastening
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.path import Paths
from fea.solver.solution import Solution
from fea.solver.tieforces import tie_forces
from fea.structure.sections import torsion_shear

Array = NDArray[np.float64]

FAR_IN_DIAMETERS = 6.0
"""Wall further from a hole than this many diameters adds nothing here; judgement."""
DIRECTIONS = 24
"""In which the way to the rim is measured."""
_NEAR = 0.05  # shares and mm by which directions of the nearest rim may differ


@dataclass(frozen=True, eq=False)
class WallRound:
    """The wall round a fastener or hole.

    Attributes:
        point: (3,) on the wall;  node: there.
        axes: (3, 3) rows: two unit vectors in the wall, and its normal.
        to_rim: (DIRECTIONS,) mm to the rim along the wall, no more than `far`, counted from the
            first axis towards the second.
        far: mm up to which the rim was looked for.
    """

    node: int
    point: Array
    axes: Array
    to_rim: Array
    far: float

    @classmethod
    @lru_cache(maxsize=256)
    def at(cls, mesh: Mesh, node: int, diameter: float) -> "WallRound":
        """Measure the wall round a node; a mesh is frozen, so once is enough."""
        paths = _paths(mesh)
        around = paths.triangles[(paths.triangles == node).any(axis=1)]
        area, normals = triangle_geometry(paths.points, around)
        normal = area @ normals / np.linalg.norm(area @ normals)
        first = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))])
        first /= np.linalg.norm(first)
        axes = np.stack([first, np.cross(normal, first), normal])
        far = FAR_IN_DIAMETERS * diameter
        to_rim = np.array([paths.outward(node, way, [far])[2] for way in _ways(axes)])
        return cls(node, paths.points[node], axes, to_rim, far)

    @property
    def width(self) -> float:
        """Twice the shortest way to the rim, mm."""
        return 2.0 * float(self.to_rim.min())

    @property
    def outward(self) -> Array:
        """Unit vector (3,) to the rim: the middle of the directions in which it is nearest."""
        near = self.to_rim <= self.to_rim.min() * (1.0 + _NEAR) + _NEAR
        way = _ways(self.axes)[near].sum(axis=0)
        return np.asarray(way / np.linalg.norm(way))

    def moved(self, point: Array) -> "WallRound":
        """The wall round a point (3,) beside the node: as far to the rim, less the way nearer."""
        nearer = np.maximum(_ways(self.axes) @ (point - self.point), 0.0)
        return replace(self, point=point, to_rim=np.maximum(self.to_rim - nearer, 0.0))

    def ahead(self, force: Array) -> Array:
        """The shortest way (n,) to the rim within `SECTOR` of forces (n, 3), mm."""
        angle = np.arctan2(force @ self.axes[1], force @ self.axes[0])
        step = 2.0 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
        off = np.abs((angle[:, None] - step + np.pi) % (2.0 * np.pi) - np.pi)
        near = off <= SECTOR + 0.5 * step[1]
        return np.asarray(np.where(near, self.to_rim, np.inf).min(axis=1))


def _ways(axes: Array) -> Array:
    """Unit vectors (DIRECTIONS, 3) all round in the plane of the first two axes."""
    angles = 2.0 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    return np.asarray(np.cos(angles)[:, None] * axes[0] + np.sin(angles)[:, None] * axes[1])


@lru_cache(maxsize=2)
def _paths(mesh: Mesh) -> Paths:
    return Paths.on(mesh.points, mesh.cells["triangle"])


@dataclass(frozen=True, eq=False)
class BarRound:
    """The bar that a fastener goes through.

    Attributes:
        zone: of the bar;  bar: its section and material.
        axes: (3, 3) rows: along the bar, across its depth, across its width.
        through: mm of the bar along the fastener;  across: mm of it square to that.
        flat: whether the hole goes through the depth, and takes from the width.
        to_ends: mm from the fastener to the bar's end along the first axis and against it.
    """

    zone: str
    bar: Bar
    axes: Array
    through: float
    across: float
    flat: bool
    to_ends: tuple[float, float]

    @classmethod
    def at(cls, device: Device, solution: Solution, node: int, normal: Array) -> "BarRound":
        """The bar at one of its nodes, with the fastener along a normal."""
        zone = next(bar for bar in device.bars if node in device.mesh.zone_nodes(bar))
        bar = device.bars[zone]
        struts = solution.system.struts
        assert struts is not None
        numbers = device.mesh.zone(zone)[1]
        here = numbers[(device.mesh.cells["line"][numbers] == node).any(axis=1)]
        axes = struts.frames.axes[here[0]]
        flat = bool(abs(axes[1] @ normal) >= abs(axes[2] @ normal))
        through, across = (bar.depth, bar.width) if flat else (bar.width, bar.depth)
        along = (device.mesh.points[device.mesh.zone_nodes(zone)] - device.mesh.points[node])
        along = along @ axes[0]
        ends = float(along.max()), float(-along.min())
        return cls(zone, bar, axes, through, across, flat, ends)

    @property
    def nearest(self) -> float:
        """From the middle of the hole to the nearest edge or end of the bar, mm."""
        return min(0.5 * self.across, *self.to_ends)

    def ahead(self, force: Array) -> Array:
        """Way (n,) from the hole to the bar's outline along forces (n, 3) on the bar, mm."""
        along = force @ self.axes[0]
        aside = np.abs(force @ self.axes[2 if self.flat else 1])
        size = np.hypot(along, aside)
        end = np.where(along >= 0.0, *self.to_ends)
        with np.errstate(divide="ignore", invalid="ignore"):
            ways = np.fmin(size / np.abs(along) * end, size / aside * 0.5 * self.across)
        return np.asarray(np.where(size > 0.0, ways, 0.5 * self.across))

    def net_stress(self, forces: Array, diameter: float) -> Array:
        """Von Mises stress (..., ) of the section that the hole leaves, as if the highest axial and
        shear stress met.

        Args:
            forces: (..., 6) N, Qy, Qz, T, My, Mz of the bar in its own axes.
            diameter: of the hole, in the middle of the bar.

        Half of the torsion passes on each side of the hole, in a rectangle of (across − d)/2 by
        through (timoshenko-goodier-1970). Shear of Qy and Qz is not in it.
        """
        w, t, d = self.across, self.through, diameter
        flat_moment, edge_moment = forces[..., 5], forces[..., 4]
        if not self.flat:
            flat_moment, edge_moment = edge_moment, flat_moment
        axial = np.abs(forces[..., 0]) / ((w - d) * t)
        edgewise = np.abs(edge_moment) * 6.0 * w / (t * (w**3 - d**3))
        flatwise = np.abs(flat_moment) * 6.0 / ((w - d) * t**2)
        twist = 0.5 * forces[..., 3] * torsion_shear(0.5 * (w - d), t)
        return np.sqrt((axial + edgewise + flatwise) ** 2 + 3.0 * twist**2)


@dataclass(frozen=True, eq=False)
class FastenerForces:
    """What one fastener carries in each case.

    Attributes:
        shear: (n, 3) in the plane of the wall, on the wall, N.
        pull: (n,) along the fastener, 0 or more, N.
        bar: (n, s, 6) section forces of the bar on each side of it.
        alone: largest moment about its own axis that no row takes, N·mm.
    """

    shear: Array
    pull: Array
    bar: Array
    alone: float


@dataclass(frozen=True, eq=False)
class Fastened:
    """All fastenings of a device in some cases.

    Attributes:
        device: as solved;  solutions: of the cases, of one structure.
    """

    device: Device
    solutions: Sequence[Solution]

    @cached_property
    def walls(self) -> Mapping[str, WallRound]:
        """By name of the fastening; the node of the wall nearest to the bar's."""
        return {each.name: self._wall(each) for each in self.device.fastenings}

    @cached_property
    def bars(self) -> Mapping[str, BarRound]:
        """By name of the fastening."""
        return {
            each.name: BarRound.at(
                self.device, self.solutions[0], self._bar_node(each), self.walls[each.name].axes[2]
            )
            for each in self.device.fastenings
        }

    @cached_property
    def wall_cuts(self) -> tuple[Cut, ...]:
        """Their holes in the walls."""
        every = self.device.fastenings
        return tuple(Cut(each.name, self.walls[each.name].point, each.hole) for each in every)

    def bar_cuts(self, zone: str) -> tuple[Cut, ...]:
        """Their holes in one bar."""
        here = [each for each in self.device.fastenings if self.bars[each.name].zone == zone]
        points = self.device.mesh.points[[self._bar_node(each) for each in here]]
        return tuple(
            Cut(each.name, point, each.hole)
            for each, point in zip(here, points, strict=True)
        )

    def washer(self, fastening: Fastening) -> float:
        """Diameter of the washer on the wall, mm: as given, or of the patch that it holds."""
        if fastening.washer is not None:
            return fastening.washer
        patch = self.device.mesh.points[self.device.mesh.place(fastening.shell_place)]
        gaps = np.linalg.norm(patch - self.walls[fastening.name].point, axis=1)
        return 2.0 * float(gaps.max())

    @cached_property
    def forces(self) -> Mapping[str, FastenerForces]:
        """By name of the fastening."""
        every = self.device.fastenings
        handed = [tie_forces(solution) for solution in self.solutions]
        found, twists = {}, {}
        for each in every:
            on_wall = -np.stack([case[each.shell_place].on_node for case in handed])
            found[each.name], twists[each.name] = self._carried(each, on_wall)
        alone = dict.fromkeys(found, 0.0)
        for row in self._rows():
            names = [each.name for each in row]
            if len(row) == 1:
                alone[names[0]] = float(np.abs(twists[names[0]]).max())
                continue
            axis = np.sum([self._outward(each) for each in row], axis=0)
            axis /= np.linalg.norm(axis)
            twist = np.stack([twists[name] for name in names], axis=1)
            extra = row_forces(self._points(row), axis, twist)
            for k, name in enumerate(names):
                found[name][0][:] += extra[:, k]
        return {
            each.name: FastenerForces(*found[each.name], self._bar_forces(each), alone[each.name])
            for each in every
        }

    def _carried(self, fastening: Fastening, on_wall: Array) -> tuple[tuple[Array, Array], Array]:
        """Shear (n, 3) and pull (n,), and the moment (n,) about the axis, of forces (n, 6)."""
        outward = self._outward(fastening)
        touch = 0.5 * self.bars[fastening.name].through * outward  # from where they touch
        force = on_wall[:, :3]
        moment = on_wall[:, 3:] + np.cross(touch, force)
        twist = moment @ outward
        apart = force @ outward
        tilt = self._tilt_pull(fastening, moment - np.outer(twist, outward))
        pull = np.maximum(apart + tilt, 0.0)
        return (force - np.outer(apart, outward), pull), twist

    def _tilt_pull(self, fastening: Fastening, tilt: Array) -> Array:
        """Pull (n,) of moments (n, 3) that tilt the shank: about the bar's length and across it."""
        bar, washer = self.bars[fastening.name], self.washer(fastening)
        along = tilt @ bar.axes[0]
        other = np.linalg.norm(tilt - np.outer(along, bar.axes[0]), axis=1)
        return np.asarray(np.hypot(along / (0.5 * min(washer, bar.across)), other / (0.5 * washer)))

    def _bar_forces(self, fastening: Fastening) -> Array:
        round_, node = self.bars[fastening.name], self._bar_node(fastening)
        cells = self.device.mesh.zone_cells(round_.zone)
        ends = [solution.strut_forces(round_.zone)[cells == node] for solution in self.solutions]
        return np.stack(ends)

    def _rows(self) -> list[list[Fastening]]:
        """Fastenings of one bar that stand together."""
        rows = []
        for bar in self.device.bars:
            here = [each for each in self.device.fastenings if self.bars[each.name].zone == bar]
            if here:
                rows += [[here[k] for k in row] for row in rows_of(self._points(here))]
        return rows

    def _points(self, fastenings: Sequence[Fastening]) -> Array:
        return np.array([self.walls[each.name].point for each in fastenings]).reshape(-1, 3)

    def _bar_node(self, fastening: Fastening) -> int:
        return int(self.device.mesh.place(fastening.bar_place)[0])

    def _outward(self, fastening: Fastening) -> Array:
        """Unit normal of the wall that points at the bar."""
        wall = self.walls[fastening.name]
        across = self.device.mesh.points[self._bar_node(fastening)] - wall.point
        return wall.axes[2] * (1.0 if across @ wall.axes[2] >= 0.0 else -1.0)

    def _wall(self, fastening: Fastening) -> WallRound:
        mesh = self.device.mesh
        patch = mesh.place(fastening.shell_place)
        gaps = np.linalg.norm(mesh.points[patch] - mesh.points[self._bar_node(fastening)], axis=1)
        return WallRound.at(mesh, int(patch[np.argmin(gaps)]), fastening.hole)
