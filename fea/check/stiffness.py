# SPDX-License-Identifier: MIT
"""How far the device lets the ankle turn, and whether a linear solve may judge it at all."""

import math

from fea.check.check import Check, Finding, NotChecked
from fea.errors import InputError

ROTATION_FLAG_DEG = 5.0
"""A device that is meant to hold the ankle and lets it turn further is flagged."""

ROTATION_LIMIT_DEG = 8.0
"""Beyond this a linear solve judges neither stiffness nor buckling.

Source: syngellakis-2000 (large rotations soften a solid device; linear up to 5 to 8 degrees;
from memory, confidence medium).
"""


def check_ankle_rotation(case: str, rotation: float) -> tuple[Finding, ...]:
    """Rotation of the ankle inside the device against the flag, and against what linear can do.

    Args:
        case: load case.
        rotation: of the shank against the foot about the ankle axis, rad; the sign (dorsiflexion
            is negative) does not matter.

    Returns:
        The check, and beyond 8 degrees also what a linear solve could not judge.

    Raises:
        InputError: the rotation is not finite.

    Example:
        >>> import math
        >>> check, = check_ankle_rotation("push-off", math.radians(-6.0))
        >>> round(check.demand, 6), check.capacity, check.met
        (6.0, 5.0, False)
    """
    if not math.isfinite(rotation):
        raise InputError(f"ankle rotation in '{case}' is {rotation}; it must be finite")
    degrees = abs(math.degrees(rotation))
    check = Check(
        topic="ankle rotation",
        zone="device",
        case=case,
        place=None,
        demand=degrees,
        capacity=ROTATION_FLAG_DEG,
        unit="deg",
        required=1.0,
        basis="shank against foot about the ankle axis, against the flag of a device that is "
        "meant to hold the ankle",
        sources=("syngellakis-2000",),
        note="flag from memory (medium confidence); no partial factor: not a strength",
    )
    if degrees <= ROTATION_LIMIT_DEG:
        return (check,)
    beyond = NotChecked(
        topic="stiffness and buckling",
        zone="device",
        because=f"the ankle turns by {degrees:.1f}° in '{case}', more than "
        f"{ROTATION_LIMIT_DEG:g}°: too far for a linear analysis, so its stiffness is an upper "
        "estimate; make the device stiffer, or test it",
    )
    return (check, beyond)
