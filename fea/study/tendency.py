# SPDX-License-Identifier: MIT
"""Better or worse over all checks of two devices, and the sentence that says so."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fea.assessment import Assessment
from fea.check.check import Check
from fea.check.verdict import WHEN, open_count
from fea.check.wording import percent_text
from fea.study.comparedchecks import (
    Coarser,
    Compared,
    GapChange,
    losses,
    share,
    share_error,
    unresolved,
)

Overall = Literal["better", "worse", "better and worse", "no difference", "open"]

MOST_NAMES = 3
"""Checks that a sentence names one by one."""

ALLOWED = " of what is allowed"

OPENINGS: dict[Overall, str] = {
    "better": "Better",
    "worse": "Worse",
    "better and worse": "Better in one thing, worse in another",
    "no difference": "No difference that the model can resolve",
    "open": "Not shown to be better or worse",
}


@dataclass(frozen=True)
class Tendency:
    """Where the hardest check goes, and how many others go where.

    Attributes:
        overall: "better" or "worse" where the largest share of what is allowed falls or rises by
            more than the meshes leave open; "worse" too where a requirement is broken, or "better
            and worse" where the largest share falls or another requirement is mended; "better and
            worse" too where a requirement is not met any more by a change that cannot be told;
            "open" where it would be better or the same, but for what is not checked any more.
        hardest: the check of each device that uses most of what is allowed; None without one.
        change: of that share, without the errors of the meshes.
        unresolved: up to which change of it nothing can be told.
        better, worse, same: numbers of checks of both devices.
        broken: requirements that are not met any more, whether the change can be told or not.
        mended: those that are met now, by a change that can be told.
        lost: topic and zone of what was checked before and is not now.
        opened: topics that only the second device is not checked for, such as of a part of its own.
    """

    overall: Overall
    hardest: tuple[Check | None, Check | None]
    change: float
    unresolved: float
    better: int
    worse: int
    same: int
    broken: tuple[Compared, ...]
    mended: tuple[Compared, ...]
    lost: tuple[tuple[str, str], ...]
    opened: tuple[str, ...] = ()


def tendency(
    rows: Sequence[Compared],
    gaps: Sequence[GapChange],
    coarse: Sequence[Compared] | None = None,
    ratio: float = 1.0,
) -> Tendency:
    """Better or worse, over all checks.

    Checks that only one device has count where the other has no such part, or has it of a material
    that is judged by other checks: what else was not checked on one side says nothing.

    Args:
        rows, gaps: from `compare_checks` and `compare_gaps`.
        coarse: rows on coarser cells, larger by ``ratio``.
    """
    one, other = _counted(rows)
    before, after = _largest(one), _largest(other)
    errors = _largest_error(one) + _largest_error(other)
    again = None
    if coarse is not None:
        first, second = _counted(coarse)
        again = Coarser(_largest(first), _largest(second), ratio)
    hardest = _hardest(one), _hardest(other)
    estimated = all(check is not None and check.error is not None for check in hardest)
    bound = unresolved(before, after, errors, again, estimated=estimated)
    outcomes = [row.outcome for row in rows]
    broken = tuple(row for row in rows if row.broken or row.flipped)
    mended = tuple(row for row in rows if row.mended)
    lost = losses(rows, gaps)
    overall = _overall(
        after - before, bound, worse=any(row.broken for row in rows), better=bool(mended),
        left_open=bool(lost) or not (one and other),
    )  # fmt: skip
    if overall == "better" and broken:
        overall = "better and worse"
    opened = [gap.topic for gap in gaps
              if gap.after and not gap.before and (gap.topic, gap.zone) not in lost]  # fmt: skip
    return Tendency(
        overall, hardest, after - before, bound, outcomes.count("better"), outcomes.count("worse"),
        outcomes.count("no difference"), broken, mended, lost, tuple(dict.fromkeys(opened)),
    )  # fmt: skip


def _overall(
    change: float, bound: float, *, worse: bool, better: bool, left_open: bool
) -> Overall:
    down, up = change < -bound, change > bound
    if up:
        return "worse"
    if worse:
        return "better and worse" if down or better else "worse"
    if left_open:
        return "open"
    return "better" if down else "no difference"


def _counted(rows: Sequence[Compared]) -> tuple[list[Check], list[Check]]:
    """The checks of each device that say something of the other."""
    counted = [row for row in rows if row.why != "gap"]
    return ([row.before for row in counted if row.before is not None],
            [row.after for row in counted if row.after is not None])  # fmt: skip


def _largest(checks: Sequence[Check]) -> float:
    return max((share(check) for check in checks), default=0.0)


def _largest_error(checks: Sequence[Check]) -> float:
    """How far the largest share may lie off: between the ends of all their bands."""
    largest = _largest(checks)
    high = max((share(check) + share_error(check) for check in checks), default=0.0)
    low = max((share(check) - share_error(check) for check in checks), default=0.0)
    return max(high - largest, largest - low)


def _hardest(checks: Sequence[Check]) -> Check | None:
    return max(checks, key=lambda check: check.utilisation, default=None)


def opening_words(found: Tendency) -> str:
    """Better or worse, in a few words; what was met and is not shown to be any more is said."""
    less = found.overall == "no difference" and found.broken
    return OPENINGS[found.overall] + (", but less is shown to hold" if less else "")


def tendency_words(found: Tendency) -> str:
    """Better or worse, and by how much, as the first part of a sentence."""
    before, after = found.hardest
    if before is None or after is None:
        return "Nothing can be compared: no check says anything of both devices"
    now, was = _use_words(after), _use_words(before)
    then = "as before" if was == now else f"where it was {was.replace(ALLOWED, '')}"
    parts = [f"{opening_words(found)}: the hardest-worked check uses {now}, {then}"]
    if found.broken:
        parts.append(f"not met any more: {_named(found.broken)}")
    if found.lost:
        names = [f"{topic} of {zone}" for topic, zone in found.lost]
        parts.append(f"not checked any more: {_few(names)}")
    return "; ".join(parts)


def _use_words(check: Check) -> str:
    """The share that a check uses as it is judged, its name, and what the mesh adds to the share.

    Example:
        >>> _use_words(Check(topic="yield", zone="heel", case="push", place=None, demand=12.0,
        ...                  capacity=20.0, unit="MPa", required=1.5, basis="", sources=(),
        ...                  error=4.0))
        '90 % of what is allowed (yield of heel; 60 % without the error of the mesh)'
    """
    judged, computed = percent_text(check.utilisation), percent_text(share(check))
    less = "" if judged == computed else f"; {computed} without the error of the mesh"
    return f"{judged}{ALLOWED} ({check_words(check)}{less})"


def tendency_points(found: Tendency) -> tuple[str, ...]:
    """What the sentence leaves out: how far the change is told, counts, and what is new."""
    if None in found.hardest:
        return ()
    points = [f"Without the errors of the meshes, the largest share of what is allowed changes by "
              f"{_points_text(found.change)} percentage points, from whichever check it was in to "
              f"whichever it is in now; a change of up to "
              f"{_points_text(found.unresolved).lstrip('+')} cannot be told."]  # fmt: skip
    every = found.better + found.worse + found.same
    points.append(f"Of {every} checks that both were judged by, better: {found.better}, worse: "
                  f"{found.worse}, no difference that can be told: {found.same}.")  # fmt: skip
    if found.mended:
        points.append(f"Met now, and not before: {_named(found.mended)}.")
    blurred = [row.after for row in found.broken
               if row.flipped and row.after is not None and row.after.error]  # fmt: skip
    if blurred:
        worst = max(blurred, key=_error_share)
        points.append(
            f"Of what is asked now in {check_words(worst)}, {percent_text(_error_share(worst))} is "
            "error of the mesh, which counts against the device; smaller cells tell more.")
    if found.opened:
        points.append(f"Not checked, and no question before: {_few(found.opened)}.")
    return tuple(points)


def _error_share(check: Check) -> float:
    return (check.error or 0.0) / check.demand


def outcome_points(rows: Sequence[Compared]) -> tuple[str, ...]:
    """The hardest-worked checks that are better now, and those that are worse."""
    found = []
    for outcome in ("better", "worse"):
        named = [row for row in rows if row.outcome == outcome]
        if named:
            found.append(f"{outcome.capitalize()}: {_named(named)}.")
    return tuple(found)


def _points_text(change: float) -> str:
    """A change of a share in percentage points, with its sign and two digits or more."""
    points = 100.0 * change
    text = f"{points:+.0f}" if abs(points) >= 10.0 else f"{points:+.2g}"
    return "0" if float(text) == 0.0 else text.replace("-", "−")


def _named(rows: Sequence[Compared]) -> str:
    return _few([check_words(row.after) for row in rows if row.after is not None])


def _few(names: Sequence[str]) -> str:
    """The first names, and how many more there are."""
    more = len(names) - MOST_NAMES
    few = ", ".join(names[:MOST_NAMES])
    return f"{few} and {more} more" if more > 0 else few


def check_words(check: Check) -> str:
    """A check by name, for people.

    Example:
        >>> check_words(Check(topic="yield", zone="ankle-medial", case="push", place=None,
        ...                   demand=1.0, capacity=2.0, unit="MPa", required=1.5, basis="",
        ...                   sources=()))
        'yield of ankle medial'
    """
    zone = check.zone.replace("-", " ").replace("_", " ")
    named = check.topic if zone in ("", "device") else f"{check.topic} of {zone}"
    return named if check.horizon == "today" else f"{named} {WHEN[check.horizon]}"


def enough_words(after: Assessment) -> str:
    """Whether the second device is enough, by its own verdict."""
    count = open_count(after.not_checked)
    left = f"{count} thing{'s were' if count != 1 else ' was'} not checked"
    if after.verdict == "met":
        return "that is enough"
    if after.verdict == "not met":
        failed = sum(not check.met for check in after.checks)
        fail = f"{failed} check{'s are' if failed != 1 else ' is'} not met"
        return f"that is not enough, {fail}" + (f" and {left}" if count else "")
    if not after.checks:
        return "nothing could be checked of it"
    return f"that is enough as far as it was checked, but {left}, so it is not shown to hold"


def grams_words(change: float, told: bool | None = None) -> str:
    """A change of mass (kg) in whole grams.

    Args:
        change: after minus before.
        told: whether the meshes can tell it; None where that is not known.

    Example:
        >>> grams_words(0.0342), grams_words(-0.012, told=True), grams_words(0.0002)
        ('34 g heavier', '12 g lighter', 'no heavier and no lighter, to the gram')
        >>> grams_words(0.002, told=False)
        '2 g heavier, which the meshes leave open'
    """
    grams = round(1000.0 * change)
    if grams == 0:
        return "no heavier and no lighter, to the gram"
    words = f"{abs(grams)} g {'heavier' if grams > 0 else 'lighter'}"
    return f"{words}, which the meshes leave open" if told is False else words
