# SPDX-License-Identifier: MIT
"""The chart of values before and after: names, the limit, arrows only for what can be told."""

import re

import pytest

from fea.drawing.charts import Limit
from fea.drawing.pairchart import Pair, pair_chart


def chart(*pairs: Pair) -> str:
    return pair_chart(pairs, x_label="used, %", limit=Limit(100.0, "limit: 100 %"),
                      names=("before", "now")).decode()  # fmt: skip


def words(svg: str) -> list[str]:
    return re.findall(r"<!-- (.+?) -->", svg) + re.findall(r"<text[^>]*>([^<]+)</text>", svg)


def test_every_line_mark_and_the_limit_are_named():
    said = words(chart(Pair("heel", 80.0, 50.0, 9.0, True, 55.0),
                       Pair("ankle", 60.0, 61.0, 9.0, False, 70.0)))  # fmt: skip
    for name in ("heel", "ankle", "before", "now", "now, as judged", "limit: 100 %", "used, %"):
        assert name in said


def test_an_arrow_stands_only_where_the_change_can_be_told():
    told, untold = (chart(Pair("heel", 80.0, 60.0, 9.0, each, 65.0)) for each in (True, False))
    assert told.count("<path") > untold.count("<path")


@pytest.mark.parametrize(("after", "ticks"), [(50.0, {"15", "75"}), (8000.0, {"100", "1000"})])
def test_values_far_from_each_other_stand_on_powers_of_ten(after, ticks):
    assert ticks <= set(words(chart(Pair("heel", 80.0, after, 9.0, True, after))))
