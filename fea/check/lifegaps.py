# SPDX-License-Identifier: MIT
"""What a life under a step leaves open: creep over months, an ankle that turns far."""

import math
from collections.abc import Mapping, Sequence

from fea.check.check import NotChecked
from fea.check.life import LIFE
from fea.check.spectrum import Block
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.device.device import Device

CREEP = "creep over its life"
"""Topic of the shape that a device loses over months."""
_CREEPS = ("thermoplastic", "printed")


def creep_gaps(device: Device) -> tuple[NotChecked, ...]:
    """What creeps in a device while it is worn; nothing without plastic walls or bars."""
    kinds = {zone: wall.material.kind for zone, wall in device.walls.items()}
    kinds |= {zone: bar.material.kind for zone, bar in device.bars.items()}
    zones = [zone for zone, kind in kinds.items() if kind in _CREEPS]
    if not zones:
        return ()
    because = (
        f"how far {', '.join(zones)} creep{'s' if len(zones) == 1 else ''} over months of use is "
        "not computed; plastic gives way a little under each step, and the ankle of the device "
        "with it: measure the angle of its ankle at each visit, and write down the first one"
    )
    return (_gap(CREEP, because),)


def turned_gaps(
    rotations: Mapping[str, float], blocks: Sequence[Block]
) -> tuple[NotChecked, ...]:
    """A linear solve of a step that turns the ankle further than it may judge.

    Args:
        rotations: case to dorsiflexion as solved, rad.
        blocks: of the service, each with its ratio to what was solved.

    Example:
        >>> walking = Block("walking", 1.0, 1e6)
        >>> turned_gaps({"push-off": math.radians(7.0)}, [walking])
        ()
    """
    if not rotations:
        return ()
    case = max(rotations, key=lambda name: abs(rotations[name]))
    degrees = abs(math.degrees(rotations[case]))
    far = [f"{block.ratio * degrees:.1f}° ({block.name})" for block in blocks
           if block.ratio * degrees > ROTATION_LIMIT_DEG]  # fmt: skip
    if not far:
        return ()
    because = (
        f"the ankle turns by {', '.join(far)} in '{case}', more than the "
        f"{ROTATION_LIMIT_DEG:g}° up to which a linear solve holds; life was judged on linear "
        "stress, which may be too high or too low there"
    )
    return (_gap(LIFE, because),)


def _gap(topic: str, because: str) -> NotChecked:
    return NotChecked(topic=topic, zone="device", because=because, horizon="service life")
