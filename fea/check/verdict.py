# SPDX-License-Identifier: MIT
"""The verdict: one word, one sentence, one table."""

from collections.abc import Sequence
from typing import Literal

from fea.check.check import BUCKLING, LOCAL_PEAK, Check, NotChecked
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.tables import text_table

Verdict = Literal["met", "not met", "not fully checked"]
ERROR_NOTE = (
    "error: estimated error of the mesh, a part of the demand; – where none is estimated, and of "
    "bars, which are exact between their nodes"
)
PLACE_NOTE = "at: x ahead of the ankle axis, y to the wearer's left, z above the floor, mm"


def verdict_of(checks: Sequence[Check], not_checked: Sequence[NotChecked]) -> Verdict:
    """ "met" only when something was checked, everything checked is met and nothing is missing."""
    if any(not check.met for check in checks):
        return "not met"
    return "not fully checked" if not_checked or not checks else "met"


def verdict_sentence(checks: Sequence[Check], not_checked: Sequence[NotChecked]) -> str:
    """The verdict for people, in one sentence."""
    if not checks:
        return "Nothing could be checked, so this device is not shown to hold."
    worst = max(checks, key=lambda check: check.utilisation)
    where = f"{worst.topic} of the {worst.zone}" if worst.zone != "device" else worst.topic
    share = percent_text(worst.utilisation)
    match verdict_of(checks, not_checked):
        case "not met":
            failed = sum(not check.met for check in checks)
            return (
                f"This device does not meet its requirements: {failed} of {len(checks)} checks "
                f"fail, and {where} is at {share} of what is allowed ({worst.case})."
            )
        case "not fully checked":
            return (
                f"What was checked is met, the closest being {where} at {share} of what is "
                f"allowed ({worst.case}); {len(not_checked)} things were not checked, so "
                "this is no proof that the device holds."
            )
        case _:
            return (
                f"All requirements are met; the closest is {where} at {share} of what is allowed."
            )


def text_summary(title: str, checks: Sequence[Check], not_checked: Sequence[NotChecked]) -> str:
    """Title, table of checks, what was not checked, and the verdict, as plain text."""
    headers = ["check", "zone", "load case", "at", "demand", "error", "capacity"]
    headers += ["unit", "factor", "required", "result"]
    rows = [_row(check) for check in checks]
    missing = _grouped(not_checked)
    parts = [title, "", text_table(headers, rows), "", PLACE_NOTE, ERROR_NOTE]
    peaks = [f"  {check.zone}: {check.basis}" for check in checks if check.topic == LOCAL_PEAK]
    if peaks:
        parts += ["", "Left out of the plain maximum of stress and judged by itself:", *peaks]
    buckles = [f"  {check.zone}: {check.basis}" for check in checks if check.topic == BUCKLING]
    if buckles:
        parts += ["", "Buckling, as a factor on the loads:", *buckles]
    flags = [f"  {check.topic}, {check.zone}: {check.flag}" for check in checks if check.flag]
    if flags:
        parts += ["", "Flagged, though no requirement:", *flags]
    if missing:
        parts += ["", f"Not checked ({len(not_checked)}):", *missing]
    return "\n".join([*parts, "", verdict_sentence(checks, not_checked)])


def _grouped(not_checked: Sequence[NotChecked]) -> list[str]:
    """One line for each topic and reason; several zones that share them are counted."""
    zones: dict[tuple[str, str], list[str]] = {}
    for item in not_checked:
        zones.setdefault((item.topic, item.because), []).append(item.zone)
    return [
        f"  {topic}, {names[0] if len(names) == 1 else f'{len(names)} places'}: {because}"
        for (topic, because), names in zones.items()
    ]


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
        quantity_text(check.capacity),
        "× load" if check.topic == BUCKLING else check.unit,
        factor,
        required,
        "met" if check.met else "NOT MET",
    )
