# SPDX-License-Identifier: MIT
"""The answers for people: how heavy, how long, what can be judged, one count of what was not."""

from dataclasses import replace

from fake_assessment import assessment

from fea.check.check import Check, NotChecked
from fea.check.life import EARLY_CRACKS, LIFE, LifeRow
from fea.check.purpose import CYCLES
from fea.check.verdict import open_count
from fea.loadcase.instant import StanceInstant
from fea.reporting.page import build_page
from fea.reporting.summary import summarise
from fea.reporting.summarycsv import summary_csv


def test_the_card_of_a_fall_says_how_heavy_it_is_from_the_load_set():
    result = assessment(0.9)
    light = StanceInstant(name="cop", percent=None, fz_bw=1.0, fx_bw=0.0)
    hard = StanceInstant(name="cop-7", percent=None, fz_bw=1.2, fx_bw=0.5)  # 5, 12, 13
    heavy = StanceInstant(name="other", percent=None, fz_bw=3.0, fx_bw=4.0)
    fall_set = replace(result.load_set, instants=(light, hard, heavy), pushes=(), bends=())
    fall = replace(result.checks[0], horizon="first fall", demand=30.0)
    page = build_page(_with(result, checks=(fall,), fall_set=fall_set))
    assert dict(page.governing[0].facts)["Force on the foot"] == (
        "1.3 body weights; the heaviest of this fall 5.0")
    assert page.answers[1].question == (
        "In the first fall, up to 5.0 body weights on the foot: does it break?")


def _with(result, *, fall_set, **changes):
    result = replace(result, **changes)
    object.__setattr__(result, "fall_set", fall_set)
    return result


def test_life_is_told_in_days_beside_the_days_asked_for():
    result = assessment(0.9)
    check = replace(result.checks[2], topic="life", horizon="service life")
    row = _life_row(check)
    page = build_page(replace(result, checks=(check,), life=(row,)))
    # 36 months are asked for: 36 × 30.4375 = 1095.75 days, 0.79 months are 24.05.
    lasting = dict(page.governing[0].facts)["How long"]
    assert lasting == "holds for about 24 of the 1095 days asked for"
    assert page.answers[2].sentence.endswith(
        "; that place holds for about 24 of the 1095 days asked for.")
    long = build_page(replace(result, checks=(check,), life=(replace(row, months=50.0),)))
    assert dict(long.governing[0].facts)["How long"] == "holds for all of the 1095 days asked for"
    early = replace(row, months=None, months_middle=None, months_tested=0.79)
    page = build_page(replace(result, checks=(check,), life=(early,)))
    assert dict(page.governing[0].facts)["How long"] == (
        "is not shown to hold even for the 24 of the 1095 days asked for that published tests "
        "reach")
    known = replace(early, state="beyond published life")
    page = build_page(replace(result, checks=(check,), life=(known,)))
    assert page.answers[2].sentence.endswith(
        "; that place is known to hold for about 24 of the 1095 days asked for, as far as "
        "published tests reach.")


def test_a_row_of_life_names_its_cycle_for_people_and_programs():
    result = assessment(0.9)
    check = result.checks[2]
    row = _life_row(check)
    page = build_page(replace(result, life=(row,)))
    (life,) = page.life[0].tables
    assert dict(zip(life.headers, life.rows[0], strict=True))["cycle"] == "step"
    assert summarise(replace(result, life=(row,))).life[0].cycle == "step"


def test_borrowed_cycles_are_not_said_to_last_the_months_asked_for():
    result = assessment(0.9)
    cycles = replace(result.checks[2], topic=CYCLES, horizon="service life")
    cyclic = replace(result.load_set, name="bench", purpose="cyclic", instants=())
    borrowed = replace(result, load_set=cyclic, checks=(cycles,))
    row = replace(_life_row(cycles), cycle="bench")

    def asked(**changes):
        return build_page(replace(borrowed, **changes)).answers[2].question

    months = "Over the 36 months that it must last"
    assert asked() == asked(life=(row,)) == "Over the cycles of the load set"
    assert asked(checks=(replace(cycles, topic=EARLY_CRACKS),), life=(row,)) == (
        "Over the cycles of the load set")
    assert asked(checks=(cycles, replace(cycles, topic=LIFE))) == months
    assert asked(checks=(replace(cycles, topic=EARLY_CRACKS),), life=(_life_row(cycles),)) == months
    assert asked(checks=()) == months


def test_the_instant_of_a_case_is_that_of_the_longest_name_it_begins_with():
    result = assessment(0.9)
    short, long = (replace(result.cases[0], name=name, percent=percent)
                   for name, percent in (("cop", 10.0), ("cop-7", 47.0)))
    check = replace(result.checks[0], case="cop-7, soft foot")
    page = build_page(replace(result, cases=(short, long), step=(), checks=(check,)))
    assert dict(page.governing[0].facts)["Load case"] == (
        "cop-7, soft foot, at 47 % of the gait cycle")


def _life_row(check):
    return LifeRow(
        zone=check.zone, cycle="step", place=check.place, what="fibre stress", first="loading",
        second="push-off", amplitude=60.0, mean=10.0, asked=1562345.6, factor=1.1, required=1.38,
        state="not outlived", months=0.79, months_middle=40.2)


def test_a_rotation_is_never_said_to_be_allowed():
    turn = Check(topic="ankle rotation", zone="device", case="c", place=None, demand=7.55,
                 capacity=8.0, unit="deg", required=1.0, basis="", sources=())
    page = build_page(replace(assessment(0.9), checks=(turn,)))
    facts = dict(page.governing[0].facts)
    assert facts["Can be judged up to"] == "8.00°" and "none was read" in facts["Clinical limit"]
    assert "It can bear" not in facts and "Used of what is allowed" not in facts
    assert page.checks[0].rows[0][0] == "ankle rotation (what can be judged, no clinical limit)"
    assert "no clinical limit" in page.answers[0].sentence
    assert "no clinical limit was read" in dict(page.facts)["Largest turn of the ankle in a day"]


def test_what_is_not_checked_is_counted_alike_everywhere():
    result = assessment(0.9)
    gaps = tuple(NotChecked(topic="life", zone=zone, because=because, horizon=horizon)
                 for zone, because, horizon in (
                     ("a", "tests end", "service life"), ("b", "tests end", "service life"),
                     ("a", "no number", None)))
    result = replace(result, not_checked=gaps)
    page, summary = build_page(result), summarise(result)
    assert len(page.not_checked.rows) == len(summary.not_checked) == open_count(gaps) == 2
    assert "2 in all: each topic and reason counts once" in page.not_checked.caption
    assert [one.gaps for one in summary.outlooks] == [1, 1, 2]
    assert page.answers[0].counts.endswith(" 1 of the 2 things not checked leaves this open.")
    assert page.answers[2].counts.endswith(" 2 things not checked.")
    assert summary.not_checked[0].zones == ("a", "b")
    rows = [line for line in summary_csv(result).splitlines() if line.startswith("not checked")]
    assert [row.split(",")[1:4] for row in rows] == [["service life", "life", "a; b"],
                                                    ["every", "life", "a"]]
