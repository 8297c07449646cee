# SPDX-License-Identifier: MIT
"""A refinement study on the page, in the summary, in the CSV and on the screen."""

import csv
import io
import json
import re

import pytest
from fake_refinement import study

from fea.reporting.figures import Figures
from fea.reporting.page import build_page
from fea.reporting.refining import refinement_figure, refinement_part, refinement_text
from fea.reporting.summary import Summary, summary_json
from fea.reporting.summarycsv import summary_csv


@pytest.fixture(scope="module")
def made():
    return study()


def test_the_summary_holds_meshes_values_and_convergence(made):
    text = summary_json(made.assessment, made)
    found = Summary.model_validate_json(text).refinement
    assert [level.cell_size_mm for level in found.levels] == [6.0, 4.0, 3.0]
    first, swinging, _ = found.peaks
    assert first.extrapolated == pytest.approx(20.0)
    assert first.observed_order == pytest.approx(2.0)
    # (20.9 − 20.0) × 1.25 / 20.9
    assert first.grid_convergence_index == pytest.approx(0.9 * 1.25 / 20.9)
    assert (swinging.manner, swinging.extrapolated, swinging.close) == ("swinging", None, False)
    assert {"celik-2008", "roache-1998"} <= set(json.loads(text)["sources"])


def test_without_a_study_there_is_none_in_the_summary(made):
    data = json.loads(summary_json(made.assessment))
    assert data["refinement"] is None
    assert "celik-2008" not in data["sources"]


def test_the_csv_has_a_line_for_each_peak(made):
    lines = list(csv.DictReader(io.StringIO(summary_csv(made.assessment, made))))
    refined = [line for line in lines if line["state"] == "refinement"]
    assert [float(line["demand"]) for line in refined] == pytest.approx([20.0, 6.0, 61.0], rel=1e-3)
    assert float(refined[0]["utilisation"]) == pytest.approx(20.0 * 1.5 / 24.0)
    assert "23.6 at 6 mm, 21.6 at 4 mm, 20.9 at 3 mm" in refined[0]["note"]
    assert not [line for line in csv.DictReader(io.StringIO(summary_csv(made.assessment)))
                if line["state"] == "refinement"]


def test_the_page_shows_the_study_beside_the_mesh(made):
    page = build_page(made.assessment, "", made)
    assert [part.title for part in page.evidence[:2]] == ["Mesh", "Refinement study"]
    _, peaks = refinement_part(made).tables
    assert peaks.headers[2:5] == (">6.0 mm", ">4.0 mm", ">3.0 mm")
    assert peaks.rows[0][1:] == (
        "MPa", "23.6", "21.6", "20.9", "2.0", "20.0", "± 6 %", "18 %", "NO")
    assert peaks.rows[1][5:8] == ("swinging", "–", "–")
    assert peaks.strong == {0, 1}


def test_what_moved_is_said_on_page_screen_and_for_programs():
    moved = study(moved=True)
    words = "the peak moved from (0, 0, 1) to (0, 13, 1); it goes from 20.9 to 23.6 MPa"
    assert words in refinement_text(moved)
    part = refinement_part(moved)
    assert any(words in line and "counts as not checked" in line for line in part.lines)
    assert part.tables[1].rows[0][5:] == ("moved", "–", "–", "13 %", "NO")
    found = Summary.model_validate_json(summary_json(moved.assessment, moved)).refinement
    assert (found.peaks[0].extrapolated, found.peaks[0].close) == (None, False)
    assert words in summary_csv(moved.assessment, moved)


def test_the_chart_names_units_and_zones(made):
    figure = refinement_figure(made)
    svg = figure.content.decode("utf-8")
    assert "cell size, mm" in svg
    assert "peak stress, MPa" in svg
    for zone in ("calf shell", "foot plate", "lateral bar"):
        assert re.search(zone, svg)
    assert figure.key in refinement_part(made).figures
    assert isinstance(Figures({figure.key: figure}, "").figures["refinement"].address, str)


def test_the_screen_shows_a_table_with_units(made):
    text = refinement_text(made)
    for words in ("6.0 mm: 1000 cells, 2000 unknowns, judged", "yield, calf shell", "MPa",
                  "within 5 %", "1 of 3 peaks",
                  "without the error that the demands of the checks contain"):
        assert words in text
