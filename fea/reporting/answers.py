# SPDX-License-Identifier: MIT
"""The verdict taken apart for people: three answers, what governs, what was not checked."""

from collections.abc import Sequence
from dataclasses import dataclass

from fea.assessment import Assessment
from fea.check.check import LOCAL_PEAK, Check, Horizon, longest_start
from fea.check.life import LIFE
from fea.check.purpose import CYCLES
from fea.check.stiffness import ROTATION_FLAG_DEG
from fea.check.verdict import (
    Outlook,
    governing_three,
    grouped,
    open_count,
    outlook_words,
    outlooks,
    place_words,
)
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.reporting.lifetable import lasting_words
from fea.reporting.table import Table, table
from fea.reporting.words import (
    MARKS,
    STATE_MARKS,
    STATE_WORDS,
    body_weights,
    counted,
    listed,
    plain,
)

QUESTIONS: dict[Horizon, str] = {
    "today": "Today, under the loads of a day",
    "first fall": "In the first fall: does it break?",
    "service life": "Over its service life",
}
UNITS = {"1": "", "deg": "°"}
NO_CLINICAL_LIMIT = (
    f"none was read: whether the foot may turn so far is for the prescriber; more than "
    f"{ROTATION_FLAG_DEG:g}° is flagged"
)


@dataclass(frozen=True)
class Answer:
    """One of the three questions with its answer, in words."""

    question: str
    mark: str
    state: str
    sentence: str
    counts: str


@dataclass(frozen=True)
class Card:
    """One of the checks that govern, in words; `figure` is the key of its picture.

    Attributes:
        figure: key;  heading: what and where;  result: met or not, in words.
        place: in words;  facts: name and text;  sources: keys.
        doubts: values from memory, of common practice or assumed.
    """

    figure: str
    heading: str
    result: str
    place: str
    facts: tuple[tuple[str, str], ...]
    doubts: str
    sources: tuple[str, ...]


def answers(result: Assessment) -> tuple[Answer, ...]:
    """The three answers, in order."""
    every = outlooks(result.checks, result.not_checked)
    words = outlook_words(every, result.where)
    return tuple(_answer(result, one, told) for one, told in zip(every, words, strict=True))


def _answer(result: Assessment, outlook: Outlook, words: str) -> Answer:
    met = len(outlook.checks) - len(outlook.failed)
    counts = f"{counted(len(outlook.checks), 'requirement')} judged: {met} met"
    if outlook.failed:
        counts += f", {len(outlook.failed)} not met"
    counts += f". {_open_words(result, outlook)}" if outlook.gaps else "."
    lasting = lasting_words(result, outlook.worst)
    sentence = f"{words[:1].upper()}{words[1:]}{f'; that place {lasting}' if lasting else ''}."
    return Answer(
        _question(result, outlook), STATE_MARKS[outlook.state], STATE_WORDS[outlook.state],
        sentence, counts,
    )  # fmt: skip


def _open_words(result: Assessment, outlook: Outlook) -> str:
    here, every = open_count(outlook.gaps), open_count(result.not_checked)
    if here == every:
        return f"{counted(here, 'thing')} not checked."
    leave = "leaves" if here == 1 else "leave"
    return f"{here} of the {counted(every, 'thing')} not checked {leave} this open."


def _question(result: Assessment, outlook: Outlook) -> str:
    """A question, with how heavy the fall is, or how long it must last."""
    months, horizon = result.requirements.service.months, outlook.horizon
    if horizon == "service life" and _cycles_alone(result, outlook):
        return f"Over the {CYCLES}"
    if horizon == "service life" and months:
        return f"Over the {months:g} month{'' if months == 1 else 's'} that it must last"
    if horizon == "first fall" and result.fall_set and result.fall_set.instants:
        peak = max(map(body_weights, result.fall_set.instants))
        return f"In the first fall, up to {peak:.1f} body weights on the foot: does it break?"
    return QUESTIONS[horizon]


def _cycles_alone(result: Assessment, outlook: Outlook) -> bool:
    """Whether borrowed cycles were judged, and nothing over the months asked for.

    Not told by the checks alone: early cracks are looked for in cycles and in months.
    """
    topics, loads = {check.topic for check in outlook.checks}, result.load_set
    borrowed = loads.purpose == "cyclic" and topics and LIFE not in topics
    return bool(borrowed) and all(row.cycle == loads.name for row in result.life)


def governing_cards(result: Assessment) -> tuple[Card, ...]:
    """The checks that govern, the worst first."""
    three = governing_three(result.checks)
    return tuple(_card(result, check, number) for number, check in enumerate(three, start=1))


def card_key(number: int) -> str:
    """Key of the picture of a governing check, counted from 1."""
    return f"governing-{number}"


def place_of(result: Assessment, check: Check) -> str:
    """Where a check governs, in words."""
    return place_words(check, result.where, exact=True)


def _card(result: Assessment, check: Check, number: int) -> Card:
    return Card(
        figure=card_key(number),
        heading=requirement(check.topic, check.zone),
        result=MARKS[check.met],
        place=place_of(result, check),
        facts=(
            ("Question", QUESTIONS[check.horizon]),
            ("Load case", _case_words(result, check)),
            *_heaviness(result, check),
            *_demand_facts(check),
            *([("How long", lasting)] if (lasting := lasting_words(result, check)) else []),
            ("How it came about", f"{check.basis[:1].upper()}{check.basis[1:]}."),
        ),
        doubts=check.note,
        sources=tuple(dict.fromkeys(check.sources)),
    )


