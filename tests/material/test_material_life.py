# SPDX-License-Identifier: MIT
"""S-N line, mean stress and Miner's sum, by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import MaterialError
from fea.material.life import Basquin, FatigueCurve, Goodman, Sensitivity, miner, sensitivity

LINE = Basquin.through((1e3, 400.0), (1e6, 100.0), knee=True)
K = 3.0 / np.log10(4.0)


def test_the_line_passes_both_points_and_bends_at_its_knee():
    assert pytest.approx(K) == LINE.exponent
    assert LINE.life(400.0) == pytest.approx(1e3) and LINE.life(100.0) == pytest.approx(1e6)
    assert LINE.life(50.0) == pytest.approx(1e6 * 2.0 ** (2 * K - 1))
    straight = Basquin.through((1e3, 400.0), (1e6, 100.0))
    assert straight.life(50.0) == pytest.approx(1e6 * 2.0**K)
    assert np.isinf(LINE.life(0.0))


@given(st.floats(10.0, 1e9))
def test_amplitude_and_life_are_each_others_inverse(cycles):
    assert float(LINE.life(LINE.amplitude_at(cycles))) == pytest.approx(cycles, rel=1e-9)


@pytest.mark.parametrize("points", [((1e3, 100.0), (1e6, 100.0)), ((1e6, 200.0), (1e3, 100.0))])
def test_a_line_that_does_not_fall_is_refused(points):
    with pytest.raises(MaterialError, match="falls from few cycles to many"):
        Basquin.through(*points)


def test_goodman_leaves_nothing_at_the_static_strength():
    rule = Goodman(tension=500.0)
    assert rule.reversed(100.0, 250.0) == pytest.approx(200.0)
    assert np.isinf(rule.reversed(1.0, 500.0)) and np.isinf(rule.reversed(0.0, 600.0))
    assert rule.reversed(100.0, -250.0) == pytest.approx(100.0)  # compression: no credit, no harm
    assert Goodman(500.0, 400.0).reversed(100.0, -200.0) == pytest.approx(200.0)


def test_sensitivity_passes_both_measured_ratios():
    share = sensitivity(15.0, 16.8, 0.0)  # σa = σm = 8.4 at R = 0: (15 - 8.4) / 8.4
    assert share == pytest.approx(0.7857, abs=1e-4)
    assert Sensitivity(share).reversed(8.4, 8.4) == pytest.approx(15.0)
    assert Sensitivity(share).reversed(15.0, 0.0) == pytest.approx(15.0)
    assert Sensitivity(share).reversed(15.0, -9.0) == pytest.approx(15.0)
    assert Sensitivity(share, 0.5).reversed(15.0, -9.0) == pytest.approx(19.5)


def test_a_factor_that_reaches_a_static_strength():
    curve = FatigueCurve(LINE, Goodman(500.0), 500.0, 300.0)
    assert curve.bears([250.0, 20.0, -5.0, 0.0], [10.0, 300.0, 30.0, 0.0]).tolist() == [
        2.0, 1.0, 10.0, np.inf]  # fmt: skip
    assert curve.life(10.0, 0.0) > 1e12
    assert curve.life(1e6, 0.0) == curve.life(10.0, 500.0) == 1.0


def test_damage_adds_up_over_blocks():
    assert miner([10.0, 20.0], [[100.0, 1e3], [200.0, np.inf]]).tolist() == [0.2, 0.01]
