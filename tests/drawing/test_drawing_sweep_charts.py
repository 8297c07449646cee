# SPDX-License-Identifier: MIT
"""Charts of sweeps: what is drawn, and what is left out and said."""

import re
from types import SimpleNamespace

import pytest

from fea.drawing.sweepchart import MOST, front_chart, sweep_chart
from fea.errors import InputError
from fea.reporting.sweeping import write_sweep_charts
from fea.study.sweep import Sweep


def sweep_of(rows, values):
    plan = SimpleNamespace(designs=tuple(dict.fromkeys(values, 1.0) for _ in rows), title="")
    return Sweep(plan, tuple(rows))


def rows_of(values=("thickness_mm", "material"), **more):
    found = []
    for number in range(1, 5):
        row = {"design": number, "state": "judged", "mass_g": 100.0 * number,
               "governing_reserve": 0.4 * number, "ankle_stiffness_nm_per_deg": 3.0 + number}
        row |= {name: float(number) for name in values if name != "material"}
        found.append(row | {"material": "carbon" if number % 2 else "plastic"} | more)
    return [*found, {"design": 5, "state": "failed", "reason": "thin", "material": "carbon",
                     **{name: 5.0 for name in values if name != "material"}}]  # fmt: skip


def words(svg):
    """Comments of matplotlib's SVG that repeat each text."""
    return re.findall(r"<!-- (.*?) -->", svg.decode())


def test_each_quantity_that_there_is_stands_over_each_value():
    svg = sweep_chart(sweep_of(rows_of(), ["thickness_mm", "material"]))
    told = words(svg)
    for word in ("ankle stiffness, N·m/deg", "governing factor over required", "mass, g",
                 "thickness_mm", "material", "carbon", "plastic"):
        assert word in told
    assert "shortest life, months" not in told


def test_life_that_is_only_known_as_a_class_is_shown_by_its_factor():
    rows = rows_of(service_life_reserve=0.9, life_months=None)
    told = words(sweep_chart(sweep_of(rows, ["thickness_mm"])))
    assert "service life: factor over required" in told
    rows = rows_of(service_life_reserve=0.9, life_months=24.0)
    told = words(sweep_chart(sweep_of(rows, ["thickness_mm"])))
    assert "shortest life, months" in told and "service life: factor over required" not in told


def test_values_beyond_those_that_fit_are_named():
    names = [f"value_{k}_mm" for k in range(MOST + 2)]
    told = " ".join(words(sweep_chart(sweep_of(rows_of(names), names))))
    assert f"Left out: value_{MOST}_mm, value_{MOST + 1}_mm" in told


def test_the_front_names_its_designs():
    rows = rows_of()
    rows[1]["governing_reserve"] = 0.1  # heavier than the first, and weaker
    told = words(front_chart(sweep_of(rows, ["thickness_mm"])))
    assert {"1", "3", "4"} <= set(told) and "2" not in told


def test_the_same_sweep_gives_the_same_bytes():
    for chart in (sweep_chart, front_chart):
        result = sweep_of(rows_of(), ["thickness_mm"])
        assert chart(result) == chart(result)


def test_a_sweep_in_which_all_failed_is_drawn_empty():
    rows = [{"design": 1, "state": "failed", "reason": "thin", "thickness_mm": 5.0}]
    told = " ".join(words(sweep_chart(sweep_of(rows, ["thickness_mm"]))))
    assert "no design could be judged" in told and "Cross: 1 that could not be judged" in told
    told = " ".join(words(front_chart(sweep_of(rows, ["thickness_mm"]))))
    assert "Not shown: 1 that could not be judged" in told


def test_where_nothing_is_varied_only_the_front_is_drawn(tmp_path):
    row = {"design": 1, "state": "judged", "mass_g": 100.0, "governing_reserve": 1.1}
    result = sweep_of([row], [])
    charts = write_sweep_charts(result, tmp_path)
    assert charts.values is None and charts.front.is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["front.svg"]
    with pytest.raises(InputError, match="varies nothing"):
        sweep_chart(result)
