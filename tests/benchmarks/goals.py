# SPDX-License-Identifier: MIT
"""Goals of the benchmarks: the ratio that is asked for, whether it is met, and the words for it."""

import re
from dataclasses import dataclass

from fea.tables import text_table

MET, MISSED, UNSEEN = "met", "MISSED", "not measured"
_HEADERS = ("time of", "over that of", "ratio", "goal", "state")


@dataclass(frozen=True)
class Goal:
    """What the time of one way over that of another must be.

    Attributes:
        one, other: the ways.
        limit: of the ratio; None where it is only shown.
        at_least: whether the limit is the smallest ratio that will do, not the largest.
    """

    one: str
    other: str
    limit: float | None = None
    at_least: bool = False

    def row(self, ratio: float | None) -> tuple[str, ...]:
        """The row of `goal_table`; a ratio of None was not measured.

        >>> Goal("ours", "bare", 1.3).row(1.301)
        ('ours', 'bare', '1.30', 'at most 1.3', 'MISSED')
        >>> Goal("theirs", "ours", 10.0, at_least=True).row(None)
        ('theirs', 'ours', '-', 'at least 10', 'not measured')
        >>> Goal("theirs", "ours").row(2.0)
        ('theirs', 'ours', '2.00', '', '')
        """
        shown = "-" if ratio is None else f"{ratio:.2f}"
        if self.limit is None:
            return self.one, self.other, shown, "", ""
        words = f"{'at least' if self.at_least else 'at most'} {self.limit:g}"
        if ratio is None:
            return self.one, self.other, shown, words, UNSEEN
        met = ratio >= self.limit if self.at_least else ratio <= self.limit
        return self.one, self.other, shown, words, MET if met else MISSED


def goal_table(rows: list[tuple[str, ...]]) -> str:
    """Rows of goals as text."""
    return text_table(_HEADERS, rows)


def goal_words(printed: str) -> str:
    """How many of the goals in printed tables are met, and which are not: a sentence and a list.

    >>> goals = [Goal("ours", "bare", 1.3), Goal("theirs", "ours", 10.0, at_least=True)]
    >>> print(goal_words(goal_table([goals[0].row(1.5), goals[1].row(12.0)])))
    1 of 2 goals are met; not these:
    <BLANKLINE>
    - time of ours over that of bare: 1.50, goal at most 1.3, MISSED
    """
    rows = [re.split(r"  +", line.strip()) for line in printed.splitlines()]
    rows = [row for row in rows if len(row) == 5 and row[4] in (MET, MISSED, UNSEEN)]
    lacking = [row for row in rows if row[4] != MET]
    words = f"{len(rows) - len(lacking)} of {len(rows)} goals are met"
    if not lacking:
        return f"{words}."
    listed = [
        f"- time of {one} over that of {other}: {ratio}, goal {goal}, {state}"
        for one, other, ratio, goal, state in lacking
    ]
    return "\n".join([f"{words}; not these:", "", *listed])
