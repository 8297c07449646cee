# SPDX-License-Identifier: MIT
"""Order, extrapolated value and index of a series: a published example and series made to order.

Celik et al., J Fluids Eng 2008;130:078001, table 1, first column: three meshes of 18 000, 8 000 and
4 500 cells in the plane give 6.063, 5.972 and 5.863; p = 1.53, extrapolated 6.1685, index 2.2 %.
Status: memory-H, the inputs and 6.1685 seen again in the documents of other programs.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import InputError
from fea.study.convergence import FASTEST, SLOWEST, grid_convergence

PUBLISHED = ([18000**-0.5, 8000**-0.5, 4500**-0.5], [6.063, 5.972, 5.863])


def series(order, sizes, *, end=50.0, scale=3.0):
    return [end + scale * size**order for size in sizes]


def test_the_published_example():
    found = grid_convergence(*PUBLISHED)
    assert found.manner == "settling"
    assert found.order == pytest.approx(1.53, abs=0.005)
    assert found.extrapolated == pytest.approx(6.1685, abs=5e-5)
    assert found.safety_factor == 1.25
    assert found.gci == pytest.approx(0.022, abs=0.0005)
    # relative errors of the same table: approximate 1.5 %, extrapolated 1.7 %
    assert abs(6.063 - 5.972) / 6.063 == pytest.approx(0.015, abs=5e-4)
    assert found.deviation(2) == pytest.approx(0.017, abs=5e-4)


def test_the_order_of_the_meshes_does_not_matter():
    sizes, values = PUBLISHED
    assert grid_convergence(sizes[::-1], values[::-1]) == grid_convergence(sizes, values)
    assert grid_convergence(sizes, values).values == (5.863, 5.972, 6.063)


@given(
    order=st.floats(0.55, 2.0),
    ratios=st.tuples(st.floats(1.3, 3.0), st.floats(1.3, 3.0)),
    scale=st.floats(0.5, 20.0) | st.floats(-20.0, -0.5),
)
def test_a_series_of_known_order_gives_back_order_and_limit(order, ratios, scale):
    sizes = [1.0, ratios[0], ratios[0] * ratios[1]]
    found = grid_convergence(sizes, series(order, sizes, scale=scale))
    assert found.order == pytest.approx(order, rel=1e-6)
    assert found.extrapolated == pytest.approx(50.0, rel=1e-8)
    finest = 50.0 + scale
    assert found.gci == pytest.approx(1.25 * abs(scale) / finest, rel=1e-5)
    # of an exact power series the band holds the limit
    assert abs(finest - 50.0) <= found.gci * finest


def test_only_the_three_finest_of_many_decide():
    sizes = [8.0, 4.0, 2.0, 1.0]
    values = [7.0, *series(2.0, sizes[1:])]
    found = grid_convergence(sizes, values)
    assert found.order == pytest.approx(2.0)
    assert len(found.values) == 4
    assert found.deviation(0) == pytest.approx(43.0 / 50.0)


def test_a_swinging_series_has_a_range_and_no_index():
    found = grid_convergence([4.0, 2.0, 1.0], [10.0, 12.0, 11.0])
    assert found.manner == "swinging"
    assert (found.gci, found.extrapolated, found.order) == (None, None, None)
    assert found.spread == (10.0, 12.0)
    assert found.deviation(0) == pytest.approx(2.0 / 12.0)


@pytest.mark.parametrize("order", [-0.4, 0.0, 0.2])
def test_a_series_that_hardly_settles_or_grows_has_a_range_and_no_end(order):
    sizes = [4.0, 2.0, 1.0]
    values = series(order, sizes) if order else [50.0 - math.log(size) for size in sizes]
    found = grid_convergence(sizes, values)
    assert found.order == pytest.approx(order, abs=1e-6)
    assert order < SLOWEST and found.manner == "growing"
    assert (found.order_used, found.extrapolated, found.safety_factor, found.gci) == 4 * (None,)
    assert found.spread == (min(values), max(values))


def test_at_the_slowest_order_a_series_still_leads_somewhere():
    found = grid_convergence([4.0, 2.0, 1.0], series(SLOWEST + 0.01, [4.0, 2.0, 1.0]))
    assert found.manner == "settling" and found.extrapolated == pytest.approx(50.0)
    alone = found.without_end
    assert (alone.values, alone.order, alone.extrapolated, alone.gci) == (
        found.values, found.order, None, None)


def test_too_fast_a_series_is_taken_at_the_order_of_the_elements():
    found = grid_convergence([4.0, 2.0, 1.0], series(5.0, [4.0, 2.0, 1.0]))
    assert found.order == pytest.approx(5.0)
    assert (found.order_used, found.safety_factor) == (FASTEST, 3.0)


def test_two_meshes_show_no_order():
    found = grid_convergence([2.0, 1.0], [10.0, 11.0])
    assert (found.manner, found.order, found.order_used) == ("unknown", None, 1.0)
    assert found.extrapolated == pytest.approx(12.0)
    assert found.gci == pytest.approx(3.0 * 1.0 / 11.0)


def test_a_value_that_does_not_change_is_its_own_limit():
    found = grid_convergence([4.0, 2.0, 1.0], [3.0, 3.0, 3.0])
    assert (found.manner, found.extrapolated, found.gci) == ("unchanged", 3.0, 0.0)
    assert grid_convergence([2.0, 1.0], [0.0, 0.0]).deviation() == 0.0
    settled = grid_convergence([4.0, 2.0, 1.0], [4.0, 3.0, 3.0])
    assert (settled.manner, settled.extrapolated) == ("settling", 3.0)


@pytest.mark.parametrize(
    ("sizes", "values", "words"),
    [
        ([1.0], [1.0], "two meshes"),
        ([2.0, 1.0], [1.0], "2 sizes and 1 values"),
        ([1.0, 1.0], [1.0, 2.0], "same cell size"),
        ([0.0, 1.0], [1.0, 2.0], "above zero"),
        ([2.0, 1.0], [1.0, math.nan], "nan"),
    ],
)
def test_what_is_no_series_is_refused(sizes, values, words):
    with pytest.raises(InputError, match=words):
        grid_convergence(sizes, values)
