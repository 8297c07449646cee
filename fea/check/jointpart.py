# SPDX-License-Identifier: MIT
"""The checks of one hole and its shank, alike for the rivets of a bar and those of a strap."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.check.capacity import Capacity, capacity_of
from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import YIELD, Factors, is_doubtful
from fea.check.jointrules import bearing_stress, fastener_use, punching_stress, shear_out_stress
from fea.check.resistance import resistance
from fea.check.strength import missing
from fea.material.library import LibraryMaterial

Array = NDArray[np.float64]

BEARING, SHEAR_OUT, PULL_THROUGH, FASTENER = "bearing", "shear-out", "pull-through", "fastener"
"""Topics of joints, besides the net section."""

PIN_BEARING = 1.5
"""Pressure at which the hole of a pin in metal yields, over its yield strength. Source:
en-1993-1-8, table 3.10."""
PARABOLA = 1.5
"""Highest over mean shear through a laminated wall."""


@dataclass(frozen=True, eq=False)
class JointPart:
    """One thing that a shank goes through, in all cases.

    Attributes:
        name: of the joint, which checks call their zone.
        point: (3,) where.
        cases: names, n of them.
        factors: partial factors.
        what: in words, such as "wall 'front piece'".
        material: of it;  laminated: whether it is a stack of plies.
        thickness: mm.
        diameter: of the shank, mm;  hole: of the hole, no less.
        zone: wall or bar that it is; empty for a shank.
    """

    name: str
    point: Array
    cases: Sequence[str]
    factors: Factors
    what: str
    material: LibraryMaterial
    laminated: bool
    thickness: float
    diameter: float
    hole: float
    zone: str = ""

    def bearing(self, force: Array) -> list[Finding]:
        """The hole under the shank, pushed by forces (n,)."""
        stress = bearing_stress(force, self.diameter, self.thickness)
        capacity = capacity_of(self.material, "bearing_strength", self.factors)
        if capacity is None and not self.laminated:
            capacity = self.strength
            if capacity is not None and self.material.kind == "metal":
                capacity = times(capacity, PIN_BEARING, "in the hole of a pin", "en-1993-1-8")
        words = f"pressure of the shank on {self.what}"
        if self.material.kind != "metal" and not self.laminated:
            words += ", what the confined material bears beyond its plain strength not counted on"
        return self.against(BEARING, stress, capacity, words, ["bearing_strength"])

    def shear_out(self, force: Array, ahead: Array, nearest: float) -> list[Finding]:
        """The shank torn out to the edge or next hole, ``ahead`` (n,) mm from its middle.

        Args:
            force: (n,) on the shank;  ahead: to the edge or next hole along it.
            nearest: to the nearest of all, which the hole must not reach.
        """
        if nearest <= 0.5 * self.hole:
            because = (f"the hole in {self.what} reaches over its edge or into the next hole, "
                       f"{nearest:.1f} mm from its middle; move it")
            return [NotChecked(topic=SHEAR_OUT, zone=self.name, because=because)]
        stress = shear_out_stress(force, ahead, self.hole, self.thickness)
        words = (f"shear on two planes of {self.what} from the hole to the edge or next hole, "
                 f"{ahead.min():.0f} mm or more from its middle,")
        return self.against(SHEAR_OUT, stress, self.shear_strength, words, self.shear_name)

    def pull_through(self, pull: Array, head: float) -> list[Finding]:
        """Head or washer of a diameter pulled through by forces (n,)."""
        stress = punching_stress(pull, head, self.thickness)
        words = f"shear of {self.what} round the head or washer of {head:.3g} mm, whose bending of "
        words += "it is in the net section,"
        name = self.shear_name
        capacity = self.shear_strength
        if self.laminated:
            name = ["interlaminar_shear_strength"]
            capacity = capacity_of(self.material, name[0], self.factors)
            if capacity is not None:
                capacity = times(capacity, 1.0 / PARABOLA, "for the highest over mean shear", "")
        return self.against(
            PULL_THROUGH, stress, capacity, words, name, rules=["en-1993-1-8"])

    @property
    def shear_name(self) -> list[str]:
        """Library name of what limits shear."""
        return ["shear_strength_12"] if self.laminated else [self.factors.against]

    @property
    def strength(self) -> Capacity | None:
        """Stress at which it gives way; of one material."""
        return resistance(self.material, self.factors)

    @property
    def shear_strength(self) -> Capacity | None:
        """In the plane of the wall: of plies as measured, else the tensile one over √3."""
        if self.laminated:
            return capacity_of(self.material, self.shear_name[0], self.factors)
        capacity = self.strength
        return capacity and times(capacity, 3.0**-0.5, "in shear", "von-mises-1913")

    def against(
        self, topic: str, demand: Array, capacity: Capacity | None, words: str, names: list[str],
        *, unit: str = "MPa", rules: Sequence[str] = ("shigley-2011",),
    ) -> list[Finding]:
        """A check of each case, by rules of some sources; or what is missing."""
        if capacity is None:
            return [missing(topic, self.name, self.material, names)]
        required = self.factors.required(self.material.kind)
        x, y, z = self.point.tolist()
        check = Check(
            topic=topic, zone=self.name, case="", place=(x, y, z), demand=0.0,
            capacity=capacity.value, unit=unit, required=required.value,
            basis=f"{words} against {capacity.basis}; {required.words}",
            sources=tuple(dict.fromkeys([*rules, *capacity.sources, *required.sources])),
            note="; ".join(filter(None, [capacity.note, required.note])), part=self.zone,
        )
        return [
            replace(check, case=case, demand=float(value))
            for case, value in zip(self.cases, demand, strict=True)
        ]


def judge_shank(
    part: JointPart, material: LibraryMaterial | None, shear: Array, pull: Array
) -> list[Finding]:
    """A rivet or screw of a material under shear (n,) and pull (n,), N.

    Args:
        part: that it goes through, for name, place and cases.
        material: of the rivet or screw; None where it is not known.
    """
    if material is None:
        because = ("the material of the rivet or screw is not known; give it in the device file "
                   "(material = \"rivet-steel\", for one)")
        return [NotChecked(topic=FASTENER, zone=part.name, because=because)]
    strengths = _shank_strengths(material, part.factors)
    if absent := [name for name, one in strengths.items() if one is None]:
        return [missing(FASTENER, part.name, material, absent)]
    in_shear, in_pull = _weaker([one for one in strengths.values() if one is not None])
    use = fastener_use(shear, pull, diameter=part.diameter, shear_strength=in_shear.value,
                       pull_strength=in_pull.value)
    limit = Capacity(
        value=1.0,
        basis=f"1 at {in_shear.basis}, and in pull {in_pull.basis}",
        sources=tuple(dict.fromkeys([*in_shear.sources, *in_pull.sources])),
        note="; ".join(dict.fromkeys(filter(None, [in_shear.note, in_pull.note]))),
    )
    words = f"shear and pull of a shank of {part.diameter:g} mm of {material.name} together,"
    shank = replace(part, material=material, zone="")
    return shank.against(FASTENER, use, limit, words, [], unit="1", rules=["en-1993-1-8"])


def _shank_strengths(
    material: LibraryMaterial, factors: Factors
) -> dict[str, Capacity | None]:
    """Shear and pull at which a shank breaks, and where nothing may yield that at which it does.

    By name in the library; None where it is not known well enough.
    """
    names = ["shear_strength", "tensile_strength", *([YIELD] if factors.against == YIELD else [])]
    found = {name: capacity_of(material, name, factors) for name in names}
    part = material.property("pull_factor")
    if part is None or not part.may_limit:
        return found | {"pull_factor": None}
    whole = found["tensile_strength"]
    if whole is not None:
        doubt = f"pull factor: {part.status}" if is_doubtful(part.status) else ""
        pulled = times(whole, part.lower, "in pull", part.source)
        found["tensile_strength"] = pulled.citing([], [doubt])
    return found


def _weaker(strengths: Sequence[Capacity]) -> tuple[Capacity, Capacity]:
    """In shear and in pull, of those at which a shank breaks and, where it is given, yields."""
    in_shear, in_pull, *yields = strengths
    for limit in yields:
        sheared = times(limit, 3.0**-0.5, "in shear", "von-mises-1913")
        in_shear = min(in_shear, sheared, key=lambda one: one.value)
        in_pull = min(in_pull, limit, key=lambda one: one.value)
    return in_shear, in_pull


def times(capacity: Capacity, factor: float, words: str, source: str) -> Capacity:
    """A capacity with one more factor in value and words."""
    scaled = replace(
        capacity, value=factor * capacity.value,
        basis=f"{capacity.basis}, times {factor:.2f} {words}",
    )
    return scaled.citing([source])
