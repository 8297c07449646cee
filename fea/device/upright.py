# SPDX-License-Identifier: MIT
"""The shells and bars of a bar-upright device on one side of a limb, before they are joined.

Both shells and the bar follow one moulded surface, so that bar and shell lie against each other
where they are riveted. Everything is in the frame of the barefoot limb, mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.device.barsfile import BarsFile
from fea.device.pattern import Field, divide, fill, inside
from fea.device.sweep import Form, MouldedSide, Points
from fea.device.trim import Trim, TrimLines
from fea.errors import DeviceError
from fea.limb import Limb

SIZE = 6.0
"""Default edge length of the mesh, mm; under a washer it is finer."""

_FINE = 1.0  # mm between the points of a dense line
_WASHER_EDGES = 2.2  # element edges from the middle of a washer to its rim
_GROWTH = 0.35  # by which the element size grows per mm away from a washer
_AT_RIMS = 0.4  # element size along the free border, as share of that elsewhere
_RIM_GROWTH = 0.25  # by which that grows per mm away from the border, with elements of `SIZE`


def form_of(content: BarsFile, limb: Limb) -> Form:
    """The moulded surface of the file on a limb."""
    foot = content.foot_section
    heel, length = limb.landmarks["heel"][0], limb.foot_length
    return Form(
        gap=content.gap_mm,
        wall_height=foot.wall_height_share * limb.ankle_height,
        wall_end=heel + foot.wall_end_share * length,
        trim_x=foot.trim_mm,
        trim_radius=foot.trim_radius_mm,
        sole_radius=foot.sole_radius_mm,
        heel_radius=foot.heel_radius_mm,
        ball_x=limb.landmarks["ball"][0],
        plate_end=heel + foot.plate_length_share * length,
        toe_rise=foot.toe_rise_mm,
        malleolus_clearance=content.malleolus_clearance_mm,
    )


@dataclass(frozen=True, eq=False)
class Upright:
    """One side: the bar's line, its rivets, and the pattern of both shells.

    Attributes:
        content: the recipe.  limb: the limb.  part: "medial" or "lateral".  size: edge length, mm.
    """

    content: BarsFile
    limb: Limb
    part: str
    size: float

    @cached_property
    def side(self) -> MouldedSide:
        """The moulded surface."""
        return MouldedSide(self.limb, form_of(self.content, self.limb), self.part)

    @property
    def standoff(self) -> float:
        """From the middle of the wall to the middle of the bar, mm."""
        shells = (self.content.foot_section, self.content.front_piece)
        wall = max(shell.thickness_mm * shell.thinning for shell in shells)
        return 0.5 * (wall + self.content.bars.depth_mm)

    @cached_property
    def line(self) -> Points:
        """Dense middle line of the bar on the pattern (m, 2), from bottom to top."""
        bars = self.content.bars
        top = self.limb.shank_height(self.content.front_piece.top_share) - bars.top_mm
        z = _steps(bars.bottom_mm, float(top))
        return self._located(np.full(len(z), -bars.behind_ankle_mm), z)

    @cached_property
    def run(self) -> Points:
        """Length along the bar (m,) at the points of `line`, mm."""
        step = np.linalg.norm(np.diff(self._bar_points(self.line), axis=0), axis=1)
        return np.concatenate([[0.0], np.cumsum(step)])

    @cached_property
    def rivet_runs(self) -> tuple[Points, Points]:
        """Lengths along the bar of the rivets in the foot section and in the front piece, mm."""
        rivets = self.content.rivets
        foot = rivets.end_distance_mm + rivets.foot_spacing_mm * np.arange(rivets.foot_count)
        front = rivets.end_distance_mm + rivets.front_spacing_mm * np.arange(rivets.front_count)
        return foot.astype(float), (float(self.run[-1]) - front)[::-1].astype(float)

    def at_run(self, run: Points) -> Points:
        """Places (k, 2) of the pattern at lengths (k,) along the bar."""
        return np.stack([np.interp(run, self.run, self.line[:, k]) for k in (0, 1)], axis=1)

    def bar(self) -> tuple[Points, Points]:
        """Nodes (k, 3) of the bar, and (r, 3) those with a rivet, foot first."""
        foot, front = self.rivet_runs
        stops = np.concatenate([[0.0], foot, front, self.run[-1:]])
        runs = np.unique(np.concatenate([
            np.linspace(low, high, max(1, round((high - low) / self.size)) + 1)
            for low, high in zip(stops[:-1], stops[1:], strict=True)]))
        return (self._bar_points(self.at_run(runs)),
                self._bar_points(self.at_run(np.concatenate([foot, front]))))

    def foot_section(self) -> tuple[Points, NDArray[np.int64], int]:
        """Pattern (n, 2), triangles, and how many of the first points lie on the midline."""
        content, side, limb = self.content, self.side, self.limb
        top = float(limb.shank_height(content.foot_section.top_share))
        level = float(side.place_of_z(top))
        if level <= 1.0:
            raise DeviceError(
                f"foot_section.top_share puts its upper edge {top:.0f} mm above the sole, below "
                f"the end of the trim radius at {side.form.fan_z:.0f} mm; raise it"
            )
        back = float(side.half_girths(level)[0][0])
        across = _steps(back, 0.0)
        down = np.concatenate([_steps(level, 1.0), np.linspace(1.0, 0.0, 120)[1:]])
        edge = self._foot_edge()
        midline = side.midline(_midline_places(float(side.place_of_x(side.form.plate_end)), level))
        border = rounded(
            [side.from_trim(np.full(len(across), level), across),
             np.concatenate([side.from_trim(down, np.zeros(len(down))), edge])],
            content.foot_section.corner_radius_mm)
        return self._filled(midline, border, self.rivet_runs[0], "foot section")

    def front_piece(self) -> tuple[Points, NDArray[np.int64], int]:
        """Pattern (n, 2), triangles, and how many of the first points lie on the midline."""
        piece, side = self.content.front_piece, self.side
        bottom, top = (float(self.limb.shank_height(share))
                       for share in (piece.bottom_share, piece.top_share))
        places = np.asarray(side.place_of_z(_steps(bottom, top)))
        behind, ahead = side.half_girths(places)
        rear = piece.wrap_share * (behind + ahead) - ahead
        lower, upper = _steps(-float(ahead[0]), float(rear[0])), _steps(float(rear[-1]),
                                                                      -float(ahead[-1]))
        border = rounded(
            [side.from_trim(np.full(len(lower), places[0]), lower),
             side.from_trim(places, rear),
             side.from_trim(np.full(len(upper), places[-1]), upper)],
            piece.corner_radius_mm)
        return self._filled(side.front(places[::-1]), border, self.rivet_runs[1], "front piece")

    def _foot_edge(self) -> Points:
        """Edge of the foot wall and the plate, from the trim radius to the toe."""
        trim = Trim(0, 0, 0, 0, 0, 0, 0, 0, 0, self.content.foot_section.toe_round_mm)
        return TrimLines(self.side, trim).foot

    def _filled(
        self, midline: Points, border: Points, runs: Points, name: str
    ) -> tuple[Points, NDArray[np.int64], int]:
        """Fill between midline and border, finer round the washers of the rivets at `runs`."""
        side = self.side
        centres = self.at_run(runs)
        radius = 0.5 * self.content.rivets.washer_diameter_mm
        dense = np.concatenate([midline, border])
        gaps = np.linalg.norm(dense[:, None] - centres, axis=2).min(axis=0)
        if not inside(centres, dense).all() or gaps.min() < radius:
            worst = centres[np.argmin(np.where(inside(centres, dense), gaps, -gaps))]
            raise DeviceError(
                f"a rivet of the {self.part} bar at z = {worst[1]:.0f} mm reaches over the edge of "
                f"the {name}; make the {name} larger there, or move the bar"
            )

        rim = cKDTree(border)

        def size(places: Points) -> Points:
            gap = np.linalg.norm(places[:, None] - centres, axis=2).min(axis=1) - radius
            beside = radius / _WASHER_EDGES + _GROWTH * np.maximum(gap, 0.0)
            share = _AT_RIMS + _RIM_GROWTH / SIZE * rim.query(places)[0]
            return np.minimum(self.size * np.minimum(1.0, share),
                              min(1.0, self.size / SIZE) * beside)

        inner, outer = (_divided(line, size, side) for line in (midline, border))
        outline = np.concatenate([inner, outer[1:-1]])
        turned = _area(outline) < 0.0
        points, triangles = fill(
            outline[::-1] if turned else outline, size, side.points, lines=centres
        )
        if turned:
            count = len(outline)
            points[:count] = points[:count][::-1].copy()
            triangles = np.where(triangles < count, count - 1 - triangles, triangles)
        return points, triangles, len(inner)

    def _bar_points(self, places: Points) -> Points:
        """Points (n, 3) of the bar's middle over places of the pattern."""
        on_wall = self.side.points(places)
        step = 1e-3
        right, up = (self.side.points(places + step * axis) - on_wall for axis in np.eye(2))
        normal = np.cross(right, up)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        # sideways only, so that the bar stays in one plane and is bent flatwise alone
        sideways = self.side.sign * self.standoff / np.abs(normal[:, 1])
        return on_wall + sideways[:, None] * np.array([0.0, 1.0, 0.0])

    def _located(self, x: Points, z: Points) -> Points:
        """Places (n, 2) of the pattern whose points lie at x and z; the pattern is near to them."""
        target = np.stack([x, z], axis=1)
        places = target.copy()
        for _ in range(50):
            miss = target - self.side.points(places)[:, [0, 2]]
            places = places + miss
            if np.abs(miss).max() < 1e-7:
                return places
        raise DeviceError(
            f"the {self.part} bar leaves the side of the limb at z = "
            f"{z[np.argmax(np.abs(miss).max(axis=1))]:.0f} mm; change bars.behind_ankle_mm or "
            "bars.bottom_mm"
        )


