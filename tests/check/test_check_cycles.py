# SPDX-License-Identifier: MIT
"""Ranges of stress over a cycle of loads."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.check.cycles import Ranges, along_range, rainflow
from fea.tensors import von_mises


def test_shear_and_tension_count_by_the_von_mises_norm():
    stress = np.array([[[0.0, 0, 0], [0, 0, 0]], [[20.0, 0, 0], [0, 0, 10.0]]])
    ranges = Ranges.of_plane_stress(stress)
    assert ranges.amplitude == pytest.approx([10.0, 5.0 * np.sqrt(3.0)])
    assert ranges.mean == pytest.approx([10.0, 0.0])  # shear has no trace
    assert ranges.first.tolist() == [1, 1] and ranges.second.tolist() == [0, 0]


def test_a_stress_that_turns_is_no_smaller_a_range_than_one_that_reverses():
    """Tension along 1, then along 2: the von Mises norm of either is 10, of the change 17.3."""
    stress = np.array([[[10.0, 0, 0]], [[0, 10.0, 0]], [[0.0, 0, 0]]])
    ranges = Ranges.of_plane_stress(stress)
    assert ranges.amplitude == pytest.approx([0.5 * np.sqrt(300.0)])
    assert ranges.mean == pytest.approx([10.0])


def test_the_largest_of_all_pairs_is_found_in_every_chunk():
    stress = np.random.default_rng(3).normal(0.0, 30.0, (7, 9001, 3))
    ranges = Ranges.of_plane_stress(stress)
    for point in (0, 4000, 9000):
        change = stress[:, None, point] - stress[None, :, point]
        assert ranges.amplitude[point] == pytest.approx(0.5 * von_mises(change).max())


@given(st.floats(0.0, np.pi))
def test_ranges_do_not_depend_on_axes(angle):
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array(
        [[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]]
    )
    stress = np.array([[[5.0, -3.0, 2.0]], [[-8.0, 1.0, 4.0]], [[0.0, 0.0, 0.0]]])
    one, other = Ranges.of_plane_stress(stress), Ranges.of_plane_stress(stress @ turn.T)
    assert other.amplitude == pytest.approx(one.amplitude)
    assert other.mean == pytest.approx(one.mean)


def test_one_stress_alone_is_the_same_either_way():
    series = np.array([0.0, 12.0, -4.0, 3.0])
    component = Ranges.of_component(series[:, None])
    plane = Ranges.of_plane_stress(np.stack([series, 0 * series, 0 * series], axis=1)[:, None])
    assert plane.amplitude == pytest.approx(component.amplitude)
    assert plane.mean == pytest.approx(component.mean)
    assert (plane.first[0], plane.second[0]) == (component.first[0], component.second[0]) == (1, 2)


@pytest.mark.parametrize("ends", [(0.0, 10.0), (0.0, -10.0), (4.0, -6.0)])
def test_error_moves_each_end_by_itself_and_never_by_the_error_of_both(ends):
    """All corners of the errors: what they make of range and mean is among the sets."""
    errors = np.array([1.0, 2.0])
    widened = Ranges.of_component(np.array(ends)[:, None]).widened(errors[:, None])
    found = {(float(each.amplitude[0]), float(each.mean[0])) for each in widened}
    wider = []
    for signs in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        one, other = np.array(ends) + signs * errors
        wider.append((0.5 * abs(one - other), 0.5 * (one + other)))
    least = 0.5 * abs(ends[0] - ends[1])
    assert {each for each in wider if each[0] >= least} <= found
    peaks = {max(abs(mean + amplitude), abs(mean - amplitude)) for amplitude, mean in found}
    assert max(peaks) <= max(np.abs(ends)) + max(errors)


def cycles(series):
    series = np.array(series)
    return sorted(tuple(sorted((series[i], series[j]))) for i, j in rainflow(series))


def test_rainflow_closes_every_cycle_of_a_series_that_repeats():
    # the example of astm-e1049: as a repeated history its ranges are 3, 4, 7 and 9
    assert cycles([-2.0, 1, -3, 5, -1, 3, -4, 4, -2]) == [(-4, 5), (-3, 4), (-2, 1), (-1, 3)]
    assert cycles([0.0, 10, 4, 8, 0]) == [(0, 10), (4, 8)]
    assert cycles([0.0, 3, 7, 10, 5]) == [(0, 10)]
    assert cycles([5.0, 5.0]) == []


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=30))
def test_the_largest_cycle_comes_last_and_spans_the_series(series):
    found = rainflow(np.array(series))
    if max(series) > min(series):
        ranges = [abs(series[i] - series[j]) for i, j in found]
        assert ranges[-1] == pytest.approx(max(series) - min(series))
        assert max(ranges) == pytest.approx(ranges[-1])


def test_stress_along_its_own_range_is_signed():
    stress = np.array([[0.0, 0, 0], [10.0, 0, 0], [-5.0, 0, 0]])
    assert along_range(stress, 1, 2) == pytest.approx([0.0, 10.0, -5.0])
