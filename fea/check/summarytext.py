# SPDX-License-Identifier: MIT
"""What was found, as plain text for a terminal."""

from collections.abc import Sequence

from fea.check.check import BUCKLING, LOCAL_PEAK, Check, NotChecked
from fea.check.stiffness import ROTATION_FLAG_DEG, ROTATION_LIMIT_DEG
from fea.check.verdict import (
    HORIZONS,
    WHEN,
    Gap,
    governing_three,
    grouped,
    open_count,
    place_words,
    verdict_sentence,
)
from fea.check.whereabouts import Whereabouts
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.tables import text_table

ERROR_NOTE = (
    "error: estimated error of the mesh, a part of the demand; – where none is estimated, and of "
    "bars, which are exact between their nodes"
)
ROTATION_NOTE = (
    f"ankle rotation: {ROTATION_LIMIT_DEG:g}° is as far as this calculation can judge stiffness, "
    f"more than {ROTATION_FLAG_DEG:g}° is flagged; no clinical limit was read"
)
PLACE_NOTE = "at: x ahead of the ankle axis, y to the wearer's left, z above the floor, mm"
MEMORY_MARK = "†"
MEMORY_NOTE = (
    f"{MEMORY_MARK} rests on numbers from memory, which nobody read in their source for this "
    "program; the report names them, and a requirements file can forbid them"
)
IDLE = 0.25
"""Share of what is allowed below which a check is counted and not shown line by line."""
HEADERS = (
    "check", "zone", "load case", "at", "demand", "error", "capacity", "unit", "factor",
    "required", "result",
)  # fmt: skip


def text_summary(
    title: str,
    checks: Sequence[Check],
    not_checked: Sequence[NotChecked],
    where: Whereabouts | None = None,
) -> str:
    """Title, a table of checks for each horizon, what governs, what was not checked, the verdict.

    Args:
        title: heads it.
        checks, not_checked: what was judged, and what was not.
        where: names places on the limb; None falls back on the zones' names.
    """
    parts = [title, *_tables(checks)]
    parts += ["", PLACE_NOTE, ERROR_NOTE]
    if any(check.unit == "deg" for check in checks):
        parts.append(ROTATION_NOTE)
    if any(check.from_memory for check in checks):
        parts.append(MEMORY_NOTE)
    peaks = [f"  {check.zone}: {check.basis}" for check in checks if check.topic == LOCAL_PEAK]
    if peaks:
        parts += ["", "Left out of the plain maximum of stress and judged by itself:"]
        parts += dict.fromkeys(peaks)
    buckles = [
        f"  {check.zone}, {WHEN[check.horizon]}: {check.basis}"
        for check in checks
        if check.topic == BUCKLING and check.utilisation >= IDLE
    ]
    if buckles:
        parts += ["", "Buckling, as a factor on the loads:", *buckles]
    flags = [f"  {check.topic}, {check.zone}: {check.flag}" for check in checks if check.flag]
    if flags:
        parts += ["", "Flagged, though no requirement:", *flags]
    if not_checked:
        heading = f"Not checked ({open_count(not_checked)}, each reason counted once):"
        parts += ["", heading, *map(_gap_line, grouped(not_checked))]
    if checks:
        parts += ["", "What governs:"]
        parts += [_governing_line(k, c, where) for k, c in enumerate(governing_three(checks), 1)]
    return "\n".join([*parts, "", verdict_sentence(checks, not_checked, where)])


def _tables(checks: Sequence[Check]) -> list[str]:
    """A table for each horizon, of the checks that use a good part of what is allowed."""
    parts: list[str] = []
    for horizon in HORIZONS:
        own = [check for check in checks if check.horizon == horizon]
        near = [check for check in own if check.utilisation >= IDLE] or own[:1]
        rows = [_row(check) for check in near]
        heading = f"{WHEN[horizon]}:".capitalize()
        parts += ["", heading, text_table(HEADERS, rows) if rows else "nothing was checked"]
        if len(own) > len(near):
            parts.append(
                f"and {len(own) - len(near)} more that use less than {percent_text(IDLE)} of what "
                "is allowed; the report lists them"
            )
    return parts


def _gap_line(gap: Gap) -> str:
    place = gap.zones[0] if len(gap.zones) == 1 else f"{len(gap.zones)} places"
    return f"  {gap.topic}, {place}: {gap.because}"


def _governing_line(number: int, check: Check, where: Whereabouts | None) -> str:
    factor, required = factor_texts(check.factor, check.required)
    place = place_words(check, where, exact=True)
    doubt = f"; {check.note}" if check.note else ""
    return (
        f"  {number}. {check.topic}, {WHEN[check.horizon]}, {place} ({check.case}): factor "
        f"{factor} where {required} is required{doubt}"
    )


def _row(check: Check) -> tuple[str, ...]:
    factor, required = factor_texts(check.factor, check.required)
    place = "–" if check.place is None else " ".join(f"{value:.0f}" for value in check.place)
    return (
        check.topic,
        check.zone,
        check.case,
        place,
        quantity_text(check.demand),
        "–" if check.error is None else quantity_text(check.error),
        quantity_text(check.capacity) + (MEMORY_MARK if check.from_memory else ""),
        "× load" if check.topic == BUCKLING else check.unit,
        factor,
        required,
        "met" if check.met else "NOT MET",
    )
