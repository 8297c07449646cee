# SPDX-License-Identifier: MIT
"""How the governing factor answers to small changes of the loads, one at a time.

Only the check that governs is asked again, in its own case, on the structures of the assessment: a
local answer. Another check may govern after a larger change.

The heel-sole difference of the shoe tips the foot, and the shank with it. That changes what is left
to the knee. It changes the stress in the device only where a case of the load set asks how the
shank stands; the device itself, and where its plate lies over the floor, stay as they were judged.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fea.assessment import Assessment
from fea.check.buckling import judge_buckling
from fea.check.check import BUCKLING, Check, Finding, longest_start
from fea.check.pressure import TOPIC as SKIN
from fea.check.stiffness import TOPIC as ROTATION
from fea.check.wording import factor_texts
from fea.device.device import Device
from fea.errors import InputError, LoadError
from fea.judging import Acting, Loads, judge_loads, loads_on
from fea.loadcase.reaction import GroundReaction
from fea.loadcase.shank import shank_to_vertical
from fea.skin import judge_skin
from fea.structure.realise import plate_span
from fea.tables import text_table
from fea.turning import judge_turning

LOAD_SHARE = 0.05
"""Change of the loads."""
COP_SHARE = 0.02
"""Change of the centre of pressure, foot lengths."""
HEEL_SOLE = 5.0
"""Change of the heel-sole difference, mm."""


@dataclass(frozen=True)
class Response:
    """What one change does.

    Attributes:
        quantity: what is changed;  change: by how much, in words.
        factor: of the governing check then; None where the change cannot be made.
        relative: change of the factor, as a share of it; None likewise.
        note: what else there is to say.
    """

    quantity: str
    change: str
    factor: float | None
    relative: float | None
    note: str = ""


@dataclass(frozen=True)
class Sensitivity:
    """The governing check of a day's loads and what small changes do to it."""

    check: Check
    responses: tuple[Response, ...]

    def __str__(self) -> str:
        factor, required = factor_texts(self.check.factor, self.check.required)
        rows = [
            (
                each.quantity,
                each.change,
                "-" if each.factor is None else f"{each.factor:.3f}",
                "-" if each.relative is None else f"{100.0 * each.relative:+.1f} %",
                each.note or "-",
            )
            for each in self.responses
        ]
        return (
            f"Sensitivity of the governing factor: {self.check.topic} of the {self.check.zone} in "
            f"'{self.check.case}', factor {factor} where {required} is required\n"
            + text_table(("what is changed", "by", "factor", "change of factor", "note"), rows)
        )


