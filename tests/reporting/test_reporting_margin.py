# SPDX-License-Identifier: MIT
"""The largest body mass and the sensitivity on the page, in the summary and in the CSV."""

import csv
import io
import json
from dataclasses import replace

import pytest
from fake_assessment import assessment

from fea.reporting.margin import margin_figure, margin_part
from fea.reporting.page import build_page
from fea.reporting.summary import Summary, summary_json
from fea.reporting.summarycsv import summary_csv
from fea.study.margin import Margin
from fea.study.mass import LargestMass, Trial
from fea.study.sensitivity import Response, Sensitivity

RESULT = assessment(0.8)


def made(*, refused=""):
    worst = replace(RESULT.checks[0], zone="upright", case="push-off")
    heavier = replace(worst, demand=1.003 * worst.capacity / worst.required)
    trials = (
        Trial(35.0, (worst,), RESULT.not_checked),
        Trial(44.5, () if refused else (heavier,), RESULT.not_checked, refused),
        Trial(44.0, (worst,), RESULT.not_checked),
    )
    largest = LargestMass("Walking envelope", 35.0, trials[2], trials[1], trials)
    responses = (
        Response("load factor", "+5 %", 0.952 * worst.factor, -0.048),
        Response("centre of pressure", "+0.02 foot lengths", None, None, "at the end of the plate"),
    )
    return Margin(largest, Sensitivity(worst, responses))


def test_the_section_says_the_mass_under_this_load_set_only_and_names_it():
    part = margin_part(made())
    assert part.lines[0].startswith("Under this load set only (Walking envelope), every check that")
    masses, responses = part.tables
    assert [row[0] for row in masses.rows] == ["35", "44", "44.5"]
    assert [row[1] for row in masses.rows] == ["met", "met", "NOT MET"] and masses.strong == {2}
    assert masses.rows[2][2] == "100.3"
    assert responses.rows[0][3] == "−4.8" and responses.rows[1][2:4] == ("–", "–")
    for title, right in (*masses.columns, *responses.columns):
        assert not right or any(unit in title for unit in ("kg", "%", "–", "by"))


def test_a_refused_mass_says_why_and_is_left_out_of_the_chart():
    margin = made(refused="the ankle turns by 73°")
    assert margin_part(margin).tables[0].rows[2][-1] == "the ankle turns by 73°"
    assert b"<svg" in margin_figure(margin).content


def test_the_page_has_the_section_only_where_it_was_asked_for():
    titles = [part.title for part in build_page(RESULT, margin=made()).evidence]
    assert titles[:2] == ["Largest body mass", "Mesh"]
    assert "Largest body mass" not in [part.title for part in build_page(RESULT).evidence]


def test_summary_and_csv_hold_the_mass_in_kg():
    found = json.loads(summary_json(RESULT, margin=made()))["margin"]
    assert (found["own_mass_kg"], found["largest_mass_kg"], found["not_met_at_kg"]) == (
        35.0, 44.0, 44.5)
    assert found["load_set"] == "Walking envelope"
    assert [one["relative_change"] for one in found["responses"]] == [-0.048, None]
    Summary.model_validate_json(summary_json(RESULT, margin=made(refused="no")))
    rows = list(csv.DictReader(io.StringIO(summary_csv(RESULT, margin=made()))))
    (mass,) = [row for row in rows if row["state"] == "largest body mass"]
    assert (mass["demand"], mass["capacity"], mass["unit"]) == ("35.0", "44.0", "kg")
    assert float(mass["factor"]) == pytest.approx(44.0 / 35.0)
    assert len([row for row in rows if row["state"] == "sensitivity"]) == 2
    assert json.loads(summary_json(RESULT))["margin"] is None
