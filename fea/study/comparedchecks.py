# SPDX-License-Identifier: MIT
"""The checks of two devices side by side: what changed, and whether the meshes can tell.

A check knows the error that its mesh makes of it, or its estimate. Whatever the errors of two
devices have to do with each other, the difference is off by no more than their sum, as far as the
estimates hold: that is the plain bound. It is wide, since meshes of one family err alike, and most
of that leaves the difference. How much, no estimate on one mesh says: errors of one place cancel,
a peak that jumps elsewhere takes its own along. So both devices are judged on coarser cells too,
and the change is read there again. How far it moves gives its band, as for any value on two meshes
(`fea.study.convergence`, widened threefold since two show no order). It replaces the plain bound
where both peaks stay where they are, down to `CREDIT` of it, so that two numbers that agree by
chance do not tell too much. Checks without an estimate have this band alone; on one mesh an assumed
share stands for it.

A change within its bound is "no difference that the model can resolve".
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from fea.check.check import BUCKLING, Check, Horizon, NotChecked
from fea.check.life import EARLY_CRACKS, LIFE
from fea.study.convergence import GUESSED_FACTOR, LEAST_ORDER
from fea.study.refine import NEAR

UNKNOWN_SHARE = 0.1
"""Error, as a share of the demand, of checks that come without an estimate: buckling, rotation,
pressure, joints, bars. Source: assumed; from cells of 16 to 8 mm those of a shipped device moved by
up to 9 %, but for a pull of a few newtons on a rivet."""

CREDIT = 0.25
"""Share of the plain bound that stays however well two meshes agree. Source: assumed."""

SAME = 1e-6
"""Share by which equal numbers may differ: solves agree to that, see the gates."""

Outcome = Literal["better", "worse", "no difference", "not checked before", "not checked now"]
Why = Literal["", "part", "material", "gap"]
Key = tuple[str, str, Horizon]


@dataclass(frozen=True)
class Side:
    """What was found of one device.

    Attributes:
        checks, not_checked: as in an assessment.
        parts: name of each part to that of its material, or to nothing.
        size: of its cells, mm.
        within: name of each part that only this device has to those parts of both within which it
            lies: where a strip is bonded on, it is the strip that bears what the wall bore.
    """

    checks: Sequence[Check]
    not_checked: Sequence[NotChecked]
    parts: Mapping[str, str]
    size: float
    within: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Coarser:
    """The same two values on coarser cells.

    Attributes:
        before, after: the values.
        ratio: of the cell sizes, above 1.
        moved: whether the peak of either lies at another place there.
    """

    before: float
    after: float
    ratio: float
    moved: bool = False


@dataclass(frozen=True)
class Compared:
    """One check of both devices, or of one of them.

    Attributes:
        topic, zone, horizon: what is judged; of buckling, which belongs to the whole, zone is
            "device".
        before, after: the check of each device, or of a part of its own within the zone that is
            asked harder; None where it has none.
        because: why there is only one of them; empty where there are both.
        why: the same in a word: "part" (the other device has no such part), "material" (its part
            is of a material that is judged by other checks), "gap" (it was not checked).
        coarser: the share of what is allowed on coarser cells; None where that is not known.
    """

    topic: str
    zone: str
    horizon: Horizon
    before: Check | None
    after: Check | None
    because: str = ""
    why: Why = ""
    coarser: Coarser | None = None

    @property
    def change(self) -> float | None:
        """By how much the share of what is allowed changes, without the errors of the meshes."""
        if self.before is None or self.after is None:
            return None
        return share(self.after) - share(self.before)

    @property
    def unresolved(self) -> float | None:
        """Up to which change of the share nothing can be told."""
        if self.before is None or self.after is None:
            return None
        one, other = self.before, self.after
        return unresolved(share(one), share(other), share_error(one) + share_error(other),
                          self.coarser, estimated=self.estimated)  # fmt: skip

    @property
    def estimated(self) -> bool:
        """Whether the errors of both were estimated, and not assumed."""
        return all(c is not None and c.error is not None for c in (self.before, self.after))

    @property
    def outcome(self) -> Outcome:
        """What can be said; what is not checked on one side is never better."""
        if self.before is None:
            return "not checked before"
        if self.after is None:
            return "not checked now"
        change, bound = self.change, self.unresolved
        assert change is not None and bound is not None
        if abs(change) <= bound:
            return "no difference"
        return "better" if change < 0.0 else "worse"

    @property
    def lost(self) -> bool:
        """Whether it was checked before and is not now, though the part is still there."""
        return self.after is None and self.why == "gap"

    @property
    def broken(self) -> bool:
        """Whether a requirement that was met is not met now, by a change that can be told."""
        return self.outcome == "worse" and _met(self.before) and not _met(self.after)

    @property
    def flipped(self) -> bool:
        """Whether a requirement that was met is not met now, by a change that cannot be told."""
        return self.outcome == "no difference" and _met(self.before) and not _met(self.after)

    @property
    def mended(self) -> bool:
        """Whether a requirement that was not met is met now, by a change that can be told."""
        return self.outcome == "better" and not _met(self.before) and _met(self.after)


@dataclass(frozen=True)
class GapChange:
    """Something that at least one of the devices was not checked for.

    Attributes:
        topic, zone, horizon: as in `NotChecked`.
        before, after: the reasons; empty where it was not left out.
    """

    topic: str
    zone: str
    horizon: Horizon | None
    before: str
    after: str


def share(check: Check) -> float:
    """The share of what is allowed that a check uses, without the error of the mesh."""
    return check.computed * check.required / check.capacity


def share_error(check: Check) -> float:
    """The error of that share: as estimated, or else `UNKNOWN_SHARE` of it.

    Example:
        >>> check = Check(topic="yield", zone="strip", case="push", place=None, demand=10.0,
        ...               capacity=30.0, unit="MPa", required=1.5, basis="", sources=(), error=2.0)
        >>> share(check), share_error(check)
        (0.4, 0.1)
    """
    error = UNKNOWN_SHARE * check.demand if check.error is None else check.error
    return error * check.required / check.capacity


def unresolved(
    before: float,
    after: float,
    errors: float,
    coarser: Coarser | None = None,
    *,
    estimated: bool = True,
) -> float:
    """Up to which change of a value nothing can be told.

    Args:
        before, after: the value of both devices, 0 or more.
        errors: the sum of both errors.
        coarser: the values on coarser cells.
        estimated: whether `errors` rests on estimates; where it is assumed, it bounds nothing.

    Source: roache-1998 (a band from two meshes), see `fea.study.convergence`.

    Example:
        >>> unresolved(1.0, 0.7, 0.4)
        0.4
        >>> round(unresolved(1.0, 0.7, 0.4, Coarser(0.95, 0.66, 1.4)), 3)
        0.1
    """
    least = SAME * max(before, after)
    if coarser is None or not (before > 0.0 and coarser.before > 0.0):
        return max(errors, least)
    step = after / before - coarser.after / coarser.before
    band = GUESSED_FACTOR * abs(step) / (coarser.ratio**LEAST_ORDER - 1.0) * before
    if estimated:
        band = errors if coarser.moved else min(band, errors)
    elif coarser.moved:
        band = max(band, errors)
    return max(band, CREDIT * errors, least)


def compare_checks(
    before: Side, after: Side, coarser: tuple[Side, Side] | None = None
) -> tuple[Compared, ...]:
    """Every check of two devices, those of both first, the hardest first.

    Args:
        before, after: what was found of each, under the same loads.
        coarser: the same on coarser cells.
    """
    first, second = _paired(before, after)
    again = None if coarser is None else _paired(*coarser)
    ratio = size_ratio((before, after), coarser)
    rows = []
    for key in dict.fromkeys([*first, *second]):
        one, other = first.get(key), second.get(key)
        why, because = _why(key, before, after, one, other)
        found = None
        if again and one and other and key in again[0] and key in again[1]:
            coarse = again[0][key], again[1][key]
            moved = any(_moved(*pair) for pair in zip(
                (one, other), coarse, (coarser or ())[:2], strict=True))  # fmt: skip
            found = Coarser(share(coarse[0]), share(coarse[1]), ratio, moved)
        rows.append(Compared(*key, one, other, because, why, found))
    return tuple(sorted(rows, key=lambda row: (bool(row.because), -_hardest(row))))


def size_ratio(fine: tuple[Side, Side], coarser: tuple[Side, Side] | None) -> float:
    """Of the cell sizes of both devices together; 1 without coarser cells."""
    if coarser is None:
        return 1.0
    return sum(side.size for side in coarser) / sum(side.size for side in fine)


def _met(check: Check | None) -> bool:
    return check is not None and check.met


def _moved(fine: Check, coarse: Check, side: Side) -> bool:
    """Whether a peak lies at another place on coarse cells; a buckle belongs to the whole."""
    if fine.topic == BUCKLING or fine.place is None or coarse.place is None:
        return False
    return math.dist(fine.place, coarse.place) > NEAR * side.size


def _paired(before: Side, after: Side) -> tuple[dict[Key, Check], dict[Key, Check]]:
    """The checks of both by key.

    Thermoplastics are held to the life that was published: one that outlives it is checked for
    early cracks, and one that does not fails its life. That is one question, of one material.
    """
    pair = _keyed(before), _keyed(after)
    for found, other in (pair, pair[::-1]):
        for topic, zone, horizon in list(found):
            key = (LIFE, zone, horizon)
            same = before.parts.get(zone) == after.parts.get(zone)
            if topic == EARLY_CRACKS and same and key in other and key not in found:
                found[key] = found.pop((topic, zone, horizon))
    return pair


def _keyed(side: Side) -> dict[Key, Check]:
    """The hardest check of each topic, zone and horizon.

    A buckle belongs to the whole device: which zone it strains hardest may change with the device.
    What is asked of a part within a zone is asked of the zone too, where that has such a check.
    """
    found: dict[Key, Check] = {}

    def keep(zone: str, check: Check) -> None:
        key = (check.topic, zone, check.horizon)
        if key not in found or check.utilisation > found[key].utilisation:
            found[key] = check

    for check in side.checks:
        keep("device" if check.topic == BUCKLING else check.zone, check)
    for check in side.checks:
        for zone in side.within.get(check.zone, ()):
            if (check.topic, zone, check.horizon) in found:
                keep(zone, check)
    return found


def _hardest(row: Compared) -> float:
    return max(check.utilisation for check in (row.before, row.after) if check is not None)


def _why(
    key: Key, before: Side, after: Side, one: Check | None, other: Check | None
) -> tuple[Why, str]:
    """Why only one device has a check, in a word and for people; nothing where both have it."""
    if one is not None and other is not None:
        return "", ""
    lacking, having = (before, after) if one is None else (after, before)
    topic, zone, horizon = key
    if zone in having.parts and zone not in lacking.parts:
        return "part", f"no part “{zone}” {'before' if one is None else 'now'}"
    for gap in lacking.not_checked:
        if (gap.topic == topic and (gap.zone == zone or zone == "device")
                and gap.horizon in (None, horizon)):  # fmt: skip
            return "gap", gap.because
    material = lacking.parts.get(zone)
    judged = any(check.zone == zone and check.horizon == horizon for check in lacking.checks)
    if judged and material != having.parts.get(zone):
        return "material", f"made of {material}, which is judged by other checks"
    return "gap", "no such check was made"


def compare_gaps(before: Side, after: Side) -> tuple[GapChange, ...]:
    """Everything that one of two devices, or both, was not checked for."""
    first, second = _reasons(before.not_checked), _reasons(after.not_checked)
    return tuple(
        GapChange(*key, "; ".join(first.get(key, ())), "; ".join(second.get(key, ())))
        for key in dict.fromkeys([*first, *second])
    )


def losses(rows: Iterable[Compared], gaps: Iterable[GapChange]) -> tuple[tuple[str, str], ...]:
    """Topic and zone of everything that was checked before and is not, or not all of it, now.

    Of a check that failed before and is met now, what is left open beyond it is no loss: as of a
    life that reaches its published end now, and was over before it.
    """
    rows = tuple(rows)
    cured = {(row.topic, row.zone) for row in rows if _met(row.after) and not _met(row.before)}
    judged = {(row.topic, row.zone) for row in rows if row.before is not None} - cured
    lost = [(row.topic, row.zone) for row in rows if row.lost]
    lost += [(gap.topic, gap.zone) for gap in gaps
             if gap.after and not gap.before and (gap.topic, gap.zone) in judged]  # fmt: skip
    return tuple(dict.fromkeys(lost))


def _reasons(
    not_checked: Iterable[NotChecked],
) -> dict[tuple[str, str, Horizon | None], list[str]]:
    found: dict[tuple[str, str, Horizon | None], list[str]] = {}
    for gap in not_checked:
        reasons = found.setdefault((gap.topic, gap.zone, gap.horizon), [])
        if gap.because not in reasons:
            reasons.append(gap.because)
    return found
