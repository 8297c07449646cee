# SPDX-License-Identifier: MIT
"""How long each zone lasts, as the report shows it."""

import math

from fea.assessment import Assessment
from fea.check.check import Check
from fea.check.life import LifeRow, months_text
from fea.check.spectrum import MONTH
from fea.check.wording import factor_texts, quantity_text
from fea.reporting.evidence import Part
from fea.reporting.table import Table, table
from fea.reporting.words import plain

LIFE_WORDS = (
    "Stress swings between two instants of a cycle, about a mean; damage of walking, stairs and "
    "stumbles is summed over the months asked for (Miner). The required factor is on stress. "
    "Metals and laminates are given in months: nearly every piece lasts the first number, with all "
    "factors counted, half of the pieces the second, without the scatter of life. Published life "
    "of thermoplastics ends early, so they are only told apart in classes, and their factor is "
    "that on the part of the life that published tests reach, not on all cycles asked for.",
)


def lasting_words(result: Assessment, check: Check | None) -> str:
    """How long the place of a check of life lasts beside what is asked, both in days.

    Empty for other checks, and where no time is asked for or none can be told.
    """
    asked = result.requirements.service.months
    if check is None or check.horizon != "service life" or asked is None:
        return ""
    here = [row for row in result.life if (row.zone, row.place) == (check.zone, check.place)]
    if not here or here[0].months is None and here[0].months_tested is None:
        return ""
    tested, months = here[0].months_tested, here[0].months
    least = min(asked, *(each for each in (tested, months) if each is not None))
    days, of = math.floor(MONTH * least), math.floor(MONTH * asked)
    if days == of:
        return f"holds for all of the {of} days asked for"
    part = f"{days} of the {of} days asked for"
    if tested is None:
        return f"holds for about {part}"
    if here[0].state == "beyond published life":
        return f"is known to hold for about {part}, as far as published tests reach"
    return f"is not shown to hold even for the {part} that published tests reach"


def life_parts(result: Assessment) -> tuple[Part, ...]:
    """The part of the page on life; none where no zone was judged."""
    return (Part("Service life", LIFE_WORDS, (), (_life_table(result),)),) if result.life else ()


def _life_table(result: Assessment) -> Table:
    marks = {"outlived": "✓ ", "beyond published life": "? "}
    rows = [
        (plain(row.zone), plain(row.cycle), marks.get(row.state, "✗ ") + row.state,
         f"{quantity_text(row.amplitude)} MPa", f"{quantity_text(row.mean)} MPa",
         _count(row.asked), *factor_texts(row.factor, row.required), _months(row))
        for row in result.life
    ]
    details = [
        f"{row.what[:1].upper()}{row.what[1:]}, between “{row.first}” and “{row.second}”; "
        f"{result.where.words(row.place)}."
        for row in result.life
    ]
    bad = [k for k, row in enumerate(result.life) if row.state not in marks]
    return table("How long each wall and bar lasts at its governing point, the shortest first.",
                 ["zone", "cycle", "life", ">amplitude", ">mean", ">cycles asked for", ">factor",
                  ">required", "nearly all last"], rows, strong=bad, details=details)


def _count(cycles: float) -> str:
    """A number of cycles with its thousands apart.

    Example:
        >>> _count(1562345.6)
        '1\xa0562\xa0346'
    """
    return f"{cycles:,.0f}".replace(",", "\N{NO-BREAK SPACE}")


def _months(row: LifeRow) -> str | None:
    if row.months is None or row.months_middle is None:
        return None
    return f"{months_text(row.months)}; half {months_text(row.months_middle)}"
