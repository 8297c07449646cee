# SPDX-License-Identifier: MIT
"""The verdict taken apart for people: three answers, what governs, what was not checked."""

from collections.abc import Sequence
from dataclasses import dataclass

from fea.assessment import Assessment
from fea.check.check import LOCAL_PEAK, Check, Horizon
from fea.check.verdict import Outlook, governing_three, grouped, outlook_words, outlooks
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.reporting.table import Table, table
from fea.reporting.words import (
    MARKS,
    STATE_MARKS,
    STATE_WORDS,
    counted,
    listed,
    plain,
)

QUESTIONS: dict[Horizon, str] = {
    "today": "Today, under the loads of a day",
    "first fall": "In the first fall: does it break?",
    "service life": "Over its service life",
}


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
    return tuple(_answer(result, one) for one in outlooks(result.checks, result.not_checked))


def _answer(result: Assessment, outlook: Outlook) -> Answer:
    words = outlook_words(outlook, result.where)
    met = len(outlook.checks) - len(outlook.failed)
    counts = f"{counted(len(outlook.checks), 'requirement')} judged: {met} met"
    if outlook.failed:
        counts += f", {len(outlook.failed)} not met"
    open_count = len(grouped(outlook.gaps))
    counts += f". {counted(open_count, 'thing')} not checked." if open_count else "."
    question = QUESTIONS[outlook.horizon]
    if outlook.horizon == "service life" and (months := result.requirements.service.months):
        question = f"Over the {months:g} month{'' if months == 1 else 's'} that it must last"
    return Answer(
        question, STATE_MARKS[outlook.state], STATE_WORDS[outlook.state],
        f"{words[:1].upper()}{words[1:]}.", counts,
    )  # fmt: skip


def governing_cards(result: Assessment) -> tuple[Card, ...]:
    """The checks that govern, the worst first."""
    three = governing_three(result.checks)
    return tuple(_card(result, check, number) for number, check in enumerate(three, start=1))


def card_key(number: int) -> str:
    """Key of the picture of a governing check, counted from 1."""
    return f"governing-{number}"


def place_of(result: Assessment, check: Check) -> str:
    """Where a check governs, in words."""
    if check.place is None:
        return "the device as a whole"
    return result.where.words(check.place)


def _card(result: Assessment, check: Check, number: int) -> Card:
    factor, required = factor_texts(check.factor, check.required)
    demand = amount(check.demand, check.unit)
    if check.error:
        demand += f", of it {amount(check.error, check.unit)} estimated error of the mesh"
    return Card(
        figure=card_key(number),
        heading=requirement(check.topic, check.zone),
        result=MARKS[check.met],
        place=place_of(result, check),
        facts=(
            ("Question", QUESTIONS[check.horizon]),
            ("Load case", _case_words(result, check)),
            ("Asked of it", demand),
            ("It can bear", amount(check.capacity, check.unit)),
            ("Factor", f"{factor}, where {required} is required"),
            ("Used of what is allowed", percent_text(check.utilisation)),
            ("How it came about", f"{check.basis[:1].upper()}{check.basis[1:]}."),
        ),
        doubts=check.note,
        sources=tuple(dict.fromkeys(check.sources)),
    )


def _case_words(result: Assessment, check: Check) -> str:
    """The case, with the instant of the gait cycle where it has one."""
    known = [(case.name, case.percent) for case in (*result.every_case, *result.step)]
    if check.horizon == "first fall" and result.fall_set is not None:
        known = [(case.name, case.percent) for case in result.fall_set.instants]
    percent = next((at for name, at in known if check.case.startswith(name)), None)
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
            requirement(check.topic, check.zone), MARKS[check.met],
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


def _detail(check: Check, left_out: Sequence[str]) -> str:
    reservations = "; ".join(filter(None, [check.remarks, *left_out]))
    words = [f"Case: {check.case}", check.basis[:1].upper() + check.basis[1:],
             f"Reservations: {reservations}" if reservations else "",
             f"Source: {', '.join(check.sources)}" if check.sources else ""]  # fmt: skip
    return ". ".join(word.rstrip(".") for word in words if word) + "."


def gaps_table(result: Assessment) -> Table:
    """What could not be judged; places with the same topic and reason share a row."""
    rows = [
        (plain(gap.topic), gap.because, listed([plain(zone) for zone in gap.zones]),
         "all" if len(gap.horizons) == len(QUESTIONS) else listed(gap.horizons))
        for gap in grouped(result.not_checked)
    ]  # fmt: skip
    return table("Requirements that could not be judged.",
                 ["requirement", "reason", "of", "questions left open"], rows)  # fmt: skip


def amount(value: float, unit: str) -> str:
    """A quantity with its unit.

    Example:
        >>> amount(12.34, "MPa"), amount(0.5, "1")
        ('12.3 MPa', '0.500')
    """
    return quantity_text(value) if unit == "1" else f"{quantity_text(value)} {unit}"


def requirement(topic: str, zone: str) -> str:
    """A requirement in words.

    Example:
        >>> requirement("yield", "calf-shell"), requirement("ankle rotation", "device")
        ('yield, calf shell', 'ankle rotation')
    """
    return plain(topic) if zone in ("", "device") else f"{plain(topic)}, {plain(zone)}"
