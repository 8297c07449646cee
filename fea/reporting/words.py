# SPDX-License-Identifier: MIT
"""Words of the report: places, zones, verdicts, and what every reader must know."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from fea.loadcase.instant import LoadSet, StanceInstant

MARKS = {True: "✓\N{NO-BREAK SPACE}met", False: "✗\N{NO-BREAK SPACE}NOT\N{NO-BREAK SPACE}MET"}
VERDICT_MARKS = {"met": "✓", "not met": "✗", "not fully checked": "?"}
VERDICT_WORDS = {
    "met": "All requirements are met",
    "not met": "Requirements are not met",
    "not fully checked": "Not everything could be checked",
}
STATE_MARKS = {**VERDICT_MARKS, "not checked": "?"}
STATE_WORDS = {
    "met": "holds", "not met": "does not hold",
    "not fully checked": "holds as far as it was checked", "not checked": "not checked",
}

CAUTIONS = (
    "This report supports the judgement of licensed clinicians, orthotists and engineers. It "
    "replaces none of them, no physical test of the device, and no local code or regulation.",
    "“Not checked” is never “passed”.",
    "Materials are linear elastic, in cases solved with large rotations too. Plastics creep, age "
    "and soften with warmth; what is known of that enters as factors, each shown with its source.",
    "A material’s numbers hold for its data sheet, not for this sheet, this oven and this lay-up. "
    "Where they matter, test coupons.",
)


def cautions(load_set: LoadSet) -> tuple[str, ...]:
    """What every reader must know, and on which loads this verdict rests."""
    return (*CAUTIONS[:-1], _rests_on(load_set), CAUTIONS[-1])


def _rests_on(load_set: LoadSet) -> str:
    nobody = "Nobody can predict how a given person loads a new device. The verdict rests on"
    outside = "what is not among them, such as worse falls, jumps and misuse, is outside it."
    if load_set.purpose in ("proof", "ultimate", "cyclic"):
        return (f"{nobody} loads borrowed from a test of strength, not on how this wearer stands "
                "and walks.")
    if load_set.measured_on is not None:
        return (f"{nobody} gait that was measured, which a new device changes; harder steps than "
                "those measured, falls, jumps and misuse are outside it.")
    if load_set.purpose == "step":
        return (f"{nobody} one typical step; harder steps, falls, jumps and misuse are outside it.")
    cases = counted(len(load_set.cases), "case")
    if load_set.held:
        return (f"{nobody} {cases} of postures that are held, not on walking; {outside}")
    return f"{nobody} {cases} of the load set, not on a typical step; {outside}"


def place_text(place: ArrayLike | None, side: str) -> str:
    """Where a point lies, in words of the device frame.

    Args:
        place: (3,) mm, or None.
        side: of the device, "left" or "right".

    Example:
        >>> place_text((12.4, -35.0, 60.0), "left")
        '12 mm ahead of the ankle axis, 35 mm to the inner side, 60 mm up'
    """
    if place is None:
        return ""
    x, y, z = np.asarray(place, dtype=float).tolist()
    outward = y if side == "left" else -y
    fore = "ahead of" if x >= 0 else "behind"
    flank = "outer" if outward >= 0 else "inner"
    return (
        f"{abs(x):.0f} mm {fore} the ankle axis, {abs(y):.0f} mm to the {flank} side, {z:.0f} mm up"
    )


def body_weights(case: StanceInstant) -> float:
    """How hard the ground pushes on the foot, in body weights."""
    return math.hypot(case.fx_bw, case.fy_bw, case.fz_bw)


def plain(name: str) -> str:
    """A name of a zone, case or topic as running words."""
    return name.replace("_", " ").replace("-", " ")


def standing(status: str) -> str:
    """A status that does not break at its hyphen."""
    return status.replace("-", "\N{NON-BREAKING HYPHEN}")


def listed(items: Sequence[str]) -> str:
    """Items as one phrase.

    Example:
        >>> listed(["plate", "shell", "bars"])
        'plate, shell and bars'
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def counted(count: int, noun: str) -> str:
    """A count with its noun.

    Example:
        >>> counted(1, "requirement"), counted(3, "requirement")
        ('1 requirement', '3 requirements')
    """
    return f"{count} {noun}" + ("" if count == 1 else "s")
