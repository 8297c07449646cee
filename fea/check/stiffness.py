# SPDX-License-Identifier: MIT
"""How far the device lets the ankle turn, and whether a linear solve may judge it at all."""

import math
from collections.abc import Sequence

from fea.check.check import Check, Finding, NotChecked, memory_parts
from fea.errors import GateError, InputError

TOPIC = "ankle rotation"

ROTATION_FLAG_DEG = 5.0
"""A device that is meant to hold the ankle and lets it turn further is flagged."""

ROTATION_ABSURD_DEG = 60.0
"""A computed rotation beyond this is not shown at all: some input must be wrong."""

ROTATION_LIMIT_DEG = 8.0
"""Beyond this a linear solve judges neither stiffness nor buckling.

Source: syngellakis-2000 (large rotations soften a solid device; linear up to 5 to 8 degrees;
from memory, confidence medium).
"""

_LIMIT = f"limit of {ROTATION_LIMIT_DEG:g}° for a linear analysis: memory-M"

ROTATION_REACH_DEG = 20.0
"""A linear rotation beyond this is not solved again with large rotations: about as far as an ankle
turns upward at all (memory, confidence medium), so the model of the limb says nothing there."""


def check_ankle_rotation(
    case: str,
    rotation: float,
    *,
    usual: float | None = None,
    band: str = "",
    band_sources: tuple[str, ...] = (),
    band_note: str = "",
) -> tuple[Finding, ...]:
    """Rotation of the ankle inside the device against what a linear analysis can judge.

    Args:
        case: load case.
        rotation: of the shank against the foot about the ankle axis, rad, at the upper end of its
            band; the sign (dorsiflexion is negative) does not matter.
        usual: rad, the lower end of the band; None where `rotation` is all that is known.
        band: in words, what makes the one of the other;  band_sources: keys of its numbers;
            band_note: reservations on them.

    Returns:
        The check, flagged above 5 degrees; beyond 8 degrees none, but that it could not be judged.

    Raises:
        InputError: the rotation is not finite.
        GateError: it is beyond 60 degrees, so that no number can be trusted.

    Example:
        >>> import math
        >>> check, = check_ankle_rotation("push-off", math.radians(-6.0))
        >>> round(check.demand, 6), check.capacity, check.met
        (6.0, 8.0, True)
    """
    degrees, words = _degrees(case, rotation), ""
    if usual is not None:
        low = _degrees(case, usual)
        words = f"; from {low:.1f}° to {degrees:.1f}° {band}, of which the larger is judged"
    if degrees > ROTATION_LIMIT_DEG:
        because = (
            f"the ankle turns by {degrees:.1f}° in '{case}'{words}: more than "
            f"{ROTATION_LIMIT_DEG:g}°, too far for a linear analysis, so that stiffness and the "
            "factor against buckling are upper estimates there. No clinical limit was read: "
            "whether a foot may turn so far is for the prescriber; make the device stiffer, or "
            "test it"
        )
        numbers = (_LIMIT, *memory_parts(band_note))
        return (NotChecked(topic=TOPIC, zone="device", because=because, from_memory=numbers),)
    over = f"more than {ROTATION_FLAG_DEG:g}°"
    check = Check(
        topic=TOPIC,
        zone="device",
        case=case,
        place=None,
        demand=degrees,
        capacity=ROTATION_LIMIT_DEG,
        unit="deg",
        required=1.0,
        basis="foot against shank about the ankle axis, tissue included, against the rotation up "
        f"to which a linear analysis may judge a device{words}; no clinical limit",
        sources=tuple(dict.fromkeys(["syngellakis-2000", *band_sources])),
        note="; ".join(filter(None, [_LIMIT, band_note, "no partial factor: not a strength"])),
        flag=f"{over}{words}" if degrees > ROTATION_FLAG_DEG else "",
    )
    return (check,)


def large_rotation_gaps(
    case: str, angle_deg: float, count: int, unproved: Sequence[str] = ()
) -> tuple[NotChecked, ...]:
    """What stays open of cases that were solved with large rotations; never a pass.

    Args:
        case: the one that turns the ankle most.
        angle_deg: by how much, dorsiflexion positive.
        count: how many were so solved.
        unproved: those in a balance that was not proved to be stable.

    Example:
        >>> [gap.topic for gap in large_rotation_gaps("push-off", 11.0, 2)]
        ['ankle rotation', 'buckling and skin at large rotation']
    """
    many = "1 case was" if count == 1 else f"{count} cases were"
    turns = (
        f"the ankle turns by {abs(angle_deg):.1f}° in '{case}'; {many} solved with large "
        "rotations, and strength is judged on that. Whether a foot may turn so far is for the "
        "prescriber"
    )
    balance = "in a stable balance"
    if unproved:
        named = ", ".join(f"'{name}'" for name in unproved)
        balance = f"in balance (stability not proved in {named})"
    left = (
        f"{many} solved with large rotations and found {balance} under the full loads; "
        "the factor against buckling, pressure on the skin and life beside it are those of a "
        "linear analysis"
    )
    linear = NotChecked(topic="buckling and skin at large rotation", zone="device", because=left)
    if abs(angle_deg) <= ROTATION_LIMIT_DEG:
        return (linear,)
    return (NotChecked(topic=TOPIC, zone="device", because=turns), linear)


def _degrees(case: str, rotation: float) -> float:
    if not math.isfinite(rotation):
        raise InputError(f"ankle rotation in '{case}' is {rotation}; it must be finite")
    degrees = abs(math.degrees(rotation))
    if degrees > ROTATION_ABSURD_DEG:
        raise GateError(
            f"'{case}' would turn the ankle by {degrees:.0f}°: no small-displacement result means "
            "anything there; look for a thickness or modulus in the wrong unit, or a part that "
            "is hardly joined"
        )
    return degrees
