# SPDX-License-Identifier: MIT
"""The line of a flat bar along a wall, with its rivets; and where none can lie.

The bar runs in one plane along the middle of the wall and is bent flatwise to follow it.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.device.changefile import AddedBar
from fea.device.device import Device
from fea.device.drilling import nearest_points
from fea.device.facing import FOOT_BODY, SHANK_BODY, limb_face
from fea.device.strip import ends_of, shortfall
from fea.errors import DeviceError
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.midline import Midline
from fea.mesh.topology import edges_of, part_of_nodes

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

TILT_DEG = 15.0
"""Angle between wall and bar at a rivet up to which a bar can be set flat. Source: assumed."""
BEND = 5.0
"""Least radius of a flatwise bend, in thicknesses of the bar. Source: assumed."""
_STEP = 1.0  # mm between the points of a dense line
_CHORD = 10.0  # mm along the wall over which its slope is taken
_OFF = 2.0  # mm off the facets up to which a point is taken to lie on the wall
_PIECE = 8.0  # mm, longest strut


@dataclass(frozen=True, eq=False)
class BarLine:
    """A bar along one part of a device.

    Attributes:
        device: before it is riveted on;  bar: as the change has it.
        part: (c,) True of its triangles;  line: along their middle.
    """

    device: Device
    bar: AddedBar
    part: Mask
    line: Midline

    @cached_property
    def zones(self) -> tuple[str, ...]:
        """Walls of the part, that with most cells first."""
        count = {zone: int(self.part[self.device.mesh.zone(zone)[1]].sum())
                 for zone in self.device.walls}
        return tuple(zone for zone in sorted(count, key=lambda zone: -count[zone]) if count[zone])

    @property
    def holding(self) -> tuple[str, ...]:
        """Walls that hang together with the part; a washer may reach over a border of zones."""
        mesh = self.device.mesh
        shell = part_of_nodes(len(mesh.points), {"triangle": mesh.cells["triangle"]})
        own = shell[mesh.cells["triangle"][self.part][0, 0]]
        return tuple(zone for zone in self.device.walls
                     if (shell[mesh.zone_nodes(zone)] == own).any())

    @cached_property
    def outward(self) -> Array:
        """(c, 3) unit normals of triangles, those of the part turned away from the limb."""
        mesh = self.device.mesh
        normals = triangle_geometry(mesh.points, mesh.cells["triangle"])[1]
        for zone in self.zones:
            body = FOOT_BODY if zone in self.device.foot_zones else SHANK_BODY
            if limb_face(self.device, mesh, zone, body) == "top":
                normals[mesh.zone(zone)[1]] *= -1.0
        return normals

    @cached_property
    def across(self) -> Array:
        """Unit vector (3,) square to the plane of the bar, along its width."""
        points, mesh = self.line.points, self.device.mesh
        area, _ = triangle_geometry(mesh.points, mesh.cells["triangle"])
        off_wall = np.where(self.under, area, 0.0) @ self.outward
        square = np.cross(points[-1] - points[0], off_wall)
        return np.asarray(square / np.linalg.norm(square))

    @cached_property
    def wall_line(self) -> Array:
        """(k, 3) dense line on the wall, in one plane, from the lower end."""
        points = self.line.points
        off = (points - points[0]) @ self.across
        if np.ptp(off) > self.bar.thickness_mm:
            at = points[np.argmax(np.abs(off)), 2]
            raise DeviceError(
                f"'{self.bar.name}' leaves the wall by {np.ptp(off):.0f} mm sideways at "
                f"z = {at:.0f} mm, where a straight bar cannot follow; shorten it, or move it "
                "with aside_mm")
        return _dense(points - np.outer(off, self.across))

    @cached_property
    def normals(self) -> Array:
        """(k, 3) unit vectors off the wall, square to its slope and in the plane of the bar."""
        line = self.wall_line
        run = _run(line)
        ahead, behind = (_at(line, run, np.clip(run + step, 0.0, run[-1]))
                         for step in (0.5 * _CHORD, -0.5 * _CHORD))
        found = np.cross(self.across, ahead - behind)
        found /= np.linalg.norm(found, axis=1, keepdims=True)
        turn = np.cross(found[:-1], found[1:]) @ self.across
        count = max(1, round(_CHORD / _STEP))
        if len(turn) > count:
            bend = np.abs(np.convolve(turn, np.ones(count), "valid"))
            radius = _CHORD / max(float(bend.max()), 1e-9)
            if radius < BEND * self.bar.thickness_mm:
                at = line[np.argmax(bend) + count // 2, 2]
                raise DeviceError(
                    f"'{self.bar.name}' would have to be bent to a radius of {radius:.1f} mm at "
                    f"z = {at:.0f} mm, as over a rib, and {BEND:g} thicknesses, "
                    f"{BEND * self.bar.thickness_mm:.3g} mm, are the least; end it before, or move "
                    "it with aside_mm")
        return np.asarray(found)

    @cached_property
    def middle(self) -> Array:
        """(k, 3) the middle of the bar: half of wall and bar off the middle of the wall."""
        line, stations = self.wall_line, self.line.points
        faces = [self._face(point) for point in stations]
        face = np.interp(line[:, 2], stations[:, 2], faces)
        return line + (face + 0.5 * self.bar.thickness_mm)[:, None] * self.normals

    def _face(self, point: Array) -> float:
        """From the mesh to the outer face of the wall nearest to a point (3,), mm."""
        mesh = self.device.mesh
        cell, _ = cell_at(mesh, self.part, point)
        for zone in self.zones:
            rows = np.flatnonzero(mesh.zone(zone)[1] == cell)
            if len(rows):
                break
        wall = self.device.walls[zone]
        thick = np.broadcast_to(wall.thickness, len(mesh.zone(zone)[1]))[rows[0]]
        normal = triangle_geometry(mesh.points, mesh.cells["triangle"][[cell]])[1][0]
        sign = 1.0 if normal @ self.outward[cell] > 0.0 else -1.0
        return float(0.5 * thick + sign * wall.offset)

    @cached_property
    def length(self) -> float:
        """Of the bar, mm."""
        return float(_run(self.middle)[-1])

    @property
    def shortfall(self) -> str:
        """A sentence where the wall ends before the ends asked for; else empty."""
        low, high = (float(value) for value in self.line.points[[0, -1], 2])
        return shortfall(ends_of(self.device, self.bar, 2), (low, high))

    @cached_property
    def rivet_runs(self) -> Array:
        """(r,) mm along the bar from its lower end."""
        rivets, free = self.bar.rivets, self.length - 2.0 * self.bar.rivets.end_distance_mm
        count = rivets.count
        if count is None:
            assert rivets.spacing_mm is not None  # the schema wants one of both
            count = max(2, int(np.ceil(free / rivets.spacing_mm - 1e-9)) + 1)
        if free < (count - 1) * rivets.washer_diameter_mm:
            raise DeviceError(
                f"'{self.bar.name}' is {self.length:.0f} mm long, too short for {count} rivets "
                f"with washers of {rivets.washer_diameter_mm:g} mm and an end_distance_mm of "
                f"{rivets.end_distance_mm:g}; take fewer, or lengthen it")
        return rivets.end_distance_mm + np.linspace(0.0, free, count)

    @cached_property
    def on_wall(self) -> Array:
        """(r, 3) the rivets where they meet the middle of the wall."""
        points = _at(self.wall_line, _run(self.middle), self.rivet_runs)
        normals = _at(self.normals, _run(self.middle), self.rivet_runs)
        for point, normal in zip(points, normals, strict=True):
            self._require_flat(point, normal)
        return points

    @property
    def on_bar(self) -> Array:
        """(r, 3) the rivets in the middle of the bar."""
        return _at(self.middle, _run(self.middle), self.rivet_runs)

    def _require_flat(self, point: Array, normal: Array) -> None:
        """Refuse a rivet over the rim, or where wall and bar do not lie on each other."""
        mesh, half = self.device.mesh, 0.5 * self.bar.rivets.washer_diameter_mm
        where, triangles = f"a rivet of '{self.bar.name}'", mesh.cells["triangle"]
        where += " at ({:.0f}, {:.0f}, {:.0f}) mm".format(*point)
        cell, gap = cell_at(mesh, self.part, point)
        if gap > _OFF:
            raise DeviceError(f"{where} lies {gap:.0f} mm beyond the wall; shorten the bar, or "
                              "move it with aside_mm")
        edges = edges_of(triangles)
        rim = float(_gaps(mesh.points[edges.ends[edges.border]], point).min())
        if rim < half:
            raise DeviceError(
                f"{where} lies {rim:.1f} mm from the rim of the wall, less than half its washer, "
                f"{half:g} mm; shorten the bar, or move it with aside_mm")
        tilt = float(np.degrees(np.arccos(np.clip(self.outward[cell] @ normal, -1.0, 1.0))))
        if tilt > TILT_DEG:
            raise DeviceError(
                f"{where} would have to hold the bar on a wall that is turned from it by "
                f"{tilt:.0f}°, more than {TILT_DEG:g}°, as beside a rib; move it with aside_mm, or "
                "shorten it")

    @cached_property
    def nodes(self) -> Array:
        """(j, 3) of the struts; every rivet has one."""
        stops = np.concatenate([[0.0], self.rivet_runs, [self.length]])
        runs = np.unique(np.concatenate([
            np.linspace(low, high, max(1, int(np.ceil((high - low) / _PIECE))) + 1)
            for low, high in zip(stops[:-1], stops[1:], strict=True)]))
        return _at(self.middle, _run(self.middle), runs)

    @property
    def under(self) -> Mask:
        """(c,) True of the triangles that the bar lies over."""
        mesh, half = self.device.mesh, 0.5 * self.bar.width_mm
        triangles = mesh.cells["triangle"]
        low, high = self.line.points[[0, -1], 2]
        bounds = (self.line.beside(mesh.points), -half, half), (mesh.points[:, 2], low, high)
        over = self.part.copy()
        for values, least, most in bounds:
            over &= (values[triangles].max(axis=1) > least) & (values[triangles].min(axis=1) < most)
        return over


def cell_at(mesh: Mesh, cells: Mask, point: Array) -> tuple[int, float]:
    """The triangle of some that is nearest to a point (3,), and how far it is."""
    own = np.flatnonzero(cells)
    feet = nearest_points(mesh.points[mesh.cells["triangle"][own]], point)
    gaps = np.linalg.norm(feet - point, axis=1)
    return int(own[np.argmin(gaps)]), float(gaps.min())


def _gaps(segments: Array, point: Array) -> Array:
    """Distance (e,) of a point (3,) from straight pieces (e, 2, 3)."""
    start, along = segments[:, 0], segments[:, 1] - segments[:, 0]
    share = np.einsum("ek,ek->e", point - start, along) / np.einsum("ek,ek->e", along, along)
    foot = start + np.clip(share, 0.0, 1.0)[:, None] * along
    return np.asarray(np.linalg.norm(point - foot, axis=1))


def _run(points: Array) -> Array:
    """Length (k,) along a line of points (k, 3)."""
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])


def _at(values: Array, run: Array, at: Array) -> Array:
    """Values (k, 3) at lengths (j,) along a line."""
    return np.stack([np.interp(at, run, values[:, k]) for k in range(3)], axis=1)


def _dense(points: Array) -> Array:
    """A line with points every `_STEP` mm, from its lower end."""
    points = points if points[0, 2] < points[-1, 2] else points[::-1]
    run = _run(points)
    return _at(points, run, np.linspace(0.0, run[-1], max(2, round(run[-1] / _STEP)) + 1))
