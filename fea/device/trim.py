# SPDX-License-Identifier: MIT
"""The trim lines of a moulded device on its flat pattern, from toe to toe round one side."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fea.device.sweep import MouldedSide, Points, smooth_step
from fea.errors import DeviceError

_WALL_END = 30.0  # mm behind the end of the foot wall where its rim falls and stress gathers
_FINE = 1.0  # mm between the points of a trim line before it is divided into element edges
_QUARTER = np.linspace(0.0, 0.5 * np.pi, 46)
_SQUARENESS = 2.6  # exponent of the superellipse that rounds the plate's end


@dataclass(frozen=True)
class Trim:
    """Measures of the trim lines, mm; heights above the sole of the barefoot limb.

    Attributes:
        opening: height at which the posterior opening begins.  opening_radius: of its corners.
        upright_width: from the anterior trim line back to the posterior opening.
        front_lower, front_upper: lower and upper edge of the front piece.
        front_radius: between upright and lower edge.  corner_radius: of the upper corners.
        wrap: share of the girth that the front piece covers.
        over_knee: by which the upper edge rises in the middle, over the knee cap.
        toe_round: length over which the end of the plate is rounded.
    """

    opening: float
    opening_radius: float
    upright_width: float
    front_lower: float
    front_upper: float
    front_radius: float
    corner_radius: float
    wrap: float
    over_knee: float
    toe_round: float


@dataclass(frozen=True, eq=False)
class TrimLines:
    """Trim lines of one side: dense polylines on the pattern, in order round the side.

    `midline` runs from the toe under the sole and up behind, `rear` on to the front midline,
    `front_midline` down, `fore` along the anterior trim and the foot wall back to the toe.
    """

    side: MouldedSide
    trim: Trim

    @cached_property
    def midline(self) -> Points:
        """Sole, heel and posterior midline, shared by both sides."""
        return self.side.midline(self.midline_places)

    @cached_property
    def front_midline(self) -> Points:
        """Front midline from the upper to the lower edge of the front piece, shared."""
        return self.side.front(self.front_places)

    @cached_property
    def front_places(self) -> Points:
        """Places of the points of `front_midline`."""
        trim = self.trim
        z = _runs(trim.front_upper + trim.over_knee, trim.front_lower)
        return self.side.place_of_z(z)

    @cached_property
    def radii(self) -> Points:
        """Points (k, 2) where stress gathers: on rounded corners and where the foot wall ends."""
        ankle = self.side.from_trim(np.linspace(0.0, 1.0, 40), np.zeros(40))
        ahead = self._wall[:, 0] - self.side.form.wall_end
        falling = self._wall[(ahead > -_WALL_END) & (ahead < 0.0)]
        return np.concatenate([ankle, self._opening_corner, self._lower[-len(_QUARTER) :], falling])

    @cached_property
    def rear(self) -> Points:
        """Edge of the posterior opening, corner and upper edge, from back to front."""
        pieces = (self._opening, self._corner, self._upper)
        return _joined([self.midline[-1:], *pieces, self.front_midline[:1]])

    @cached_property
    def fore(self) -> Points:
        """Lower edge of the front piece, anterior trim, foot wall and plate, down to the toe."""
        pieces = (self._lower, self._anterior, self._wall, self._toe)
        return _joined([self.front_midline[-1:], *pieces, self.midline[:1]])

    @cached_property
    def foot(self) -> Points:
        """Edge of the foot wall and the plate, from the trim radius to the toe."""
        return _joined([self._wall, self._toe])

    @property
    def _toe_place(self) -> float:
        return float(self.side.place_of_x(self.side.form.plate_end))

    @cached_property
    def _start(self) -> float:
        """Place on the midline at the height where the posterior opening begins."""
        places = np.concatenate([np.linspace(0.3, 1.0, 300), _runs(1.0, 1.0 + self._reach)[1:]])
        height = self.side.points(self.side.midline(places))[:, 2]
        return float(np.interp(self.trim.opening, height, places))

    @property
    def _reach(self) -> float:
        return self.trim.front_upper - self.side.form.fan_z

    @cached_property
    def midline_places(self) -> Points:
        """Places of the points of `midline`."""
        ends = sorted({self._toe_place, 0.0, 1.0, self._start})
        ends = [end for end in ends if end <= self._start]
        pieces = [
            np.linspace(low, high, 200) if 0.0 <= low < 1.0 else _runs(low, high)
            for low, high in zip(ends[:-1], ends[1:], strict=True)
        ]
        return np.unique(np.concatenate(pieces))

    def _rear_edge(self, places: Points) -> Points:
        """Arc length behind the trim line at which the posterior opening ends, at places."""
        trim, z = self.trim, places - 1.0 + self.side.form.fan_z
        back, front = self.side.half_girths(places)
        cover = back - (1.0 - trim.wrap) * (back + front)
        middle = 0.5 * (trim.front_lower + trim.front_upper)
        share = smooth_step(z, trim.front_lower - trim.front_radius, middle)
        return (1.0 - share) * trim.upright_width + share * cover

    @cached_property
    def _upright_edge(self) -> tuple[Points, Points, Points]:
        """Rear edge of upright and front piece: places, pattern, and length run along it."""
        top = float(self.side.place_of_z(self.trim.front_upper - self.trim.corner_radius))
        places = _places(self._start, top)
        edge = self.side.from_trim(places, self._rear_edge(places))
        step = np.linalg.norm(np.diff(edge, axis=0), axis=1)
        return places, edge, np.concatenate([[0.0], np.cumsum(step)])

    @cached_property
    def _opening_radius(self) -> float:
        room = float(self.side.half_girths(self._start)[0][0]) - self.trim.upright_width
        if room < 5.0:
            raise DeviceError(
                f"an upright {self.trim.upright_width:g} mm wide reaches the posterior midline, "
                f"{room + self.trim.upright_width:.0f} mm behind the anterior trim line: narrow it"
            )
        return min(self.trim.opening_radius, 0.95 * room)

    @cached_property
    def _opening_corner(self) -> Points:
        places, _, run = self._upright_edge
        corner = np.interp(self._opening_radius * (1.0 - np.cos(_QUARTER)), run, places)
        arc = self._rear_edge(corner) + self._opening_radius * (1.0 - np.sin(_QUARTER))
        return self.side.from_trim(corner, arc)

    @cached_property
    def _opening(self) -> Points:
        side = self.side
        back = float(side.half_girths(self._start)[0][0])
        ends = float(self._rear_edge(np.array([self._start]))[0]) + self._opening_radius
        bottom = _runs(back, ends)
        _, edge, run = self._upright_edge
        return _joined(
            [
                side.from_trim(np.full(len(bottom), self._start), bottom),
                self._opening_corner,
                edge[run > self._opening_radius],
            ]
        )

    @cached_property
    def _corner(self) -> Points:
        trim, side = self.trim, self.side
        rise = trim.corner_radius * (np.sin(_QUARTER) - 1.0)
        places = side.place_of_z(trim.front_upper + rise)
        return side.from_trim(
            places, self._rear_edge(places) - trim.corner_radius * (1.0 - np.cos(_QUARTER))
        )

    @cached_property
    def _upper(self) -> Points:
        trim, side = self.trim, self.side
        level = side.place_of_z(trim.front_upper)
        start = float(self._rear_edge(np.atleast_1d(level))[0]) - trim.corner_radius
        front = float(side.half_girths(level)[1][0])
        arc = _runs(start, -front)
        share = np.clip((arc + front) / (0.6 * (start + front)), 0.0, 1.0)
        rise = trim.over_knee * np.cos(0.5 * np.pi * share) ** 2
        places = side.place_of_z(trim.front_upper + rise)
        ahead = side.half_girths(places)[1]
        return side.from_trim(places, start - (start - arc) * (start + ahead) / (start + front))

    @cached_property
    def _lower(self) -> Points:
        trim, side = self.trim, self.side
        front = float(side.half_girths(side.place_of_z(trim.front_lower))[1][0])
        radius = min(trim.front_radius, 0.95 * front)
        level = _runs(-front, -radius)
        edge = side.from_trim(np.full(len(level), side.place_of_z(trim.front_lower)), level)
        z = trim.front_lower - radius * (1.0 - np.cos(_QUARTER))
        return _joined(
            [edge, side.from_trim(side.place_of_z(z), radius * (np.sin(_QUARTER) - 1.0))]
        )

    @cached_property
    def _anterior(self) -> Points:
        """Straight trim line of the upright and the trim radius at the ankle."""
        last = self.side.place_of_z(self._lower[-1, 1])
        places = _places(float(last), 0.0)
        return self.side.from_trim(places, np.zeros(len(places)))

    @cached_property
    def _wall(self) -> Points:
        side, form = self.side, self.side.form
        places = _runs(0.0, self._toe_place + self.trim.toe_round)
        x = form.fan_x - places
        fall = smooth_step(x, form.wall_start, form.wall_end)
        return side.from_trim(places, fall * side.edge_of_flat(places))

    @cached_property
    def _toe(self) -> Points:
        """Rounded end of the plate: a superellipse between its side and the midline."""
        side = self.side
        ahead = np.sin(_QUARTER) ** (2.0 / _SQUARENESS)
        places = self._toe_place + self.trim.toe_round * (1.0 - ahead)
        edge, back = side.edge_of_flat(places), side.half_girths(places)[0]
        return side.from_trim(places, back - (back - edge) * np.cos(_QUARTER) ** (2 / _SQUARENESS))


def _runs(start: float, end: float) -> Points:
    """Values from `start` to `end`, about a step of `_FINE` apart."""
    return np.linspace(start, end, max(2, int(abs(end - start) / _FINE) + 2))


def _places(start: float, end: float) -> Points:
    """Places along the midline from `start` to `end`, finely through the fan."""
    low, high = min(start, end), max(start, end)
    pieces = [np.array([low, high])]
    if high > 1.0:
        pieces.append(_runs(max(low, 1.0), high))
    if low < 1.0:
        pieces.append(np.linspace(max(low, 0.0), min(high, 1.0), 120))
    places = np.unique(np.concatenate(pieces))
    return places if start < end else places[::-1]


def _joined(pieces: list[Points]) -> Points:
    """Polyline through all pieces, without repeated points."""
    line = np.concatenate(pieces)
    step = np.linalg.norm(np.diff(line, axis=0), axis=1)
    return line[np.append(True, step > 1e-7)]
