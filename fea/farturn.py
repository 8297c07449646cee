# SPDX-License-Identifier: MIT
"""Instants that turn the ankle far, solved again with large rotations.

The ground reaction is known in the frame of the foot, so the loads turn with the foot: force and
centre of pressure keep their place on the sole. The shank is held.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fea.check.check import Finding, NotChecked
from fea.check.readings import dorsiflexion
from fea.check.stiffness import ROTATION_REACH_DEG, large_rotation_gaps
from fea.device.facing import FOOT_BODY
from fea.errors import SolveError
from fea.loadcase.reaction import GroundReaction
from fea.solver.corotational import STABLE, Problem
from fea.solver.largesolution import LargeSolution
from fea.solver.solution import Solution
from fea.worn import Worn


@dataclass(frozen=True, eq=False)
class FarTurned:
    """What became of the instants that turn the ankle far on one model of the limb.

    Attributes:
        solutions: case to solution, of those that were solved again.
        beyond: cases that a linear solve turns further than an ankle turns; none is solved then.
        lost: why no equilibrium was found in a case; no further case was tried then.
    """

    solutions: Mapping[str, LargeSolution]
    beyond: tuple[str, ...] = ()
    lost: str = ""


def turn_far(
    worn: Worn,
    reactions: Sequence[GroundReaction],
    linear: Mapping[str, Solution],
    from_deg: float | None,
) -> FarTurned:
    """Solve instants anew that a linear solve turns further than an angle, the furthest first.

    Args:
        worn: device on a model of the limb.
        reactions: the instants.
        linear: case to linear solution, of these instants and of others.
        from_deg: the angle; None solves nothing anew.
    """
    if from_deg is None:
        return FarTurned({})
    loads = worn.instant_loads(reactions)
    turned = {case: abs(math.degrees(dorsiflexion(linear[case]))) for case in loads}
    far = sorted((case for case in loads if turned[case] > from_deg), key=lambda c: -turned[c])
    beyond = tuple(case for case in far if turned[case] > ROTATION_REACH_DEG)
    if beyond or not far:
        return FarTurned({}, beyond)
    problem, found = Problem(worn.system, loads_turn_with=FOOT_BODY), {}
    for case in far:
        try:
            found[case] = next(problem.path(case, loads[case], [1.0]))
        except SolveError as error:
            return FarTurned(found, lost=str(error))
    return FarTurned(found)


def far_gaps(turned: Sequence[FarTurned]) -> list[Finding]:
    """What stays open where instants were solved with large rotations, or could not be."""
    solved = {case: each for far in turned for case, each in far.solutions.items()}
    gaps: list[Finding] = []
    if solved:
        angles = {case: math.degrees(dorsiflexion(each)) for case, each in solved.items()}
        worst = max(angles, key=lambda case: abs(angles[case]))
        gaps += large_rotation_gaps(worst, angles[worst], len(solved), _unproved(solved))
    beyond = [case for far in turned for case in far.beyond]
    if beyond:
        because = (
            f"a linear analysis turns the ankle by more than {ROTATION_REACH_DEG:g}° in "
            f"{len(beyond)} cases, furthest in '{beyond[0]}': about as far as an ankle turns at "
            "all, so no case was solved again with large rotations. Make the device stiffer"
        )
        gaps.append(NotChecked(topic="large rotation", zone="device", because=because))
    for lost in dict.fromkeys(far.lost for far in turned if far.lost):
        because = (
            f"{lost}. What is said of such cases is that of a linear analysis, which cannot see "
            "it; the device is too soft for these loads, or hardly held"
        )
        gaps.append(NotChecked(topic="giving way", zone="device", because=because))
    return gaps


def _unproved(solved: Mapping[str, LargeSolution]) -> list[str]:
    """Cases whose balance passed no gate on stability, since its pivots prove nothing."""
    return [
        case for case, each in solved.items() if all(gate.name != STABLE for gate in each.gates)
    ]
