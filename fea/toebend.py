# SPDX-License-Identifier: MIT
"""Toe bends solved: the plate bent by the whole angle, or as far as the ground can bend it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fea.check.check import NotChecked
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.device.device import Device
from fea.loadcase.applied import PlateBend
from fea.solver.solution import Solution
from fea.solver.system import prepare
from fea.structure.platebend import FRONT, bent_plate


@dataclass(frozen=True, eq=False)
class Bent:
    """One toe bend, solved.

    Attributes:
        bend: what was to be done.
        moment: N·mm, external, toes-up about the crease: what the whole angle asks of the ground.
        share: of the angle that the ground reaches, 0 to 1.
        solution: with the plate bent so far.
    """

    bend: PlateBend
    moment: float
    share: float
    solution: Solution

    @property
    def description(self) -> str:
        """One sentence for people."""
        angle = math.degrees(self.share * self.bend.angle)
        what = "the whole angle" if self.share == 1.0 else f"only {angle:.1f} deg of it"
        return (
            f"{self.bend.description}; the whole angle asks {self.moment / 1e3:.1f} N·m, so it "
            f"reaches {what}"
        )


def solve_bends(device: Device, bends: Sequence[PlateBend], solver: str = "auto") -> list[Bent]:
    """Solve toe bends of one device.

    One structure serves all bends that hold and turn the same part of the plate. Contact without
    gaps and straps without slack make displacement proportional to the angle, so each of them is
    the same solution scaled.

    Args:
        device: as fitted;  bends: of its plate.
        solver: "auto", "superlu" or "pardiso".

    Raises:
        LoadError: the plate has no node to hold, to turn or to bend.
        SolveError: the equations have no answer that can be trusted.
    """
    found: dict[tuple[float, float], tuple[PlateBend, Solution, float]] = {}
    results = []
    for bend in bends:
        key = (bend.held_to, bend.turned_from)
        if key not in found:
            plate = bent_plate(device, bend)
            solution = prepare(plate.structure, solver).solve({bend.name: []})[bend.name]
            found[key] = (bend, solution, plate.moment(solution.reaction(FRONT)))
        first, solution, moment = found[key]
        moment *= bend.angle / first.angle
        share = bend.share(moment)
        scale = share * bend.angle / first.angle
        scaled = replace(
            solution, case=bend.name, vector=scale * solution.vector,
            forces=scale * solution.forces,
        )  # fmt: skip
        results.append(Bent(bend, moment, share, scaled))
    return results


def bend_gaps(bent: Sequence[Bent]) -> list[NotChecked]:
    """What a linear solve of toe bends leaves open."""
    if not bent:
        return []
    gaps = [
        NotChecked(
            topic="buckling",
            zone="device",
            because="a bend that is forced on the plate is judged for strength, not for buckling; "
            "walls that stand up beside the ball may fold",
        )
    ]
    far = max(bent, key=lambda each: each.share * each.bend.angle)
    degrees = math.degrees(far.share * far.bend.angle)
    if degrees > ROTATION_LIMIT_DEG:
        because = (
            f"the front of the plate turns by {degrees:.1f}° in '{far.bend.name}', more than "
            f"{ROTATION_LIMIT_DEG:g}°: the bending of a flat plate end is still true, what raised "
            "edges and walls beside the ball take is not; test the plate by bending it"
        )
        gaps.append(NotChecked(topic="large bending", zone="device", because=because))
    return gaps
