# SPDX-License-Identifier: MIT
"""Ply criteria against hand calculations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import MaterialError
from fea.material.criteria import PlyStrength, maximum_stress, tsai_hill, tsai_wu

# T300/5208 of Tsai & Hahn 1980, MPa
T300 = PlyStrength(1500.0, 1500.0, 40.0, 246.0, 68.0)
CRITERIA = [maximum_stress, tsai_hill, tsai_wu]
STRESS = st.floats(-300.0, 300.0)


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize(
    "stress", [[1500, 0, 0], [-1500, 0, 0], [0, 40, 0], [0, -246, 0], [0, 0, 68], [0, 0, -68]]
)
def test_every_uniaxial_strength_is_exposure_one(criterion, stress):
    assert criterion(stress, T300) == pytest.approx(1.0)


@pytest.mark.parametrize("criterion", CRITERIA)
def test_no_stress_is_no_exposure(criterion):
    assert criterion(np.zeros((2, 4, 3)), T300).tolist() == [[0.0] * 4] * 2


@pytest.mark.parametrize("criterion", CRITERIA)
@given(s1=STRESS, s2=STRESS, s12=STRESS, share=st.floats(0.01, 10.0))
def test_exposure_is_proportional_to_the_load(criterion, s1, s2, s12, share):
    stress = np.array([s1, s2, s12])
    expected = share * criterion(stress, T300)
    assert criterion(share * stress, T300) == pytest.approx(expected, rel=1e-7, abs=1e-9)


def test_maximum_stress_names_the_largest_ratio():
    # 300/1500 = 0.2, 20/40 = 0.5, 17/68 = 0.25
    assert maximum_stress([300.0, 20.0, -17.0], T300) == pytest.approx(0.5)


def test_tsai_hill_by_hand():
    # (300/1500)² - 300·20/1500² + (20/40)² + (17/68)² = 0.04 - 0.0026667 + 0.25 + 0.0625
    assert tsai_hill([300.0, 20.0, 17.0], T300) == pytest.approx(np.sqrt(0.3498333), rel=1e-6)


def test_tsai_wu_by_hand():
    # Strength ratio R from a R² + b R = 1 with s = (0, 20, 34):
    # a = 400/(40·246) + (34/68)² = 0.0406504 + 0.25, b = 20 (1/40 - 1/246) = 0.4186992
    # R = (-b + sqrt(b² + 4a)) / 2a = 1.2686...
    a, b = 0.0406504065 + 0.25, 20.0 * (1 / 40 - 1 / 246)
    ratio = (-b + np.sqrt(b * b + 4 * a)) / (2 * a)
    assert tsai_wu([0.0, 20.0, 34.0], T300) == pytest.approx(1.0 / ratio, rel=1e-8)
    assert a * ratio**2 + b * ratio == pytest.approx(1.0)


def test_tsai_wu_interaction():
    # s = (750, 20, 0): a = 0.25 + 0.0406504 + 2·F·sqrt(F11 F22)·750·20 with
    # sqrt(F11 F22) = 1 / sqrt(1500² · 40 · 246); F = -0.5 lowers the exposure, 0 does not
    with_default = tsai_wu([750.0, 20.0, 0.0], T300)
    assert with_default < tsai_wu([750.0, 20.0, 0.0], T300, interaction=0.0)


@pytest.mark.parametrize("criterion", CRITERIA)
def test_missing_strength_is_an_error_not_a_pass(criterion):
    strength = PlyStrength(242.0, None, 242.0, None, None)
    assert strength.missing == ("compression_1", "compression_2", "shear_12")
    with pytest.raises(MaterialError, match="compression_1"):
        criterion([10.0, 0.0, 0.0], strength)


def test_strength_must_be_positive():
    with pytest.raises(MaterialError, match="shear_12"):
        PlyStrength(1.0, 1.0, 1.0, 1.0, 0.0)