def _demand_facts(check: Check) -> list[tuple[str, str]]:
    """What is asked and borne; of a rotation, what can be judged, which nothing has to bear."""
    demand, used = amount(check.demand, check.unit), percent_text(check.utilisation)
    if check.unit == "deg":
        return [("Turns up to", demand), ("Can be judged up to", amount(check.capacity, "deg")),
                ("Used of that", used), ("Clinical limit", NO_CLINICAL_LIMIT)]  # fmt: skip
    if check.error:
        demand += f", of it {amount(check.error, check.unit)} estimated error of the mesh"
    factor, required = factor_texts(check.factor, check.required)
    return [("Asked of it", demand), ("It can bear", amount(check.capacity, check.unit)),
            ("Factor", f"{factor}, where {required} is required"),
            ("Used of what is allowed", used)]  # fmt: skip


def _heaviness(result: Assessment, check: Check) -> list[tuple[str, str]]:
    """How heavy the first fall is, in body weights."""
    if check.horizon != "first fall" or result.fall_set is None:
        return []
    weights = {case.name: body_weights(case) for case in result.fall_set.instants}
    own = longest_start(check.case, weights)
    if own is None:
        return []
    here, most = weights[own], max(weights.values())
    return [("Force on the foot", f"{here:.1f} body weights; the heaviest of this fall {most:.1f}")]


def _case_words(result: Assessment, check: Check) -> str:
    """The case, with the instant of the gait cycle where it has one."""
    known = {case.name: case.percent for case in reversed((*result.every_case, *result.step))}
    if check.horizon == "first fall" and result.fall_set is not None:
        known = {case.name: case.percent for case in result.fall_set.instants}
    own = longest_start(check.case, known)
    percent = None if own is None else known[own]
    when = "" if percent is None else f", at {percent:.3g} % of the gait cycle"
    return f"{check.case}{when}"


def check_tables(result: Assessment) -> tuple[Table, ...]:
    """Every requirement that was judged, a table for each question that has any."""
    return tuple(
        _check_table(result, outlook)
        for outlook in outlooks(result.checks, result.not_checked)
        if outlook.checks
    )


def _check_table(result: Assessment, outlook: Outlook) -> Table:
    left_out: dict[str, list[str]] = {}
    for item in result.not_checked:
        if item.topic == LOCAL_PEAK:
            left_out.setdefault(item.zone, []).append(item.because)
    rows, details = [], []
    for check in outlook.checks:
        factor, required = factor_texts(check.factor, check.required)
        rows.append((
            _row_name(check), MARKS[check.met],
            amount(check.demand, check.unit),
            None if check.error is None else amount(check.error, check.unit),
            amount(check.capacity, check.unit),
            factor, required, percent_text(check.utilisation)))  # fmt: skip
        details.append(_detail(check, left_out.get(check.zone, [])))
    return table(
        f"{QUESTIONS[outlook.horizon].rstrip('?')}: every requirement that was judged, hardest "
        "first.",
        ["requirement", "result", ">demand", ">of it, error", ">capacity", ">factor", ">required",
         ">utilisation"],
        rows, strong=[k for k, check in enumerate(outlook.checks) if not check.met],
        details=details)  # fmt: skip


def _row_name(check: Check) -> str:
    name = requirement(check.topic, check.zone)
    return f"{name} (what can be judged, no clinical limit)" if check.unit == "deg" else name


def _detail(check: Check, left_out: Sequence[str]) -> str:
    reservations = "; ".join(filter(None, [check.remarks, *left_out]))
    words = [f"Case: {check.case}", check.basis[:1].upper() + check.basis[1:],
             f"Reservations: {reservations}" if reservations else "",
             f"Source: {', '.join(check.sources)}" if check.sources else ""]  # fmt: skip
    return ". ".join(word.rstrip(".") for word in words if word) + "."


def gaps_table(result: Assessment) -> Table:
    """What could not be judged; places with the same topic and reason share a row."""
    rows = [
        (gap.topic, gap.because, listed([plain(zone) for zone in gap.zones]),
         "all" if len(gap.horizons) == len(QUESTIONS) else listed(gap.horizons))
        for gap in grouped(result.not_checked)
    ]  # fmt: skip
    return table(f"Requirements that could not be judged, {len(rows)} in all: each topic and "
                 "reason counts once, with all its places.",
                 ["requirement", "reason", "of", "questions left open"], rows)  # fmt: skip


def amount(value: float, unit: str) -> str:
    """A quantity with its unit.

    Example:
        >>> amount(12.34, "MPa"), amount(0.5, "1"), amount(8.0, "deg")
        ('12.3 MPa', '0.500', '8.00°')
    """
    return f"{quantity_text(value)}{UNITS.get(unit, f' {unit}')}"


def requirement(topic: str, zone: str) -> str:
    """A requirement in words.

    Example:
        >>> requirement("yield", "calf-shell"), requirement("ankle rotation", "device")
        ('yield, calf shell', 'ankle rotation')
    """
    return topic if zone in ("", "device") else f"{topic}, {plain(zone)}"
