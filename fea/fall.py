# SPDX-License-Identifier: MIT
"""The first fall: a rare, short load of which the device may be bent, but must not break.

Contact and straps start without gap or pull, so that a structure under a multiple of its loads
moves by that multiple. A case of the fall that is a multiple of one already solved is therefore not
solved again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fea.check.buckling import BucklingJudgement, check_buckles, judge_buckling
from fea.check.check import Check, Finding, Horizon, NotChecked
from fea.check.factors import Factors
from fea.check.judgement import judge, together
from fea.check.purpose import factors_for
from fea.check.readings import dorsiflexion
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.judging import Loads
from fea.loadcase.reaction import GroundReaction
from fea.misfit import beyond_plate, narrow
from fea.solver.solution import Solution
from fea.worn import Worn, pushes

_FALL: Horizon = "first fall"

Twins = Mapping[str, tuple[GroundReaction, float]]
"""Name of a case of the fall to the solved reaction that it is a multiple of, and the multiple."""


def judge_fall(
    worn: Sequence[Worn],
    fall: Loads,
    *,
    loads: Loads,
    solved: Mapping[str, Solution],
    buckling: BucklingJudgement,
    factors: Factors,
) -> tuple[Finding, ...]:
    """Does the device break, or buckle, in the first fall?

    Args:
        worn: the device on each model of the limb, a rigid foot first.
        fall: the reactions of the rare load.
        loads: what was solved before;  solved: its solutions, of all models.
        buckling: its buckling, on a rigid foot.
        factors: partial factors, as for a verdict on the loads of a day.

    Returns:
        Checks of the horizon "first fall", and what could not be judged in it.

    Raises:
        SolveError: the equations have no answer that can be trusted.

    Source: en-1990, accidental situations: the load is the rare one, and the factors for its
    consequence and for creep are 1.
    """
    if not fall.reactions:
        return tuple(_unsolved(fall))
    device, factors = worn[0].device, factors_for(factors, "fall")
    twins = _twins(fall.reactions, loads.reactions)
    groups = [_solutions(each, fall.reactions, twins, solved) for each in worn]
    strength = together([judge(device, group, factors) for group in groups])
    findings = [*strength.findings, *_buckling(worn[0], groups[0], twins, buckling, factors)]
    findings += [*_turned(groups), *_unsolved(fall), *_moved(worn, fall)]
    return tuple(_of_the_fall(each) for each in findings)


def _unsolved(fall: Loads) -> list[NotChecked]:
    """A fall is judged under reactions of the ground alone."""
    others = [*(each.name for each in fall.pushes), *(each.name for each in fall.bends)]
    because = "pushes and toe bends of the load set of a fall are not judged: "
    return [
        NotChecked(topic="first fall", zone="device", because=because + name, horizon=_FALL)
        for name in others
    ]


def _moved(worn: Sequence[Worn], fall: Loads) -> list[NotChecked]:
    """What a short or narrow plate keeps of the pushes of a fall."""
    short = beyond_plate(fall)
    return [replace(gap, horizon=_FALL) for gap in (*short, *narrow(worn, fall))]


def _twins(
    fall: Sequence[GroundReaction], solved: Sequence[GroundReaction]
) -> dict[str, tuple[GroundReaction, float]]:
    found = {}
    for reaction in fall:
        for other in solved:
            times = float(np.linalg.norm(reaction.force) / np.linalg.norm(other.force))
            if _is_multiple(reaction, other, times):
                found[reaction.name] = other, times
    return found


def _is_multiple(reaction: GroundReaction, other: GroundReaction, times: float) -> bool:
    """Whether one reaction is ``times`` the other, at the same place on the same patch."""
    pairs = (
        (reaction.force, times * other.force),
        (reaction.free_moment, times * other.free_moment),
        (reaction.cop, other.cop),
        (reaction.patch_half_length, other.patch_half_length),
    )
    return all(np.allclose(one, two, rtol=1e-9, atol=1e-6) for one, two in pairs)


def _solutions(
    worn: Worn,
    reactions: Sequence[GroundReaction],
    twins: Twins,
    solved: Mapping[str, Solution],
) -> dict[str, Solution]:
    """All cases on one model of the limb: multiples of solved ones where there are any."""
    found = worn.solve([each for each in reactions if each.name not in twins])
    for reaction in reactions:
        if reaction.name in twins:
            twin, times = twins[reaction.name]
            own, known = (pushes(worn.model, each, worn.carries) for each in (reaction, twin))
            for case, solved_case in zip(own, known, strict=True):
                found[case] = solved[solved_case].times(times, case)
    return found


def _buckling(
    worn: Worn,
    solutions: Mapping[str, Solution],
    twins: Twins,
    buckling: BucklingJudgement,
    factors: Factors,
) -> list[Finding]:
    """Buckling in every case: a multiple of the loads divides the factor by the multiple."""
    new = {case: one for case, one in solutions.items() if case not in twins}
    findings = list(judge_buckling(worn.device, new, factors).findings) if new else []
    known = {buckle.case: buckle for buckle in buckling.buckles}
    scaled = [
        replace(buckle, case=case, factor=buckle.factor and buckle.factor / times)
        for case, (twin, times) in twins.items()
        for buckle in [known[twin.name]]
    ]
    return [*findings, *check_buckles(worn.device, scaled, factors)]


def _of_the_fall(finding: Finding) -> Finding:
    """A check made for the fall; what stays open stays so for every question, or as it says."""
    return replace(finding, horizon=_FALL) if isinstance(finding, Check) else finding


def _turned(groups: Sequence[Mapping[str, Solution]]) -> list[NotChecked]:
    """Cases that turn the ankle further than a linear analysis can follow."""
    turned = {
        case: abs(np.degrees(dorsiflexion(solution)))
        for group in groups
        for case, solution in group.items()
    }
    worst = max(turned, key=lambda case: turned[case])
    if turned[worst] <= ROTATION_LIMIT_DEG:
        return []
    because = (
        f"'{worst}' turns the ankle by {turned[worst]:.1f}° in the cool device; a warm one, which "
        "turns it further, was not solved for the fall. That is more than the "
        f"{ROTATION_LIMIT_DEG:g}° that a linear analysis can judge (no clinical limit), so that "
        "what is said of the first fall is an estimate; make the device stiffer, or test it"
    )
    return [NotChecked(topic="rotation in a fall", zone="device", because=because,
                       horizon=_FALL)]  # fmt: skip
