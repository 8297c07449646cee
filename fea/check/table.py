# SPDX-License-Identifier: MIT
"""Checks as a plain-text table for a terminal."""

from collections.abc import Sequence

from fea.check.check import Check, NotChecked
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.tables import text_table

HEADERS = ("result", "check", "zone", "demand", "capacity", "unit", "factor", "required", "used",
           "case", "place x, y, z in mm")
RIGHT = ("demand", "capacity", "factor", "required", "used")


def checks_table(checks: Sequence[Check], not_checked: Sequence[NotChecked] = ()) -> str:
    """Every check with its numbers, the hardest first, and what could not be checked.

    Args:
        checks: what was judged.
        not_checked: what was not; listed below the table with the reason.

    Returns:
        Plain text without a newline at its end. Factors are rounded down and the used share of
        what is allowed is rounded up.

    Example:
        >>> check = Check(topic="yield", zone="shell", case="heel", place=(0.0, 5.0, 70.0),
        ...               demand=20.0, capacity=24.0, unit="MPa", required=1.5, basis="",
        ...               sources=())
        >>> print(checks_table([check]))
        result   check  zone   demand  capacity  unit  factor  required  used   case  place ...
        -------  -----  -----  ------  --------  ----  ------  --------  -----  ----  -----...
        NOT MET  yield  shell    20.0      24.0  MPa     1.20      1.50  125 %  heel  0, 5, 70
    """
    rows = [_row(check) for check in sorted(checks, key=lambda check: -check.utilisation)]
    lines = [text_table(HEADERS, _aligned(rows))] if rows else []
    lines += [
        f"not checked: {item.topic}, {item.zone}: {item.because}".replace(", :", ":")
        for item in not_checked
    ]
    return "\n".join(lines)


def _row(check: Check) -> tuple[str, ...]:
    factor, required = factor_texts(check.factor, check.required)
    place = "" if check.place is None else ", ".join(f"{value:.0f}" for value in check.place)
    return (
        "met" if check.met else "NOT MET", check.topic, check.zone, quantity_text(check.demand),
        quantity_text(check.capacity), check.unit, factor, required,
        percent_text(check.utilisation), check.case, place,
    )


def _aligned(rows: Sequence[tuple[str, ...]]) -> list[list[str]]:
    """Numbers padded on the left to the width of their column."""
    columns = zip(HEADERS, *rows, strict=True)
    padded = [
        [cell.rjust(max(map(len, column))) if column[0] in RIGHT else cell for cell in column]
        for column in columns
    ]
    return [list(row) for row in zip(*padded, strict=True)][1:]
