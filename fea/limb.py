# SPDX-License-Identifier: MIT
"""The limb: landmarks, joint axes and a smooth surface scaled from the wearer's measures.

The limb stands barefoot and upright: the sole on z = 0, the ankle axis above the origin, the shank
along z. A device frame may lie higher (sole and plate) and hold the ankle at an angle; `Limb.pose`
takes points there.

The shape between the measures is a proportioned guess, good for placing walls and bars, no
substitute for a cast: the ratios below are assumed unless a source key stands beside them.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator

from fea.wearer import Wearer

Numbers = float | NDArray[np.float64]

HEEL_BEHIND_ANKLE = 0.25
"""Heel edge behind the ankle axis, in foot lengths. Source: practice (status memory-M)."""

KNEE_OVER_PLATEAU = 1.035
"""Height of mid-patella over height of the tibial plateau; the knee centre is put there.
Source: ansur-ii-2012 (derived from the means of both sexes)."""

MEDIAL_MALLEOLUS_AHEAD, MEDIAL_MALLEOLUS_ABOVE = 0.02, 0.04
"""Medial malleolus ahead of and above the lateral one, in foot lengths. Source: assumed."""

MALLEOLUS_RADIUS = 0.065
"""Radius in which a malleolus stands out, in foot lengths. Source: assumed."""

HEEL_FULLEST = 0.13
"""Height of the fullest place of the heel, in foot lengths. Source: assumed."""

TUBEROSITY_HEIGHT = 0.92
"""Height of the tibial tuberosity over that of the tibial plateau; above it the knee's tendon takes
the push, below it the bare crest. Source: assumed."""

FIBULAR_HEAD_HEIGHT, FIBULAR_HEAD_TURN = 0.95, 1.8
"""Height of the fibular head over that of the tibial plateau, and where it lies: rad from the front
towards the outer side. The peroneal nerve passes below it. Source: assumed."""

# Shank stations: height as share of ankle axis to tibial plateau; girth as share of ankle and calf
# circumference; depth over breadth; front of the shank ahead of the axis, as share of the depth.
_SHANK = (
    # share, of ankle, of calf, depth/breadth, front
    (-0.05, 1.08, 0.00, 1.22, 0.50),
    (0.12, 1.00, 0.00, 1.20, 0.48),
    (0.40, 0.40, 0.48, 1.12, 0.45),
    (0.70, 0.00, 1.00, 1.05, 0.42),
    (0.90, 0.00, 0.95, 1.05, 0.46),
    (1.10, 0.00, 0.97, 1.08, 0.50),
)

CREST = 0.16
"""How much the tibial crest narrows the front of a section. Source: assumed."""

_FRONT_SHARE = 0.54  # of the depth ahead of the widest place of a section

# Sole outline: share of foot length from the heel; half breadths as share of foot breadth.
_SOLE_STATIONS = (0.18, 0.45, 0.63, 0.74, 0.90, 1.02)
_SOLE_MEDIAL = (0.40, 0.47, 0.50, 0.44, 0.36)
_SOLE_LATERAL = (0.44, 0.50, 0.48, 0.40, 0.30)
# Height of the back of the foot at a share of the foot length, as share of the foot length.
_DORSUM_LINE = PchipInterpolator((0.30, 0.45, 0.60, 0.74, 1.02), (0.36, 0.30, 0.225, 0.165, 0.10))


@dataclass(frozen=True)
class ShankSection:
    """Horizontal section of the shank: two half ellipses, the front one narrowed to the crest.

    Attributes:
        x: mm, the widest place;  front, back: semi-axes along x, mm;  half_breadth: along y, mm.
        Each may be an array, one value a section.
    """

    x: Numbers
    front: Numbers
    back: Numbers
    half_breadth: Numbers

    @classmethod
    def of_breadth(cls, breadth: float, ratio: float, front: float) -> "ShankSection":
        """Section of a breadth (mm), depth over breadth, and share of depth ahead of x = 0."""
        depth = ratio * breadth
        return cls(
            (front - _FRONT_SHARE) * depth,
            _FRONT_SHARE * depth,
            (1.0 - _FRONT_SHARE) * depth,
            0.5 * breadth,
        )

    def curve(self, turn: Numbers) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """x and y at eccentric angles `turn` (rad from the front, the wearer's left positive)."""
        ahead = np.maximum(np.cos(turn), 0.0)
        x = self.x + np.where(ahead > 0.0, self.front, self.back) * np.cos(turn)
        return x, self.half_breadth * np.sin(turn) * (1.0 - CREST * ahead**2)

    @property
    def girth(self) -> float:
        """Circumference of a single section, mm."""
        x, y = self.curve(np.linspace(-math.pi, math.pi, 721))
        return float(np.hypot(np.diff(x), np.diff(y)).sum())


@dataclass(frozen=True, eq=False)
class Limb:
    """Foot and shank of one wearer, barefoot and upright; mm.

    Attributes:
        side: "left" or "right".
        measures: the lengths it is scaled from, by the wearer's field names, mm.

    Example:
        >>> limb = Limb.of(Wearer(mass_kg=35, height_mm=1410, side="left"))
        >>> limb.landmarks["heel"].round(1).tolist()
        [-54.8, 0.0, 0.0]
        >>> limb.landmarks["medial_malleolus"].round(1).tolist()
        [4.4, -30.0, 66.2]
    """

    side: str
    measures: Mapping[str, float]

    @classmethod
    def of(cls, wearer: Wearer) -> "Limb":
        """The limb of a wearer: measured lengths where given, estimates elsewhere."""
        lengths = {name: m.value for name, m in wearer.measures.items() if m.unit == "mm"}
        return cls(wearer.side, MappingProxyType(lengths))

    @property
    def foot_length(self) -> float:
        """Heel to toe, mm."""
        return self.measures["foot_length_mm"]

    @property
    def ankle_height(self) -> float:
        """Sole to ankle axis, mm; taken at the height of the lateral malleolus."""
        return self.measures["malleolus_height_mm"]

    @property
    def plateau_height(self) -> float:
        """Sole to tibial plateau, mm."""
        return self.measures["tibial_height_mm"]

    @property
    def shank_length(self) -> float:
        """Ankle axis to knee centre, mm."""
        return KNEE_OVER_PLATEAU * self.plateau_height - self.ankle_height

    def sign(self, part: str) -> float:
        """Sign of y on the "medial" or "lateral" side of the limb; y points to the left."""
        return 1.0 if (part == "lateral") == (self.side == "left") else -1.0

    def shank_height(self, share: Numbers) -> Numbers:
        """Height above the sole at a share of the way from ankle axis to tibial plateau, mm."""
        return self.ankle_height + share * (self.plateau_height - self.ankle_height)

    @cached_property
    def landmarks(self) -> Mapping[str, NDArray[np.float64]]:
        """Name to (3,) point, mm.

        "heel", "ball" and "toe" lie on the sole line, "ankle_axis" and "knee_centre" in the middle
        plane; "tibial_crest" is on the skin at three quarters of the shank, "tibial_tuberosity",
        "tibial_plateau" and "patella" (middle) on the skin in front, "fibular_head" on the skin of
        the outer side, the malleoli at their most prominent point.
        """
        foot = self.foot_length
        heel = -HEEL_BEHIND_ANKLE * foot
        knee = KNEE_OVER_PLATEAU * self.plateau_height
        points = {
            "heel": (heel, 0.0, 0.0),
            "ball": (heel + self.measures["ball_length_mm"], 0.0, 0.0),
            "toe": (heel + foot, 0.0, 0.0),
            "ankle_axis": (0.0, 0.0, self.ankle_height),
            "medial_malleolus": self._malleoli["medial"],
            "lateral_malleolus": self._malleoli["lateral"],
            "tibial_crest": self.shank_point(0.0, self.shank_height(0.75)),
            "tibial_tuberosity": self.shank_point(0.0, TUBEROSITY_HEIGHT * self.plateau_height),
            "fibular_head": self.shank_point(
                self.sign("lateral") * FIBULAR_HEAD_TURN, FIBULAR_HEAD_HEIGHT * self.plateau_height
            ),
            "tibial_plateau": self.shank_point(0.0, self.plateau_height),
            "patella": self.shank_point(0.0, knee),
            "knee_centre": (0.0, 0.0, knee),
        }
        return MappingProxyType({name: np.array(point, float) for name, point in points.items()})

    def shank_section(self, height: Numbers) -> "ShankSection":
        """Horizontal section of the shank at heights above the sole (any shape), mm."""
        share = (np.asarray(height, float) - self.ankle_height) / (
            self.plateau_height - self.ankle_height
        )
        return ShankSection(*np.moveaxis(self._shank_spline(share), -1, 0))

    def shank_point(
        self, turn: Numbers, height: Numbers, clearance: Numbers = 0.0
    ) -> NDArray[np.float64]:
        """Points on the shank, or off it by a clearance along the horizontal outward normal.

        Args:
            turn: rad about z from the front: 0 on the tibial crest, π/2 at the widest place of the
                wearer's left, -π/2 of the right, ±π behind; the eccentric angle of the section.
            height: mm above the sole.
            clearance: mm.

        Returns:
            (..., 3) points, mm; the malleoli stand out.
        """
        turn, height = np.broadcast_arrays(np.asarray(turn, float), np.asarray(height, float))
        x, y = self.shank_section(height).curve(turn)
        step = 1e-5
        ahead = self.shank_section(height).curve(turn + step)
        tangent = np.stack([ahead[0] - x, ahead[1] - y], axis=-1) / step
        normal = np.stack([tangent[..., 1], -tangent[..., 0]], axis=-1)
        normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
        y = y + np.sign(y) * self.malleolus_bulge(x, height, np.sign(y))
        points = np.stack([x, y, height], axis=-1)
        points[..., :2] += np.asarray(clearance, float)[..., None] * normal
        return points

    def malleolus_bulge(self, x: Numbers, height: Numbers, sign: Numbers) -> NDArray[np.float64]:
        """How far the malleoli stand out sideways at (x, height), mm; `sign` is that of y."""
        bulge = np.zeros(np.broadcast_shapes(np.shape(x), np.shape(height), np.shape(sign)))
        for part in ("medial", "lateral"):
            tip = self._malleoli[part]
            section = self.shank_section(tip[2])
            rest = math.sqrt(max(0.0, 1.0 - (tip[0] - section.x) ** 2 / section.front**2))
            excess = max(0.0, abs(tip[1]) - float(section.half_breadth) * rest)
            here = np.asarray(sign) == np.sign(tip[1])
            if not here.any():
                continue
            distance = np.hypot(np.asarray(x) - tip[0], np.asarray(height) - tip[2])
            radius = MALLEOLUS_RADIUS * self.foot_length
            bulge = bulge + here * excess * np.exp(-((distance / radius) ** 2))
        return bulge

    def sole_half_breadth(self, x: Numbers, part: str) -> NDArray[np.float64]:
        """Half breadth of the sole on the "medial" or "lateral" side at x, mm.

        The rounding of heel and toes is left out: the ends stay as broad as the foot there.
        """
        line = self._sole_lines[part]
        return line(self._foot_share(x, line.x))

    def dorsum_height(self, x: Numbers) -> NDArray[np.float64]:
        """Height of the back of the foot above the sole at x, mm."""
        return self.foot_length * _DORSUM_LINE(self._foot_share(x, _DORSUM_LINE.x))

    def posterior(self, height: Numbers) -> NDArray[np.float64]:
        """x of the back of heel and shank in the middle plane at a height above the sole, mm.

        Below the fullest place of the heel it stays at the heel edge.
        """
        line = self._posterior_line
        return line(np.clip(height, line.x[0], line.x[-1]))

    def pose(
        self, points: Numbers, lift: float = 0.0, ankle_set_deg: float = 0.0
    ) -> NDArray[np.float64]:
        """Points (..., 3) of the upright barefoot limb moved to where a device holds them, mm.

        Args:
            points: (..., 3) mm.
            lift: mm by which sole and plate raise the foot.
            ankle_set_deg: angle of the ankle, dorsiflexion positive. The shank turns about the
                ankle axis as a rigid body; the turn fades out between the ankle axis and the
                sole, so that walls that pass the ankle stay smooth.
        """
        points = np.asarray(points, float)
        height = points[..., 2]
        share = np.clip(height / (1.5 * self.ankle_height), 0.0, 1.0)
        angle = math.radians(ankle_set_deg) * share**3 * (10.0 - 15.0 * share + 6.0 * share**2)
        x, z = points[..., 0], height - self.ankle_height
        turned = np.stack(
            [
                x * np.cos(angle) + z * np.sin(angle),
                points[..., 1],
                z * np.cos(angle) - x * np.sin(angle),
            ],
            axis=-1,
        )
        return turned + np.array([0.0, 0.0, self.ankle_height + lift])

    def _foot_share(self, x: Numbers, stations: Sequence[float]) -> NDArray[np.float64]:
        share = np.asarray(x, float) / self.foot_length + HEEL_BEHIND_ANKLE
        return np.clip(share, stations[0], stations[-1])

    @cached_property
    def _malleoli(self) -> Mapping[str, NDArray[np.float64]]:
        foot, half = self.foot_length, 0.5 * self.measures["ankle_breadth_mm"]
        return {
            "medial": np.array(
                [
                    MEDIAL_MALLEOLUS_AHEAD * foot,
                    self.sign("medial") * half,
                    self.ankle_height + MEDIAL_MALLEOLUS_ABOVE * foot,
                ]
            ),
            "lateral": np.array([0.0, self.sign("lateral") * half, self.ankle_height]),
        }

    @cached_property
    def _sole_lines(self) -> Mapping[str, PchipInterpolator]:
        breadth, heel = self.measures["foot_breadth_mm"], self.measures["heel_breadth_mm"]
        shares = {"medial": _SOLE_MEDIAL, "lateral": _SOLE_LATERAL}
        return {
            part: PchipInterpolator(_SOLE_STATIONS, [0.5 * heel, *(breadth * np.array(share))])
            for part, share in shares.items()
        }

    @cached_property
    def _posterior_line(self) -> CubicSpline:
        fullest = HEEL_FULLEST * self.foot_length
        edge = -HEEL_BEHIND_ANKLE * self.foot_length
        above = self.shank_height(np.array([row[0] for row in _SHANK[1:]]))
        section = self.shank_section(above)
        return CubicSpline(
            np.append(fullest, above),
            np.append(edge, section.x - section.back),
            bc_type=((1, 0.0), (2, 0.0)),
        )

    @cached_property
    def _shank_spline(self) -> CubicSpline:
        ankle = self.measures["ankle_circumference_mm"]
        calf = self.measures["calf_circumference_mm"]
        rows = []
        for _, of_ankle, of_calf, ratio, front in _SHANK:
            girth = of_ankle * ankle + of_calf * calf
            breadth = girth / ShankSection.of_breadth(1.0, ratio, front).girth
            unit = ShankSection.of_breadth(breadth, ratio, front)
            rows.append((unit.x, unit.front, unit.back, unit.half_breadth))
        return CubicSpline([row[0] for row in _SHANK], np.array(rows), bc_type="natural")
