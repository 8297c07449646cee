# SPDX-License-Identifier: MIT
"""The mesh of a moulded device: two halves on shared midlines, and its zones."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.device.pattern import Field, divide, fill, inside
from fea.device.sweep import Form, MouldedSide, Points
from fea.device.trim import Trim, TrimLines
from fea.errors import DeviceError
from fea.limb import Limb

Cells = NDArray[np.int64]

PARTS = ("medial", "lateral")
ZONES = (
    "foot plate",
    "foot walls",
    "heel",
    "ankle medial",
    "ankle lateral",
    "upright medial",
    "upright lateral",
    "posterior shell",
    "front piece",
)

_AT_CORNERS, _AT_RIMS, _AT_FOLDS = 0.16, 0.45, 0.6  # element size there over that elsewhere
_GROWTH = 0.25  # by which the element size grows per mm away from them
_ALIKE = 6.0  # mm: size up to which meshes are graded alike, so that finer ones are finer all over
_ANKLE_FROM, _ANKLE_TO = 0.6, 1.8  # the ankle zone, as shares of the ankle height
_HEEL_UNDERSIDE = 0.25  # of the heel radius: how far up the rounding counts as plate


@dataclass(frozen=True, eq=False)
class MouldedShell:
    """Points (n, 3) of the wall's middle on the barefoot limb, triangles (c, 3) and zones."""

    points: Points
    triangles: Cells
    zones: Mapping[str, Cells]

    @classmethod
    def build(cls, limb: Limb, form: Form, trim: Trim, size: float) -> "MouldedShell":
        """Mesh both halves with edges of about `size` mm.

        The last few are kept: most designs that are judged one after the other differ in walls,
        materials or loads alone.
        """
        return _built(limb.side, tuple(sorted(limb.measures.items())), form, trim, size)

    @classmethod
    def _of(cls, limb: Limb, form: Form, trim: Trim, size: float) -> "MouldedShell":
        halves = [_Half(TrimLines(MouldedSide(limb, form, part), trim), size) for part in PARTS]
        seams = halves[1].seams()
        points: list[Points] = []
        triangles, names = [], []
        count = shared = sum(len(seam) for seam in seams)
        for half in halves:
            pattern, cells, seam_nodes = half.filled(seams)
            number = np.full(len(pattern), -1)
            number[seam_nodes] = np.arange(shared)
            rest = np.flatnonzero(number < 0)
            number[rest] = count + np.arange(len(rest))
            count += len(rest)
            lifted = half.side.points(pattern)
            lifted[seam_nodes, 1] = 0.0
            points += [lifted[rest]] if points else [lifted[seam_nodes], lifted[rest]]
            # the pattern has x forward and z up: seen from the wearer's right it faces out
            outward = cells if half.side.sign < 0.0 else cells[:, ::-1]
            triangles.append(number[outward])
            names.append(half.zones(pattern[cells].mean(axis=1)))
        name = np.concatenate(names)
        zones = {zone: np.flatnonzero(name == zone) for zone in ZONES if (name == zone).any()}
        made = cls(np.concatenate(points), np.concatenate(triangles), MappingProxyType(zones))
        for array in (made.points, made.triangles, *zones.values()):
            array.setflags(write=False)
        return made


@lru_cache(maxsize=4)
def _built(
    side: str, measures: tuple[tuple[str, float], ...], form: Form, trim: Trim, size: float
) -> MouldedShell:
    """The shell on a limb of these measures, which are all that a limb is made of."""
    return MouldedShell._of(Limb(side, MappingProxyType(dict(measures))), form, trim, size)


def forget_meshes() -> None:
    """Let go of the meshes that are kept, as to time how long one takes."""
    _built.cache_clear()


