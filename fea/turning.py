# SPDX-License-Identifier: MIT
"""How far the ankle turns in the device, over the band in which device and flesh are stiff.

The solves of a load set take plastic as it is at room temperature and flesh as it usually is: the
lower end. A device is worn warm, and flesh may be soft. So the instant that turns the ankle
furthest is solved once more with both, and the larger rotation is judged. Creep and the scatter of
the modulus are left out, which `BAND` tells the reader: a step is short, and both enter into the
check of buckling.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fea.check.check import Finding, NotChecked
from fea.check.factors import Factors
from fea.check.readings import dorsiflexion
from fea.check.stability import Share, warm_share
from fea.check.stiffness import ROTATION_LIMIT_DEG, TOPIC, check_ankle_rotation
from fea.device.device import Device
from fea.errors import GateError
from fea.judging import Loads
from fea.skin import TISSUE_BAND
from fea.solver.largesolution import LargeSolution
from fea.solver.solution import Solution
from fea.worn import Worn

SOFT = "flesh half as stiff"
WARM = "device at 37 °C"
BAND = (
    "as the device warms to 37 °C and flesh is half as stiff (creep and a batch of lower modulus "
    "turn it further and are not counted)"
)
"""What lies between the two ends, and what lies beyond them."""


@dataclass(frozen=True)
class Turning:
    """The largest rotation of the ankle, dorsiflexion positive.

    Attributes:
        findings: the check, and what is beyond it.
        case: in which it turns furthest; empty where nothing was solved.
        usual: rad, with new plastic at room temperature and usual flesh.
        soft: rad, with the device at body temperature and soft flesh; None where that was not, or
            could not be, solved.
    """

    findings: tuple[Finding, ...] = ()
    case: str = ""
    usual: float = 0.0
    soft: float | None = None


def judge_turning(
    worn: Sequence[Worn],
    loads: Loads,
    solutions: Mapping[str, Solution],
    factors: Factors,
    *,
    solver: str = "auto",
) -> Turning:
    """Judge how far the ankle turns.

    Args:
        worn: the device on each model of the limb.
        loads: what was solved; toe bends do not turn the ankle and are left out.
        solutions: case name to solution, of all models, with large rotations where there is one.
        factors: partial factors, for materials whose modulus at 37 °C is not in the library.
        solver: "auto", "superlu" or "pardiso".

    Returns:
        The rotation and its check. What turns further than a linear solve may judge and was solved
        with large rotations has none: that it is left open is said where it was so solved.

    Raises:
        GateError: the ankle turns so far, cool and with usual flesh, that no number means anything.
    """
    if not solutions:
        return Turning()
    turned = {case: dorsiflexion(solution) for case, solution in solutions.items()}
    case = max(turned, key=lambda name: abs(turned[name]))
    large = isinstance(solutions[case], LargeSolution)
    if large and abs(math.degrees(turned[case])) > ROTATION_LIMIT_DEG:
        return Turning((), case, turned[case])
    usual = check_ankle_rotation(case, turned[case])
    try:
        name, soft = _again(worn, loads, solutions[case], factors, solver)
        if abs(soft) < abs(turned[case]):
            return Turning(usual, case, turned[case], soft)
        warmth = _warmth(worn[0].device, factors)
        found = check_ankle_rotation(
            name, soft, usual=turned[case],
            band=BAND,
            band_sources=tuple(key for share in warmth for key in share.sources),
            band_note="; ".join(dict.fromkeys(share.note for share in warmth if share.note)),
        )  # fmt: skip
        return Turning(found, case, turned[case], soft)
    except GateError as error:
        because = f"warm and with soft flesh the ankle turns too far for any number: {error}"
        gap = NotChecked(topic=TOPIC, zone="device", because=because)
        return Turning((*usual, gap), case, turned[case])


def _warmth(device: Device, factors: Factors) -> list[Share]:
    """What warmth leaves of the stiffness of each material that loses any."""
    shares = [warm_share(material, factors) for material in device.materials]
    return [share for share in shares if share.value != 1.0]


def _again(
    worn: Sequence[Worn], loads: Loads, hardest: Solution, factors: Factors, solver: str
) -> tuple[str, float]:
    """The case of largest rotation, warm and with soft flesh, of the instant that governs."""
    (own,) = (each for each in worn if each.system is hardest.system)
    instant = own.instants(loads.reactions, loads.pushes)[hardest.case]
    softer = Worn.on(
        own.device.softened(lambda material: warm_share(material, factors).value),
        own.model.with_flesh(TISSUE_BAND[SOFT], WARM, SOFT),
        solver,
    )
    one = loads.only(instant)
    turned = {
        case: dorsiflexion(each) for case, each in softer.solve(one.reactions, one.pushes).items()
    }
    case = max(turned, key=lambda each: abs(turned[each]))
    return case, turned[case]
