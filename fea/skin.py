# SPDX-License-Identifier: MIT
"""Skin pressure on all models of the limb, and over the band in which the stiffness of flesh lies.

A peak follows how stiff skin, flesh and liner are, and that is not known of any wearer. So the
instant that presses each part hardest is solved again with softer and with stiffer flesh: a few
cases, and a preparation for each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fea.check.check import Finding, NotChecked
from fea.check.pressure import TOPIC, bone_flag, check_pad, check_pressure, hardest_pads
from fea.check.purpose import is_of_a_day
from fea.check.touch import PadReading, read_pads
from fea.judging import Loads
from fea.loadcase.instant import Purpose
from fea.solver.solution import Solution
from fea.worn import Worn

TISSUE_BAND = {"flesh half as stiff": 0.5, "flesh twice as stiff": 2.0}
"""Share of the usual stiffness of flesh and liner; assumed. Four-fold in all, about what Poisson's
ratio of a confined layer makes of it alone: 4.5-fold from 0.45 to 0.49 (`fea.structure.tissue`)."""


@dataclass(frozen=True)
class Band:
    """The hardest pad of one part in the instant that governs it.

    Attributes:
        usual, soft, stiff: with usual, softer and stiffer flesh and liner.
    """

    usual: PadReading
    soft: PadReading
    stiff: PadReading

    @property
    def every(self) -> tuple[PadReading, ...]:
        """From soft to stiff."""
        return self.soft, self.usual, self.stiff

    @property
    def hardest(self) -> PadReading:
        """The one of highest mean."""
        return max(self.every, key=lambda pad: pad.mean)


@dataclass(frozen=True)
class Skin:
    """How hard the device presses on the shank.

    Attributes:
        findings: checks of every part and case, and what is not judged.
        bands: the hardest pad of every part, in order of the parts.
        held: whether the loads are postures that stay, which asks for lower levels.
    """

    findings: tuple[Finding, ...] = ()
    bands: tuple[Band, ...] = ()
    held: bool = False


def judge_skin(
    worn: Sequence[Worn],
    loads: Loads,
    solutions: Mapping[str, Solution],
    *,
    purpose: Purpose = "verdict",
    held: bool = False,
    solver: str = "auto",
) -> Skin:
    """Judge the pressure on the skin.

    Args:
        worn: the device on each model of the limb.
        loads: what was solved; toe bends say nothing of the shank and are left out.
        solutions: case name to solution, of all models.
        purpose: of the load set; loads borrowed from a test act on no skin and are not judged.
        held: whether the loads are postures that stay.
        solver: "auto", "superlu" or "pardiso".
    """
    if not is_of_a_day(purpose):
        because = "loads borrowed from a test of strength act on a dummy, not on a wearer's skin"
        return Skin((NotChecked(topic=TOPIC, zone="device", because=because),))
    device = worn[0].device
    findings: list[Finding] = []
    pads: list[PadReading] = []
    for each in worn:
        own = {case: one for case, one in solutions.items() if one.system is each.system}
        findings += check_pressure(device, own, held=held)
        pads += read_pads(device, own)
    if not pads:
        because = "no case of this load set presses the device on the shank"
        return Skin((NotChecked(topic=TOPIC, zone="device", because=because),))
    usual = hardest_pads(pads)
    soft, stiff = (
        _again(worn, loads, usual, name, share, solver) for name, share in TISSUE_BAND.items()
    )
    bands = tuple(Band(pad, soft[part], stiff[part]) for part, pad in usual.items())
    findings += [check_pad(pad, held=held) for band in bands for pad in (band.soft, band.stiff)]
    findings += [flag for band in bands if (flag := bone_flag(band.hardest))]
    return Skin(tuple(findings), bands, held)


def _again(
    worn: Sequence[Worn],
    loads: Loads,
    usual: Mapping[str, PadReading],
    words: str,
    share: float,
    solver: str,
) -> dict[str, PadReading]:
    """The hardest pad of every part with other flesh, in the instant or push that governs it."""
    found: dict[str, PadReading] = {}
    for each in worn:
        names = each.instants(loads.reactions, loads.pushes)
        parts = {part: names[pad.case] for part, pad in usual.items() if pad.case in names}
        if not parts:
            continue
        other = Worn.on(each.device, each.model.with_flesh(share, words), solver)
        reactions = [one for one in loads.reactions if one.name in parts.values()]
        pushes = [one for one in loads.pushes if one.name in parts.values()]
        pads = read_pads(each.device, other.solve(reactions, pushes))
        again = other.instants(reactions, pushes)
        for part, instant in parts.items():
            found[part] = hardest_pads(pad for pad in pads if again[pad.case] == instant)[part]
    return found