@dataclass(frozen=True, eq=False)
class _Half:
    """One half: where its pattern is fine, its outline, its zones."""

    lines: TrimLines
    edge: float

    @property
    def side(self) -> MouldedSide:
        """The moulded surface of this half."""
        return self.lines.side

    def size(self) -> Field:
        """Element size over the pattern: finer at ribs, sole edge, the step in wall thickness above
        the foot walls and rims, finest at corners."""
        lines = self.lines
        trees = [
            (cKDTree(np.concatenate(spots)), share)
            for spots, share in (
                ([lines.radii], _AT_CORNERS),
                ([lines.rear, lines.fore], _AT_RIMS),
                ([self._sole_edge(), self._foot_end(), *self._rib_lines()], _AT_FOLDS),
            )
        ]
        growth = _GROWTH / max(self.edge, _ALIKE)

        def size(pattern: Points) -> Points:
            shares = [share + growth * tree.query(pattern)[0] for tree, share in trees]
            return self.edge * np.minimum(1.0, np.min(shares, axis=0))

        return size

    def seams(self) -> tuple[Points, Points]:
        """Places along the midline and along the front midline, divided into element edges."""
        return tuple(
            np.interp(divide(line, self.size(), self.side.points, self._crossings(line)),
                      np.arange(len(line)), places)
            for line, places in (
                (self.lines.midline, self.lines.midline_places),
                (self.lines.front_midline, self.lines.front_places),
            )
        )  # type: ignore[return-value]

    def filled(self, seams: tuple[Points, Points]) -> tuple[Points, Cells, Cells]:
        """Pattern (n, 2), triangles (c, 3), and the nodes of both seams in their order."""
        size, side = self.size(), self.side
        back, front = side.midline(seams[0]), side.front(seams[1])
        rear, fore = (
            _along(line, divide(line, size, side.points, self._crossings(line)))[1:-1]
            for line in (self.lines.rear, self.lines.fore)
        )
        loop = np.concatenate([back, rear, front, fore])
        first = len(back) + len(rear)
        nodes = np.concatenate([np.arange(len(back)), first + np.arange(len(front))])
        dense = np.concatenate(
            [self.lines.midline, self.lines.rear, self.lines.front_midline, self.lines.fore]
        )
        self._require_ribs_inside(dense)
        # that order is clockwise; the mesher wants the other one
        pattern, cells = fill(loop[::-1], size, side.points, lines=self._borders(dense, size))
        order = np.arange(len(pattern))
        order[: len(loop)] = order[: len(loop)][::-1]
        return pattern[order], order[cells], nodes

    def zones(self, pattern: Points) -> NDArray[np.str_]:
        """Zone of each cell by its middle (c, 2) on the pattern."""
        form, trim = self.side.form, self.lines.trim
        x, z = pattern.T
        low, ankle_top, front = self._levels()
        plate = self._plate(pattern, (z < low) & (x < form.fan_x) | (x >= form.fan_x))
        behind = x < form.trim_x - trim.upright_width
        part = self.side.part
        name = np.where(x < 0.0, "heel", "foot walls").astype("<U20")
        name[(z >= low) & (x < form.fan_x)] = f"ankle {part}"
        name[z >= ankle_top] = f"upright {part}"
        name[(z >= ankle_top) & behind] = "posterior shell"
        name[z >= front] = "front piece"
        name[plate] = "foot plate"
        return name

    def _plate(self, pattern: Points, foot: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which cells (c,) of the foot lie on the flat sole, or under the rounding of the heel."""
        form, side = self.side.form, self.side
        plate = np.zeros(len(pattern), dtype=bool)
        plate[foot] = side.on_plate(pattern[foot])
        heel = np.flatnonzero(foot & (pattern[:, 0] < 0.0))
        low = side.points(pattern[heel])[:, 2] < _HEEL_UNDERSIDE * form.heel_radius - form.gap
        plate[heel] |= low & side.on_underside(pattern[heel])
        return plate

    def _levels(self) -> tuple[float, float, float]:
        trim, ankle = self.lines.trim, self.side.limb.ankle_height
        front = trim.front_lower - trim.front_radius
        return _ANKLE_FROM * ankle, min(_ANKLE_TO * ankle, front), front

    def _crossings(self, line: Points) -> Points:
        """Broken indices where a line (m, 2) crosses a level at which zones end."""
        low, ankle_top, front = self._levels()
        found = []
        for level in (low, ankle_top, front):
            above = line[:, 1] - level
            k = np.flatnonzero(above[:-1] * above[1:] < 0.0)
            if level == low:
                k = k[line[k, 0] < self.side.form.fan_x]
            found.append(k + above[k] / (above[k] - above[k + 1]))
        return np.concatenate(found)

    def _borders(self, outline: Points, size: Field) -> Points:
        """Points along the borders of zones within the outline, which the mesh then follows."""
        form, trim = self.side.form, self.lines.trim
        low, ankle_top, front = self._levels()
        x = np.arange(self.lines.midline[:, 0].min(), self.lines.midline[:, 0].max() + 100.0)
        upright, heel = np.arange(ankle_top, front), np.arange(low - 120.0, low)
        lines = [np.stack([x, np.full(len(x), level)], axis=1) for level in (ankle_top, front)]
        behind = np.full(len(upright), form.trim_x - trim.upright_width)
        lines += [np.stack([behind, upright], axis=1), self._foot_end(), self._sole_edge()]
        heel_line = np.stack([np.zeros(len(heel)), heel], axis=1)
        lines.append(heel_line[~self.side.on_plate(heel_line)])
        pieces = []
        for line in lines:
            within = inside(line, outline)
            runs = np.split(line, np.flatnonzero(np.diff(within)) + 1)
            for run in runs[0 if len(within) and within[0] else 1 :: 2]:
                if len(run) > 1:
                    pieces.append(_along(run, divide(run, size, self.side.points)))
        return np.concatenate(pieces)

    def _foot_end(self) -> Points:
        """Where heel and foot walls end below the ankle, mostly with a step in wall thickness."""
        x = np.arange(self.lines.midline[:, 0].min(), self.side.form.fan_x)
        return np.stack([x, np.full(len(x), self._levels()[0])], axis=1)

    def _sole_edge(self) -> Points:
        """Where the flat of the plate bends up into the foot wall."""
        form, side = self.side.form, self.side
        places = np.asarray(side.place_of_x(np.arange(form.fan_x, form.wall_end)))
        return side.from_trim(places, side.edge_of_flat(places))

    def _rib_lines(self) -> list[Points]:
        tip = self.side.limb.landmarks[f"{self.side.part}_malleolus"]
        lines = []
        for rib in self.side.form.ribs:
            z = tip[2] + rib.above + np.linspace(-0.5, 0.5, 60) * rib.length
            offsets = np.linspace(-0.5, 0.5, 9) * rib.width
            x = tip[0] - rib.behind + offsets
            lines.append(np.stack(np.meshgrid(x, z), axis=-1).reshape(-1, 2))
        return lines

    def _require_ribs_inside(self, outline: Points) -> None:
        for number, line in enumerate(self._rib_lines()):
            if not inside(line, outline).all():
                raise DeviceError(
                    f"ribs.{number} runs over the edge of the shell on the {self.side.part} side; "
                    "shorten or narrow it, move it, or begin the opening higher"
                )


def _along(line: Points, at: Points) -> Points:
    return np.stack([np.interp(at, np.arange(len(line)), line[:, axis]) for axis in (0, 1)], 1)