def rounded(lines: Sequence[Points], radius: float) -> Points:
    """One polyline through dense lines (m, 2) that meet end to start, its inner corners rounded.

    Each corner is cut `radius` back along both lines and replaced by a parabola.
    """
    pieces = [lines[0]]
    for line in lines[1:]:
        before, after = pieces[-1], line
        corner = line[0]
        keep = _run(before)[-1] - _run(before) > radius
        start = _run(after) > radius
        pieces[-1] = before[keep]
        first, last = pieces[-1][-1], after[start][0]
        t = np.linspace(0.0, 1.0, max(3, int(radius / _FINE)))[1:-1, None]
        pieces += [(1 - t) ** 2 * first + 2 * t * (1 - t) * corner + t**2 * last, after[start]]
    return np.concatenate(pieces)


def _divided(line: Points, size: Field, side: MouldedSide) -> Points:
    at = divide(line, size, side.points)
    return np.stack([np.interp(at, np.arange(len(line)), line[:, k]) for k in (0, 1)], axis=1)


def _run(line: Points) -> Points:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])


def _steps(start: float, end: float) -> Points:
    return np.linspace(start, end, max(2, int(abs(end - start) / _FINE) + 2))


def _midline_places(start: float, end: float) -> Points:
    """Places along the midline from the toe (negative) through the fan (0 to 1) up to `end`."""
    fan = np.linspace(0.0, 1.0, 200)
    return np.concatenate([_steps(start, 0.0)[:-1], fan, _steps(1.0, end)[1:]])


def _area(outline: Points) -> float:
    x, y = outline.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