def sensitivity(
    result: Assessment,
    *,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Sensitivity:
    """What small changes of load, centre of pressure and heel-sole difference do.

    Args:
        result: the assessment; its governing check is asked again on its structures.
        solver: as for `assess`.
        progress: called with a few words before each change.

    Raises:
        InputError: nothing could be checked.
        SolveError: the equations have no answer that can be trusted.

    Example:
        >>> import fea
        >>> child = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> ribbed = fea.read_device("ribbed-polypropylene-child")
        >>> table = sensitivity(fea.assess(ribbed, child, step=None, size=16.0))
        >>> harder = table.responses[0]
        >>> harder.quantity, harder.change, round(harder.relative, 3)      # 1 / 1.05 - 1
        ('load factor', '+5 %', -0.048)
    """
    check = next((check for check in result.checks if check.horizon == "today"), None)
    if check is None:
        raise InputError(
            f"load set '{result.load_set.name}': nothing could be checked, so no factor answers to "
            "a change; choose another load set"
        )
    asked = _Asked.of(result, check, solver)
    responses = []
    for sign in (1.0, -1.0):
        progress("changing the loads")
        loads = asked.loads.times(1.0 + sign * LOAD_SHARE)
        responses.append(asked.response("load factor", f"{100 * sign * LOAD_SHARE:+g} %", loads))
    for sign in (1.0, -1.0):
        progress("moving the centre of pressure")
        responses.append(_cop(asked, sign * COP_SHARE))
    for sign in (1.0, -1.0):
        progress("changing the heel-sole difference")
        responses.append(_heel(asked, sign * HEEL_SOLE))
    return Sensitivity(check, tuple(responses))


@dataclass(frozen=True, eq=False)
class _Asked:
    """The governing check, and the one case that is solved for it again."""

    result: Assessment
    check: Check
    loads: Loads
    solver: str

    @classmethod
    def of(cls, result: Assessment, check: Check, solver: str) -> "_Asked":
        every = _loads(result, result.device)
        own = longest_start(check.case, every.names)
        assert own is not None  # a case is called after what acts in it
        return cls(result, check, every.only(own), solver)

    def response(self, quantity: str, change: str, loads: Loads, note: str = "") -> Response:
        """The factor under other loads of the same case."""
        factor = self.factor(loads)
        if factor is None:
            gone = "; ".join(filter(None, (note, "the governing check is not made then")))
            return Response(quantity, change, None, None, gone)
        return Response(quantity, change, factor, factor / self.check.factor - 1.0, note)

    def factor(self, loads: Loads) -> float | None:
        """The factor of the governing check; None where the case no longer asks for it."""
        same = [
            found
            for found in self._findings(loads)
            if isinstance(found, Check)
            and (found.topic, found.zone) == (self.check.topic, self.check.zone)
        ]
        of_case = [found for found in same if found.case == self.check.case]
        return min((found.factor for found in of_case or same), default=None)

    def _findings(self, loads: Loads) -> tuple[Finding, ...]:
        result, worn = self.result, self.result.run.worn
        purpose = result.load_set.purpose
        held = Acting(result.load_set, loads).held
        judged = judge_loads(
            worn, result.limb, loads, result.factors, held=held, purpose=purpose,
            solver=self.solver, large_from_deg=result.run.large_from_deg,
        )  # fmt: skip
        if self.check.topic == BUCKLING:
            return judge_buckling(result.device, judged.to_buckle, judged.factors, held).findings
        if self.check.topic == SKIN:
            return judge_skin(
                worn, loads, judged.every, purpose=purpose, held=result.load_set.held,
                solver=self.solver,
            ).findings  # fmt: skip
        if self.check.topic == ROTATION:
            return judge_turning(
                worn, loads, judged.best, judged.factors, solver=self.solver
            ).findings
        return judged.findings


def _cop(asked: _Asked, share: float) -> Response:
    quantity, change = "centre of pressure", f"{share:+g} foot lengths"
    if not asked.loads.reactions:
        return Response(quantity, change, None, None, "no ground reaction in the governing case")
    (reaction,) = asked.loads.reactions
    span = plate_span(asked.result.device)
    moved = _moved(reaction, share * asked.result.limb.foot_length, span)
    if moved is None:
        return Response(quantity, change, None, None, "the push stands at that end of the plate")
    try:
        return asked.response(quantity, change, Loads((moved,)))
    except LoadError as error:
        return Response(quantity, change, None, None, str(error))


def _moved(
    reaction: GroundReaction, ahead: float, span: tuple[float, float]
) -> GroundReaction | None:
    """A reaction with its centre of pressure moved, mm; None where its patch leaves the plate."""
    x, half = float(reaction.cop[0]) + ahead, reaction.patch_half_length
    if not span[0] + half - 1e-9 <= x <= span[1] - half + 1e-9:
        return None
    moment = reaction.dorsiflexing_moment + float(reaction.force[2]) * ahead
    return replace(
        reaction, cop=reaction.cop + np.array([ahead, 0.0, 0.0]), dorsiflexing_moment=moment
    )


def _heel(asked: _Asked, difference: float) -> Response:
    result, sole = asked.result, asked.result.device.sole
    other = replace(sole, heel_sole_difference=sole.heel_sole_difference + difference)
    ball = result.limb.measures["ball_length_mm"]
    lean = math.degrees(shank_to_vertical(other, ball) - shank_to_vertical(sole, ball))
    quantity, change = "heel-sole difference", f"{difference:+g} mm"
    note = f"leans the shank {lean:+.1f} deg, which changes what is left to the knee"
    try:
        loads = _loads(result, replace(result.device, sole=other)).only(asked.loads.names[0])
    except LoadError as error:
        return Response(quantity, change, None, None, str(error))
    if _alike(loads, asked.loads):
        note += "; no load of this case follows it, so no stress does"
        return Response(quantity, change, asked.check.factor, 0.0, note)
    return asked.response(quantity, change, loads, note + " and, in this case, the loads")


def _loads(result: Assessment, device: Device) -> Loads:
    return loads_on(result.load_set, wearer=result.wearer, limb=result.limb, device=device)


def _alike(one: Loads, other: Loads) -> bool:
    """Whether two cases push alike; a push on the device and a bend follow no shoe."""
    return all(
        np.array_equal(a.force, b.force)
        and np.array_equal(a.cop, b.cop)
        and a.free_moment == b.free_moment
        for a, b in zip(one.reactions, other.reactions, strict=True)
    )
