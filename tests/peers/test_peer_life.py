# SPDX-License-Identifier: MIT
"""Life in pylife: S-N lines with and without a knee, mean stress, Miner's sum, rainflow."""

from functools import cache

import numpy as np
import pytest
from peers import ask

from fea.check.cycles import rainflow
from fea.check.factors import read_factors
from fea.check.lifecurve import life_curve
from fea.check.spectrum import Block, Spectrum
from fea.material.library import read_library
from fea.material.life import Basquin, FatigueCurve, Goodman, Sensitivity

LINE = Basquin.through((1e3, 466.0), (1e7, 73.2), knee=True)
LOADS = np.geomspace(20.0, 450.0, 12)
COUNTS = np.geomspace(1e6, 1e2, 12)
SHARE = 0.234
AMPLITUDE, MEAN = np.array([10.0, 8.0, 8.55, 6.0]), np.array([0.0, -3.0, 10.45, 5.0])
SERIES = [
    [0.0, -20.0, 35.0, 28.0, 61.0, 80.0, 12.0],
    [0.0, 44.0, 18.0, 52.0, 30.0, 71.0, -9.0],
    np.random.default_rng(11).normal(0.0, 30.0, 26).round(3).tolist(),
]


@cache
def answers():
    line = {"k_1": LINE.exponent, "ND": LINE.cycles, "SD": LINE.amplitude}
    first = {"line": line, "loads": LOADS, "counts": COUNTS, "sensitivity": SHARE,
             "amplitude": AMPLITUDE, "mean": MEAN}  # fmt: skip
    return ask("ask_pylife.py", [first, *({"series": series} for series in SERIES)])


def test_cycles_to_failure():
    np.testing.assert_allclose(LINE.life(LOADS), answers()[0]["knee"], rtol=1e-9)
    straight = Basquin(LINE.amplitude, LINE.cycles, LINE.exponent)
    np.testing.assert_allclose(straight.life(LOADS), answers()[0]["straight"], rtol=1e-9)


def test_damage_of_a_spectrum():
    """Beyond the tensile strength ours is the last cycle, theirs goes on: not asked here."""
    curve = FatigueCurve(LINE, Goodman(572.0), 572.0, 572.0)
    total = 0.0
    for load, count in zip(LOADS, COUNTS, strict=True):
        block = Spectrum((Block("cycles", 1.0, count),), None)
        total += float(block.damage(curve, np.array([load]), np.array([0.0])))
    assert total == pytest.approx(answers()[0]["damage"], rel=1e-9)


def test_mean_stress_by_two_ratios():
    """Theirs gives credit to a mean in compression, ours none."""
    ours, theirs = Sensitivity(SHARE).reversed(AMPLITUDE, MEAN), answers()[0]["reversed"]
    tension = MEAN >= 0.0
    np.testing.assert_allclose(ours[tension], np.array(theirs)[tension], rtol=1e-9)
    assert (ours[~tension] > np.array(theirs)[~tension]).all()


def test_the_plastic_of_the_library_through_both_its_ratios():
    curve = life_curve(read_library()["polypropylene-homopolymer"], read_factors())
    assert curve.middle.mean_stress == Sensitivity(pytest.approx(SHARE, abs=1e-3))


@pytest.mark.parametrize("number", range(len(SERIES)))
def test_rainflow_of_a_step_that_repeats(number):
    series = np.array(SERIES[number])
    ours = sorted(abs(series[i] - series[j]) for i, j in rainflow(series))
    np.testing.assert_allclose(ours, answers()[1 + number]["closed"], rtol=1e-9)
    assert ours[-1] == pytest.approx(np.ptp(series))
