# SPDX-License-Identifier: MIT
"""Where a point of a device lies, in words that a wearer and a bench person share.

The borders between the regions are assumed: they name a place for people and enter no number.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from fea.check.check import Point
from fea.device.device import Device
from fea.limb import Limb

_FOOT = ((0.28, "heel"), (0.58, "arch"), (0.80, "ball of the foot"), (math.inf, "toes"))
"""End of each region along the foot, in foot lengths ahead of the heel. Status: assumed."""

_SHANK = (
    (0.14, "ankle"), (0.40, "lower shank"), (0.75, "calf"), (0.95, "shank below the knee"),
    (math.inf, "knee"),
)  # fmt: skip
"""End of each region up the limb, in shank lengths above the ankle axis. Status: assumed."""

_AROUND = (
    (30.0, "front"), (60.0, "front {} side"), (120.0, "{} side"), (150.0, "back {} side"),
    (180.0, "back"),
)  # fmt: skip
"""End of each flank, in degrees from straight ahead. Status: assumed."""


@dataclass(frozen=True)
class Whereabouts:
    """The measures that place names rest on.

    Attributes:
        side: of the device, "left" or "right".
        ankle_height: mm, of the ankle axis above the floor.
        heel: mm, x of the heel's edge.
        foot_length, shank_length: mm.
        joints: name of a fastening, strap end or hole to words for it.

    Example:
        >>> where = Whereabouts("left", ankle_height=81.0, heel=-55.0, foot_length=219.0,
        ...                     shank_length=335.0)
        >>> where.region((-20.0, -30.0, 85.0))
        'back inner side of the ankle'
        >>> where.distances((-20.0, -30.0, 85.0))
        '20 mm behind the ankle axis, 30 mm to the inner side, 85 mm above the floor'
        >>> where.region((104.0, 55.0, 24.0))
        'outer edge under the ball of the foot'
    """

    side: str
    ankle_height: float
    heel: float
    foot_length: float
    shank_length: float
    joints: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, device: Device, limb: Limb) -> "Whereabouts":
        """On a fitted device and its wearer's limb."""
        ankle = float(device.landmarks["ankle_axis"][2])
        heel = float(limb.landmarks["heel"][0])
        joints = _joint_words(device)
        return cls(device.side, ankle, heel, limb.foot_length, limb.shank_length, joints)

    def flank(self, y: float) -> str:
        """Side of the limb, "outer" or "inner", of a y in mm."""
        return "outer" if (y >= 0.0) == (self.side == "left") else "inner"

    def region(self, place: Point) -> str:
        """Flank and part of the limb, such as "inner side of the ankle"."""
        x, y, z = place
        flank = self.flank(y)
        along = (x - self.heel) / self.foot_length
        foot = next(name for end, name in _FOOT if along < end)
        if z < 0.5 * self.ankle_height:
            inside = abs(y) < 0.08 * self.foot_length
            return f"{'middle' if inside else flank + ' edge'} under the {foot}"
        if along >= _FOOT[1][0] and z < 1.5 * self.ankle_height:
            return f"{flank} side of the {foot}"
        share = (z - self.ankle_height) / self.shank_length
        part = next(name for end, name in _SHANK if share < end)
        turn = math.degrees(math.atan2(abs(y), x))
        around = next(name for end, name in _AROUND if turn <= end)
        return f"{around.format(flank)} of the {part}"

    def words(self, place: Point) -> str:
        """The region, with the distances that find the place again and tell it from others."""
        return f"{self.region(place)}, {self.distances(place)}"

    def distances(self, place: Point) -> str:
        """From the ankle axis, sideways, and above the floor."""
        x, y, z = place
        fore = "ahead of" if x >= 0.0 else "behind"
        return (
            f"{abs(x):.0f} mm {fore} the ankle axis, {abs(y):.0f} mm to the {self.flank(y)} side, "
            f"{z:.0f} mm above the floor"
        )


def _joint_words(device: Device) -> dict[str, str]:
    """Joints and holes, which checks call by name, in words."""
    ends = [place for strap in device.straps for place in strap.places]
    return {
        **{each.name: f"the joint “{each.name}”" for each in device.fastenings},
        **{end: f"the strap end “{end}”" for end in ends},
        **{hole.name: f"the hole “{hole.name}”" for hole in device.holes},
    }
