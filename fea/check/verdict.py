# SPDX-License-Identifier: MIT
"""The verdict: one word, one sentence for three questions, and what governs it.

The questions are those of `fea.check.check.Horizon`: today, the first fall, the service life. A
question without a check is "not checked", and keeps the whole from being met.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from fea.check.check import BUCKLING, Check, Horizon, NotChecked
from fea.check.life import EARLY_CRACKS
from fea.check.whereabouts import Whereabouts
from fea.check.wording import times_text

Verdict = Literal["met", "not met", "not fully checked"]
State = Literal["met", "not met", "not fully checked", "not checked"]

HORIZONS: tuple[Horizon, ...] = get_args(Horizon)
WHEN: dict[Horizon, str] = {
    "today": "today", "first fall": "in a first fall", "service life": "over its service life",
}  # fmt: skip
KNOWN_LIFE = "over the part of its service life that published tests reach"
GOVERNING = 3
"""How many of the worst checks are shown one by one."""


@dataclass(frozen=True)
class Outlook:
    """The answer to one of the three questions.

    Attributes:
        horizon: the question.
        state: "met" only when something was checked, all of it is met and nothing is left open.
        checks: of this horizon, the worst first.
        gaps: what leaves it open.
    """

    horizon: Horizon
    state: State
    checks: tuple[Check, ...]
    gaps: tuple[NotChecked, ...]

    @property
    def when(self) -> str:
        """What the answer is for; life that no test reached is no part of it."""
        early = any(check.topic == EARLY_CRACKS for check in self.checks)
        return KNOWN_LIFE if early and self.state != "not met" else WHEN[self.horizon]

    @property
    def worst(self) -> Check | None:
        """The check nearest to its limit, or furthest beyond it."""
        return self.checks[0] if self.checks else None

    @property
    def failed(self) -> tuple[Check, ...]:
        """The checks that are not met."""
        return tuple(check for check in self.checks if not check.met)


@dataclass(frozen=True)
class Gap:
    """What was not checked for one reason, wherever it stands.

    Attributes:
        topic, because: as in `NotChecked`.
        zones: where;  horizons: questions that stay open for it.
    """

    topic: str
    because: str
    zones: tuple[str, ...]
    horizons: tuple[Horizon, ...]


def outlooks(checks: Sequence[Check], not_checked: Sequence[NotChecked]) -> tuple[Outlook, ...]:
    """The answer to each of the three questions, in order.

    Example:
        >>> check = Check(topic="yield", zone="strip", case="push", place=None, demand=1.0,
        ...               capacity=2.0, unit="MPa", required=1.5, basis="", sources=())
        >>> [outlook.state for outlook in outlooks([check], [])]
        ['met', 'not checked', 'not checked']
    """
    return tuple(_outlook(horizon, checks, not_checked) for horizon in HORIZONS)


def _outlook(
    horizon: Horizon, checks: Sequence[Check], not_checked: Sequence[NotChecked]
) -> Outlook:
    own = sorted((c for c in checks if c.horizon == horizon), key=lambda c: -c.utilisation)
    gaps = tuple(gap for gap in not_checked if gap.horizon in (None, horizon))
    state: State = "met"
    if any(not check.met for check in own):
        state = "not met"
    elif not own:
        state = "not checked"
    elif gaps:
        state = "not fully checked"
    return Outlook(horizon, state, tuple(own), gaps)


def verdict_of(checks: Sequence[Check], not_checked: Sequence[NotChecked]) -> Verdict:
    """ "met" only when each of the three questions is, and nothing is left open."""
    states = {outlook.state for outlook in outlooks(checks, not_checked)}
    if "not met" in states:
        return "not met"
    return "met" if states == {"met"} else "not fully checked"


def governing_three(checks: Sequence[Check]) -> tuple[Check, ...]:
    """The worst three checks over all topics, zones and horizons, the worst first."""
    return tuple(sorted(checks, key=lambda check: -check.utilisation)[:GOVERNING])


def grouped(not_checked: Sequence[NotChecked]) -> tuple[Gap, ...]:
    """Each topic and reason once, with all its places and open questions.

    Example:
        >>> gaps = [NotChecked(topic="fastening", zone=z, because="untested") for z in "ab"]
        >>> grouped(gaps)[0].zones
        ('a', 'b')
    """
    members: dict[tuple[str, str], list[NotChecked]] = {}
    for item in not_checked:
        members.setdefault((item.topic, item.because), []).append(item)
    return tuple(
        Gap(topic, because, tuple(dict.fromkeys(item.zone for item in items)), _open(items))
        for (topic, because), items in members.items()
    )


def open_count(not_checked: Sequence[NotChecked]) -> int:
    """How many things were not checked: the one count of terminal, summary and report.

    Each topic and reason counts once, wherever it stands and whichever questions it leaves open.

    Example:
        >>> open_count([NotChecked(topic="fastening", zone=z, because="untested") for z in "ab"])
        1
    """
    return len(grouped(not_checked))


def _open(items: Sequence[NotChecked]) -> tuple[Horizon, ...]:
    named = {item.horizon for item in items}
    return HORIZONS if None in named else tuple(one for one in HORIZONS if one in named)


def verdict_sentence(
    checks: Sequence[Check],
    not_checked: Sequence[NotChecked],
    where: Whereabouts | None = None,
) -> str:
    """The verdict for people, in one sentence.

    Args:
        checks, not_checked: what was judged, and what was not.
        where: names places on the limb; None falls back on the zones' names.
    """
    if not checks:
        return "Nothing could be checked, so this device is not shown to hold."
    answers = outlooks(checks, not_checked)
    failing = [one for one in answers if one.state == "not met"]
    holding = [one for one in answers if one.checks and one not in failing]
    unseen = [one for one in answers if not one.checks]
    (worst,) = governing_three(checks)[:1]
    margin = margin_words(worst, where, said=bool(failing))
    parts = []
    if failing:
        opening = f"This device does not hold {_when(failing)}: {margin}"
        if len(failing) > 1:
            opening += f" ({WHEN[worst.horizon]})"
        parts += [opening, *([f"{_when(holding)} what was checked holds"] if holding else [])]
    else:
        whole = verdict_of(checks, not_checked) == "met"
        subject = "This device holds" if whole else "As far as it was checked, this device holds"
        parts.append(f"{subject} {_when(holding)}, the closest being {margin}")
    if unseen:
        parts.append(f"{_when(unseen)} nothing was checked")
    count = open_count(not_checked)
    if count:
        parts.append(f"{count} thing{'s were' if count > 1 else ' was'} not checked")
    ending = "" if failing or not (unseen or count) else ", so it is not shown to hold"
    return f"{'; '.join(parts)}{ending}."


def _when(answers: Sequence[Outlook]) -> str:
    return _listed([one.when for one in answers])


def _listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def outlook_words(answers: Sequence[Outlook], where: Whereabouts | None = None) -> tuple[str, ...]:
    """The answer to each question, as a part of a sentence.

    Places that would read alike and lie apart are given with their distances.
    """
    worst = [one.worst for one in answers if one.worst is not None]
    return tuple(
        _outlook_words(one, where, exact=_read_alike(one.worst, worst, where)) for one in answers
    )


def _read_alike(
    check: Check | None, others: Sequence[Check], where: Whereabouts | None
) -> bool:
    """Whether another place has the same words."""
    return check is not None and any(
        place_words(check, where) == place_words(other, where)
        and place_words(check, where, exact=True) != place_words(other, where, exact=True)
        for other in others
    )


def _outlook_words(answer: Outlook, where: Whereabouts | None, *, exact: bool) -> str:
    when = answer.when
    if answer.worst is None:
        return f"{when} nothing was checked"
    margin = margin_words(answer.worst, where, exact=exact)
    if answer.state == "not met":
        more = len(answer.failed) - 1
        others = f" ({more} more check{'s fail' if more > 1 else ' fails'})" if more else ""
        return f"{when} it does not hold, the worst being {margin}{others}"
    holds = "it holds" if answer.state == "met" else "all that was checked holds"
    return f"{when} {holds}, the closest being {margin}"


def margin_words(
    check: Check, where: Whereabouts | None = None, *, said: bool = False, exact: bool = False
) -> str:
    """By how much a check is met or missed, and where, as a part of a sentence.

    The number is that of what is allowed over what is used, with all required factors in it.

    Args:
        check: in question.
        where: names places on the limb.
        said: as a clause of its own, "the strip is …", and not as "the strip, which is …".
        exact: with the distances that find the place.
    """
    spot, what = _margin(check, place_words(check, where, exact=exact))
    return f"{spot} {what}" if said else f"{spot}, which {what}"


def _margin(check: Check, spot: str) -> tuple[str, str]:
    """What is meant, and what it does."""
    if check.demand == 0.0:
        return spot, "is asked nothing"
    if check.unit == "deg":
        turn, most = math.ceil(10.0 * check.demand) / 10.0, check.capacity / check.required
        of = "of the" if check.met else "more than the"
        reach = f"{of} {most:.1f}° that this calculation can judge (no clinical limit)"
        return "the ankle", f"turns up to {turn:.1f}°, {reach}"
    if check.unit == "kPa":
        share = math.ceil(100.0 * check.utilisation) / 100.0
        return f"the skin at {spot}", f"is pressed {share:.2f} times as hard as is allowed"
    kind = "as safe from buckling" if check.topic == BUCKLING else "as strong"
    times = f"{times_text(check.utilisation)} times {kind}"
    return spot, f"is {times} as it must be" if check.met else f"must be {times}"


def place_words(check: Check, where: Whereabouts | None = None, *, exact: bool = False) -> str:
    """Where a check governs: joint or hole and region of the limb, or else the name of its zone.

    Args:
        check: in question.
        where: names places on the limb.
        exact: with the distances that find the place.
    """
    if check.place is not None and where is not None:
        spot = f"the {where.region(check.place)}"
        if exact:
            spot += f" ({where.distances(check.place)})"
        joint = where.joints.get(check.zone)
        return f"{joint} at {spot}" if joint else spot
    if check.zone in ("", "device"):
        return "the device as a whole"
    return f"the {check.zone.replace('-', ' ').replace('_', ' ')}"
