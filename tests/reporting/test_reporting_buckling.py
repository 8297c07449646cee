# SPDX-License-Identifier: MIT
"""Buckling on the page: the shape with its words, and one row for each case."""

from dataclasses import replace

import pytest
from fake_assessment import assessment, buckling

from fea.check.buckling import Buckle
from fea.drawing import render as drawing
from fea.reporting.evidence import evidence
from fea.reporting.figures import draw_figures
from fea.reporting.page import page_html


@pytest.fixture
def flat_painter(monkeypatch):
    def dead(*arguments):
        raise drawing._ChildError("the drawing process ended with signal 11")

    monkeypatch.setattr(drawing, "_paint_in_child", dead)


def buckling_rows(result):
    part = next(part for part in evidence(result) if part.title == "Buckling")
    return part.tables[0].rows


def test_the_shape_is_drawn_with_case_factor_place_and_proof(flat_painter):
    result = buckling(assessment(0.5))
    drawn = draw_figures(result)
    figure = drawn.figures["buckling"]
    assert figure.content.startswith(b"\x89PNG")
    for words in ("“cop-7”", "6.00 times its loads", "strains calf shell hardest",
                  "A count proves that no lower factor was missed"):
        assert words in figure.caption and words in figure.alt
    html = page_html(result, drawn)
    assert 'id="buckling"' in html


def test_without_a_buckle_there_is_no_picture(flat_painter):
    assert "buckling" not in draw_figures(assessment(0.5)).figures


def test_the_table_says_proved_unproved_missed_and_never():
    result = assessment(0.5)
    known = result.buckles[0]
    rows = buckling_rows(replace(result, buckles=(
        known, replace(known, case="b", proved=None, slenderness=None),
        replace(known, case="c", proved=False, slenderness=float("inf")), Buckle("d", None, True),
    )))  # fmt: skip
    assert [row[0] for row in rows] == ["cop-7", "b", "c", "d"]
    assert [row[1] for row in rows][:3] == ["6.00"] * 3
    assert [row[2] for row in rows][:3] == ["proved by count", "unproved", "a lower one was MISSED"]
    assert [row[5] for row in rows][:3] == ["12.0", "bar", "flat"]
    assert "6.00" not in rows[3]
