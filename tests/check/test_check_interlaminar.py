# SPDX-License-Identifier: MIT
"""Interlaminar shear against the strength that counts, by hand."""

import numpy as np
import pytest

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.interlaminar import judge_interlaminar_shear
from fea.check.strength import Spot
from fea.material.library import read_library

LIBRARY, FACTORS = read_library(), read_factors()
SPOT = Spot("heel", "push-off", np.array([[0.0, 0.0, 10.0], [0.0, 0.0, 80.0]]))
CLOTH = LIBRARY["carbon-cloth-epoxy"]
STRESS = np.zeros((2, 5, 2))
STRESS[1, 1] = [3.0, -4.0]


def test_the_strength_is_hot_and_wet_and_takes_the_factor_of_shear():
    judgement = judge_interlaminar_shear(SPOT, STRESS, CLOTH, FACTORS)
    (check,) = judgement.findings
    assert check.demand == pytest.approx(5.0) and check.error is None
    # 38 / 1.20 for scatter; 49/67 hot and wet, as shear in the plane
    assert check.capacity == pytest.approx(38.0 / 1.20 * 0.73, rel=1e-2)
    assert "between plies 1 and 2" in check.basis and "hot and wet" in check.basis
    assert check.place == (0.0, 0.0, 80.0) and check.horizon == "today"
    assert judgement.shares == pytest.approx([0.0, check.utilisation])
    beyond = judge_interlaminar_shear(SPOT, 3.0 * STRESS, CLOTH, FACTORS).findings[0]
    assert check.met and not beyond.met  # 23.1 / 1.84 = 12.6 MPa is allowed


def test_the_error_is_part_of_what_is_asked():
    error = np.zeros((2, 5))
    error[0, 2] = 6.0
    (check,) = judge_interlaminar_shear(SPOT, STRESS, CLOTH, FACTORS, error).findings
    assert check.demand == 6.0 == check.error
    assert "in the middle of ply 2" in check.basis


@pytest.mark.parametrize("name", ["carbon-acrylic", "carbon-ud-epoxy"])
def test_a_missing_strength_is_not_checked_and_says_the_cure(name):
    (gap,) = judge_interlaminar_shear(SPOT, STRESS, LIBRARY[name], FACTORS).findings
    assert isinstance(gap, NotChecked)
    assert "interlaminar shear strength" in gap.because and "measure it" in gap.because


def test_places_left_out_are_not_judged():
    spot = Spot("heel", "push-off", SPOT.places, np.array([True, False]))
    (check,) = judge_interlaminar_shear(spot, STRESS, CLOTH, FACTORS).findings
    assert isinstance(check, Check) and check.demand == 0.0
    none = Spot("heel", "push-off", SPOT.places, np.array([False, False]))
    (nothing,) = judge_interlaminar_shear(none, STRESS, CLOTH, FACTORS).findings
    assert isinstance(nothing, NotChecked)
