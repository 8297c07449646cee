# SPDX-License-Identifier: MIT
"""Charts: well-formed SVG, the same bytes for the same data, lines told apart without colour."""

import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest

from fea.drawing.charts import MARKERS, STYLES, Arrow, Limit, Series, line_chart, push_diagram
from fea.drawing.inks import BEYOND, FAINT_INK, INK, SERIES, rgb

X = np.linspace(0.0, 100.0, 5)
LINES = [Series("shell", X, 0.8 * X), Series("bar", X, np.array([1.0, np.nan, 3.0, 4.0, 5.0]))]


def chart():
    limit = Limit(100, "limit")
    return line_chart(LINES, x_label="place, %", y_label="utilisation, %", limit=limit)


def test_the_chart_is_well_formed_and_reproducible():
    assert ElementTree.fromstring(chart()).tag.endswith("svg")
    assert chart() == chart()


def test_lines_differ_in_more_than_colour():
    assert len(set(MARKERS)) == len(set(map(str, STYLES))) == len(set(SERIES)) == 6


def test_the_push_diagram_stays_small_for_a_fine_mesh():
    """A silhouette of thousands of triangles is painted as one image, not as thousands of paths."""
    points = np.random.default_rng(1).random((3000, 2)) * 200
    triangles = np.arange(3000).reshape(-1, 3)
    drawn = push_diagram(points, triangles, np.array([[0, 1]]), [Arrow("1", (0, -80), (5, 0))],
                         axis=(0.0, 60.0))
    assert ElementTree.fromstring(drawn).tag.endswith("svg")
    assert len(drawn) < 400_000


@pytest.mark.parametrize("ink", [INK, FAINT_INK, BEYOND, *SERIES])
def test_inks_have_enough_contrast_on_white(ink):
    """A contrast ratio of at least 4.5, as WCAG 2.2, 1.4.3 defines it."""
    parts = np.array(rgb(ink)) / 255
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    assert 1.05 / (linear @ [0.2126, 0.7152, 0.0722] + 0.05) >= 4.5
