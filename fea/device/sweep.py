# SPDX-License-Identifier: MIT
"""The moulded surface: sections swept along the sole, round the heel and up the shank.

One side (medial or lateral) of the limb unrolls to a flat pattern, as a fabricator draws one:
coordinates (X, Z) with X forward and Z up. Ahead of the fan centre sections are upright planes,
above it level planes, and between they fan about it; the fan centre is the centre of the trim
radius at the ankle, so that the trim line keeps a true radius. Along a section the pattern keeps
arc length, measured from the trim line: distance `radius` from the fan centre is the trim line.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.limb import CREST, MALLEOLUS_RADIUS, Limb, Numbers

Points = NDArray[np.float64]

_KNOTS = np.concatenate(
    [[0.0], np.linspace(1, 2, 25), np.linspace(2, 3, 9)[1:], np.linspace(3, 4, 33)[1:]]
)
_STEP = 1e-3  # mm, for normals by differences
_QUARTER = 0.5 * math.pi


def smooth_step(value: Numbers, start: float, end: float) -> Points:
    """0 below `start`, 1 above `end`, between with continuous slope and curvature."""
    share = np.asarray(np.clip((np.asarray(value, float) - start) / (end - start), 0.0, 1.0))
    between = (share > 0.0) & (share < 1.0)
    inner = share[between]
    share[between] = inner**3 * (10.0 - 15.0 * inner + 6.0 * inner**2)
    return share


@dataclass(frozen=True)
class Rib:
    """A ridge pressed outwards behind a malleolus, mm.

    Attributes:
        behind: from the malleolus to the ridge.  above: from the malleolus up to its middle.
        height, width, length: of the ridge.
    """

    behind: float
    above: float
    height: float
    width: float
    length: float

    def profile(self, across: Points, along: Points) -> Points:
        """Height at distances across and along the ridge from its middle; C1 everywhere."""
        half = 0.5 * self.width
        run = max(0.5 * self.length - half, 0.0)
        beyond = np.maximum(np.abs(along) - run, 0.0) / half
        share = np.clip(1.0 - (across / half) ** 2 - beyond**2, 0.0, 1.0)
        return self.height * share**2


@dataclass(frozen=True)
class Form:
    """Measures of the moulded surface, mm, in the frame of the barefoot limb.

    Attributes:
        gap: skin to the middle of the wall.
        wall_height: trim line of the foot above the sole.  wall_end: x where the walls end.
        trim_x: anterior trim line at the ankle.  trim_radius: between trim line and foot wall.
        sole_radius: between sole and walls.  heel_radius: between sole and back of the heel.
        ball_x: x of the ball, where the toe rise begins.  plate_end: x of the end of the plate.
        toe_rise: of the end of the plate.
        malleolus_clearance: added over the malleoli.  ribs: pressed into both sides.
    """

    gap: float
    wall_height: float
    wall_end: float
    trim_x: float
    trim_radius: float
    sole_radius: float
    heel_radius: float
    ball_x: float
    plate_end: float
    toe_rise: float
    malleolus_clearance: float
    ribs: tuple[Rib, ...] = ()

    @property
    def wall_start(self) -> float:
        """x where the walls begin to fall towards the flat plate."""
        return max(self.fan_x, self.wall_end - 1.5 * self.wall_height)

    @property
    def fan_x(self) -> float:
        """x of the fan centre."""
        return self.trim_x + self.trim_radius

    @property
    def fan_z(self) -> float:
        """Height of the fan centre above the sole of the foot."""
        return self.wall_height + self.trim_radius


@dataclass(frozen=True)
class _Sections:
    """Section planes and what bounds the section in each, one a row; mm, rad.

    Attributes:
        x, z: where the plane starts;  angle: of the plane from straight down towards the back.
        out: distance of the sole or posterior midline.  turned: 0 on the sole, 1 on the shank.
        wide: distance of the broadest place.  front: from there to the front.
    """

    x: Points
    z: Points
    angle: Points
    out: Points
    turned: Points
    wide: Points
    front: Points

    def at(self, distance: Points) -> tuple[Points, Points]:
        """x and z at distances (n, k) in each plane."""
        sine, cosine = np.sin(self.angle)[:, None], np.cos(self.angle)[:, None]
        return self.x[:, None] - distance * sine, self.z[:, None] - distance * cosine


@dataclass(frozen=True, eq=False)
class MouldedSide:
    """The medial or lateral half of a moulded surface over a limb.

    A place along the midline is one number: negative ahead of the fan centre by that many mm,
    0 to 1 through the quarter turn of the fan, and beyond 1 by the mm above the fan centre.
    """

    limb: Limb
    form: Form
    part: str

    @cached_property
    def sign(self) -> float:
        """Sign of y."""
        return self.limb.sign(self.part)

    def points(self, pattern: Points) -> Points:
        """Points (n, 3) of the wall's middle at places (n, 2) of the pattern, mm."""
        points = self._smooth(pattern)
        height = self._rib_height(pattern)
        ridge = np.flatnonzero(height > 0.0)
        if ridge.size:
            at, foot = pattern[ridge], points[ridge]
            right, up = ((self._smooth(at + _STEP * step) - foot) / _STEP for step in np.eye(2))
            normal = np.cross(up, right) * self.sign
            normal /= np.linalg.norm(normal, axis=1, keepdims=True)
            points[ridge] += height[ridge, None] * normal
        return points

    def on_plate(self, pattern: Points) -> NDArray[np.bool_]:
        """Whether places (n, 2) of the pattern lie on the flat of the sole."""
        sections, distance = self._sections(pattern)
        length, back = self._lengths(sections)
        level = sections.z - sections.out * np.cos(sections.angle)
        from_midline = back - (distance - self.form.trim_radius)
        return (level < 1e-6 - self.form.gap) & (from_midline < length[:, 1] + 1e-6)

    def on_underside(self, pattern: Points) -> NDArray[np.bool_]:
        """Whether places (n, 2) of the pattern lie below the rounding of the heel's sides."""
        sections, distance = self._sections(pattern)
        length, back = self._lengths(sections)
        corner = int(np.searchsorted(_KNOTS, 1.5))
        return back - (distance - self.form.trim_radius) < length[:, corner]

    def midline(self, place: Numbers) -> Points:
        """Pattern (n, 2) of the midline of sole, heel and posterior at places along it."""
        return self._pattern(place, self.half_girths(place)[0])

    def front(self, place: Numbers) -> Points:
        """Pattern (n, 2) of the front midline of the shank at places along it."""
        return self._pattern(place, -self.half_girths(place)[1])

    def from_trim(self, place: Numbers, back: Numbers) -> Points:
        """Pattern (n, 2) at arc lengths (mm) behind or below the trim line."""
        return self._pattern(place, back)

    def half_girths(self, place: Numbers) -> tuple[Points, Points]:
        """Arc lengths from the trim line to the posterior midline and to the front midline, mm."""
        length, back = self._lengths(self._sections_at(place))
        return back, length[:, -1] - back

    def edge_of_flat(self, place: Numbers) -> Points:
        """Arc length from the trim line down to the edge of the flat sole, mm."""
        length, back = self._lengths(self._sections_at(place))
        return back - length[:, 1]

    def place_of_x(self, x: Numbers) -> Points:
        """Place of a section of the foot at x, ahead of the fan centre."""
        return self.form.fan_x - np.asarray(x, float)

    def place_of_z(self, z: Numbers) -> Points:
        """Place of a section of the shank at z, above the fan centre."""
        return np.asarray(z, float) - self.form.fan_z + 1.0

    def _pattern(self, place: Numbers, back: Numbers) -> Points:
        place = np.atleast_1d(np.asarray(place, float))
        x, z, angle = self._planes(place)
        distance = self.form.trim_radius + back
        return np.stack([x - distance * np.sin(angle), z - distance * np.cos(angle)], axis=1)

    def _planes(self, place: Points) -> tuple[Points, Points, Points]:
        x = self.form.fan_x - np.minimum(place, 0.0)
        z = self.form.fan_z + np.maximum(place - 1.0, 0.0)
        return x, z, _QUARTER * np.clip(place, 0.0, 1.0)

    def _sections_at(self, place: Numbers) -> _Sections:
        return self._bounded(*self._planes(np.atleast_1d(np.asarray(place, float))))

    def _sections(self, pattern: Points) -> tuple[_Sections, Points]:
        """Sections through places (n, 2) of the pattern, and the places' distance in them."""
        right, down = self.form.fan_x - pattern[:, 0], self.form.fan_z - pattern[:, 1]
        shank, foot = down <= 0.0, (down > 0.0) & (right <= 0.0)
        fan = np.arctan2(right, np.where(shank | foot, 1.0, down))
        angle = np.where(shank, _QUARTER, np.where(foot, 0.0, fan))
        distance = np.where(shank, right, np.where(foot, down, np.hypot(right, down)))
        x = np.where(foot, pattern[:, 0], self.form.fan_x)
        z = np.where(shank, pattern[:, 1], self.form.fan_z)
        return self._bounded(x, z, angle), distance

    def _bounded(self, x: Points, z: Points, angle: Points) -> _Sections:
        limb, form = self.limb, self.form
        out, along = self._outline(x, z, angle)
        top = min(form.fan_z, limb.ankle_height)
        heel_arc = _QUARTER * form.heel_radius
        turned = smooth_step(
            along, -0.5 * form.heel_radius, heel_arc + top - (form.heel_radius - form.gap)
        )
        middle = 0.5 * form.wall_height
        shank = limb.shank_section(np.maximum(z - out * np.cos(angle), 0.5 * limb.ankle_height))
        wide = _mix(turned, form.fan_z - middle, form.fan_x - shank.x)
        instep = limb.dorsum_height(form.fan_x) - middle
        front = _mix(turned, instep, shank.front) + form.gap
        return _Sections(x, z, angle, out, turned, wide, front)

    def _outline(self, x: Points, z: Points, angle: Points) -> tuple[Points, Points]:
        """Distance (n,) of sole, heel arc or posterior line, and arc length from heel onwards."""
        gap, radius = self.form.gap, self.form.heel_radius
        sine, cosine = np.sin(angle), np.cos(angle)
        centre_x = self.limb.landmarks["heel"][0] - gap + radius
        centre_z = radius - gap
        ahead, above = x - centre_x, z - centre_z
        along = ahead * sine + above * cosine
        square = np.maximum(along**2 - ahead**2 - above**2 + radius**2, 0.0)
        arc = along + np.sqrt(square)
        sole = (z + gap) / np.where(cosine > 0.1, cosine, 0.1)
        back = arc
        for _ in range(30):
            height, before = z - back * cosine, back
            back = (x - self.limb.posterior(height) + gap) / np.where(sine > 0.1, sine, 0.1)
            if np.array_equal(back, before):
                break
        on_sole = (cosine > 0.1) & (x - sole * sine >= centre_x)
        on_arc = ~on_sole & (z - arc * cosine <= centre_z)
        turn = np.arctan2(arc * sine - ahead, arc * cosine - above)
        upright = _QUARTER * radius + z - back * cosine - centre_z
        out = np.where(on_sole, sole, np.where(on_arc, arc, back))
        ran = np.where(on_sole, sole * sine - ahead, np.where(on_arc, radius * turn, upright))
        return out, ran

    def _half_breadth(self, x: Points, z: Points) -> Points:
        limb, form = self.limb, self.form
        fall = smooth_step(x, form.wall_start, form.wall_end)
        foot = limb.sole_half_breadth(x, self.part) + form.sole_radius * fall
        low = 0.5 * limb.ankle_height
        shank = np.asarray(limb.shank_section(np.maximum(z, low)).half_breadth)
        share = smooth_step(z, 0.15 * limb.ankle_height, limb.ankle_height)
        share = share * (1.0 - smooth_step(x, form.fan_x, form.fan_x + limb.ankle_height))
        return _mix(share, foot, shank) + form.gap

    def _curve(self, sections: _Sections, knot: Points) -> tuple[Points, Points]:
        """Distance and |y| (n, k) at knots (n or 1, k): 0 flat, 1 corner, 2 wall, 3 front."""
        out, turned = sections.out[:, None], sections.turned[:, None]
        wide, front = sections.wide[:, None], sections.front[:, None]
        deep = _mix(turned, np.minimum(self.form.sole_radius, out - wide), out - wide)
        corner = _QUARTER * np.clip(knot - 1.0, 0.0, 1.0)
        wall = np.clip(knot - 2.0, 0.0, 1.0)
        ahead = _QUARTER * np.clip(knot - 3.0, 0.0, 1.0)
        distance = out - deep * (1.0 - np.cos(corner)) - wall * (out - deep - wide)
        distance = distance - front * np.sin(ahead)
        x, z = sections.at(distance)
        breadth = self._half_breadth(x, z)
        round_ = _mix(turned, self.form.sole_radius, breadth)
        across = (breadth - round_) * np.clip(knot, 0.0, 1.0) + round_ * np.sin(corner)
        across = across * np.cos(ahead) * (1.0 - CREST * np.sin(ahead) ** 2)
        return distance, across + across / breadth * self._bulge(x, z)

    def _bulge(self, x: Points, z: Points) -> Points:
        """How far the wall stands out over the malleolus: bone and clearance, mm."""
        tip = self.limb.landmarks[f"{self.part}_malleolus"]
        reach = 1.5 * MALLEOLUS_RADIUS * self.limb.foot_length
        relief = np.exp(-((x - tip[0]) ** 2 + (z - tip[2]) ** 2) / reach**2)
        bone = self.limb.malleolus_bulge(x, z, self.sign)
        return bone + self.form.malleolus_clearance * relief

    def _lengths(self, sections: _Sections) -> tuple[Points, Points]:
        """Arc length (n, k) at the knots from the midline, and (n,) at the trim line."""
        distance, across = self._curve(sections, _KNOTS[None])
        steps = np.hypot(np.diff(distance, axis=1), np.diff(across, axis=1))
        length = np.concatenate([np.zeros((len(steps), 1)), np.cumsum(steps, axis=1)], axis=1)
        trim = np.full(len(length), -self.form.trim_radius)
        return length, _interpolate(trim, -distance, length)

    def _smooth(self, pattern: Points) -> Points:
        sections, distance = self._sections(pattern)
        length, back = self._lengths(sections)
        target = np.clip(back - (distance - self.form.trim_radius), 0.0, length[:, -1])
        knots = np.broadcast_to(_KNOTS, length.shape)
        knot = _interpolate(target, length, knots)[:, None]
        distance, across = self._curve(sections, knot)
        x, z = sections.at(distance)
        ball, end = self.form.ball_x, self.form.plate_end
        rise = self.form.toe_rise * (np.maximum(x - ball, 0.0) / (end - ball)) ** 2
        return np.concatenate([x, self.sign * across, z + rise], axis=1)

    def _rib_height(self, pattern: Points) -> Points:
        tip = self.limb.landmarks[f"{self.part}_malleolus"]
        height = np.zeros(len(pattern))
        for rib in self.form.ribs:
            across = pattern[:, 0] - (tip[0] - rib.behind)
            height += rib.profile(across, pattern[:, 1] - (tip[2] + rib.above))
        return height


def _mix(share: Points, start: Numbers, end: Numbers) -> Points:
    return (1.0 - share) * start + share * end


def _interpolate(value: Points, rising: Points, result: Points) -> Points:
    """Linear interpolation row by row: value (n,) in rising (n, k) of result (n, k)."""
    last = rising.shape[1] - 1
    index = np.clip((rising <= value[:, None]).sum(axis=1) - 1, 0, last - 1)
    row = np.arange(len(rising))
    low, high = rising[row, index], rising[row, index + 1]
    share = np.clip((value - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    return _mix(share, result[row, index], result[row, index + 1])
