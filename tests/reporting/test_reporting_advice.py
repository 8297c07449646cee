# SPDX-License-Identifier: MIT
"""What to change first, on the page and in the summary: ranked, honest, and of one mind."""

import json
from dataclasses import replace

import pytest
from fake_assessment import assessment

from fea.reporting.advising import TITLE, advice_part, advice_table
from fea.reporting.nextsteps import next_steps
from fea.reporting.page import build_page
from fea.reporting.summary import Summary, summary_json
from fea.study.advice import Advice, Effect, Option, Step

RESULT = assessment(1.44)
SHELL, PLATE, BAR = RESULT.checks
LIFE = replace(SHELL, topic="life", horizon="service life")


def made(*, targets=(SHELL, LIFE), slope=-2.0):
    """A shell that helps itself, a plate that hurts the shell."""
    shell = Option(
        ("calf-shell",), 200.0, Step(4.0, 5.0, "mm", 1.25, 50.0),
        Step(4.0, 3.0, "mm", 0.75, -50.0),
        (Effect(SHELL, slope, -1.44 * slope / 200.0), Effect(PLATE, 0.3, -0.3 * 0.3125 / 200.0)),
    )  # fmt: skip
    plate = Option(("foot-plate",), 100.0, None, Step(5.0, 4.0, "mm", 0.8, -20.0),
                   (Effect(SHELL, 0.1, -0.00144), Effect(PLATE, -2.0, 0.00625)))  # fmt: skip
    return Advice(RESULT, targets, (plate, shell), ((LIFE, "a life rests on many cases"),))


def spaced(text):
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_a_row_says_size_grams_gain_and_what_comes_of_it():
    row = [spaced(cell) for cell in advice_table(made()).rows[0]]
    assert row[:4] == ["calf shell", "4 → 5 mm", "50 g", "1.44 % points"]
    assert row[4] == "yield of calf shell: 144 → 92 %"  # 1.44 / 1.25²
    assert row[5] == "worse: yield of foot plate: 32 → 33 %"  # 0.3125 × 1.25^0.3


def test_what_has_no_estimate_is_named_with_its_reason():
    lines = advice_part(made()).lines
    assert "No estimate for life of the calf shell (144 %): a life rests on many cases." in lines
    assert "first order" in lines[0] and "stanchion check" in lines[0]
    assert "of these life without an estimate" in lines[-1]


def test_where_nothing_helps_there_is_no_table():
    part = advice_part(made(targets=(SHELL,), slope=0.5))
    assert part.tables == ()
    assert any("No wall or bar is known to help yield of the calf shell" in line
               for line in part.lines)  # fmt: skip


def test_where_it_is_thinner_for_the_least_loss_the_loss_is_told():
    def told(found):
        return next(spaced(line) for line in advice_part(found).lines if "comes off" in line)

    assert "foot plate: 5 → 4 mm, 20 g less" in told(made())
    assert "every check with an estimate bears: yield of foot plate: 32 → 49 %" in told(made())
    worse = told(replace(made(), options=made().options[1:], missing=()))
    assert "takes beyond what is allowed" in worse and "144 → 256 %" in worse


def test_nothing_comes_off_where_something_not_met_has_no_estimate():
    """The life of the shell is missed, and nobody knows what a thinner shell does to it."""
    assert [each.zones for each in made().spare] == [("foot-plate",)]
    assert len(replace(made(), missing=()).spare) == 2


def test_where_all_is_met_it_says_so():
    easy = replace(PLATE, demand=1.0)
    option = Option(("foot-plate",), 100.0, Step(5.0, 6.0, "mm", 1.2, 20.0), None,
                    (Effect(easy, -2.0, 0.01),))  # fmt: skip
    caption = advice_table(Advice(RESULT, (easy,), (option,), ())).caption
    assert "all that was judged is met" in caption


def test_the_needed_wall_is_that_of_the_sensitivity():
    """4 √1.44 = 4.8 mm by a slope of −2; without it 4 × 1.44 = 5.8 mm."""
    needed = {known: next_steps(RESULT, known)[-3].tables[0].rows[0][4]
              for known in (None, made())}  # fmt: skip
    assert [each.split(",")[0] for each in needed.values()] == ["5.8 mm", "4.8 mm"]
    none = next_steps(RESULT, made(slope=0.2))[-3].tables[0].rows[0]
    assert none[4] == "thicker does not help: change the design"


def test_page_and_summary_have_it_where_it_was_looked_for():
    titles = [part.title for part in build_page(RESULT, advice=made()).next_steps]
    assert titles[0] == TITLE
    assert TITLE not in [part.title for part in build_page(RESULT).next_steps]
    assert json.loads(summary_json(RESULT))["advice"] is None
    text = summary_json(RESULT, advice=made(slope=0.2))
    summary = Summary.model_validate_json(text)
    assert summary.bench_work.measure[0].least_wall_mm is None  # thicker does not help
    told = Summary.model_validate_json(summary_json(RESULT, advice=made())).advice
    assert [each.zones for each in told.options] == [("calf-shell",), ("foot-plate",)]
    first = told.options[0].effects[0]
    assert first.utilisation_thicker == pytest.approx(1.44 / 1.25**2)
    assert told.no_estimate[0].because == "a life rests on many cases"
    assert told.options[0].helps_most == (("yield", "calf-shell", "today"),)
