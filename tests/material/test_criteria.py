# SPDX-License-Identifier: MIT
"""Ply criteria against hand calculations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import MaterialError
from fea.material.criteria import (
    PlyStrength,
    hashin,
    hashin_modes,
    maximum_stress,
    tsai_hill,
    tsai_wu,
)

# T300/5208 of Tsai & Hahn 1980, MPa
T300 = PlyStrength(1500.0, 1500.0, 40.0, 246.0, 68.0)
ARAMID = PlyStrength(1400.0, 235.0, 20.0, 140.0, 50.0)  # compression along the fibres a sixth
CLOTH = PlyStrength(725.0, 518.0, 684.0, 480.0, 67.0)
TURNED = PlyStrength(40.0, 246.0, 1500.0, 900.0, 68.0)  # fibres along axis 2
CRITERIA = [maximum_stress, tsai_hill, tsai_wu, hashin]
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


@pytest.mark.parametrize("strength", [T300, ARAMID, CLOTH, TURNED])
@pytest.mark.parametrize("criterion", CRITERIA)
@given(one=st.tuples(STRESS, STRESS, STRESS), two=st.tuples(STRESS, STRESS, STRESS))
def test_exposures_are_convex(criterion, strength, one, two):
    """No more between two stresses than the mean of both ends, so no more than the worse end."""
    ends = np.array([one, two])
    middle = criterion(ends.mean(axis=0), strength)
    assert middle <= criterion(ends, strength).mean() * (1.0 + 1e-9) + 1e-12
    assert middle >= -1e-12


@pytest.mark.parametrize("strength", [ARAMID, CLOTH])
def test_tsai_hill_takes_the_less_favourable_strength_in_the_product(strength):
    x_t, x_c, y_t, y_c, s = strength.numbers()
    for s1, s2 in ((100.0, 10.0), (100.0, -10.0), (-100.0, 10.0), (-100.0, -10.0)):
        x, y = (x_t if s1 > 0 else x_c), (y_t if s2 > 0 else y_c)
        own = (s1 / x) ** 2 + (s2 / y) ** 2 + (10.0 / s) ** 2
        jones, kaw = (np.sqrt(own - s1 * s2 / at**2) for at in (x, x_t if s2 > 0 else x_c))
        exposure = tsai_hill([s1, s2, 10.0], strength)
        assert exposure >= jones * (1 - 1e-12)
        if strength is CLOTH:  # Kaw's is not convex for the aramid
            assert exposure >= kaw * (1 - 1e-12)
            assert s1 + s2 < -100.0 or exposure == pytest.approx(max(jones, kaw))


@pytest.mark.parametrize("strength", [T300, ARAMID, CLOTH, TURNED])
@given(s1=STRESS, s2=STRESS, s12=STRESS)
def test_tsai_hill_takes_the_stronger_axis_for_the_fibres_whichever_its_number(
    strength, s1, s2, s12
):
    x_t, x_c, y_t, y_c, s = strength.numbers()
    turned = PlyStrength(y_t, y_c, x_t, x_c, s)
    exposure = tsai_hill([s1, s2, s12], strength)
    assert exposure == pytest.approx(tsai_hill([s2, s1, s12], turned))
    if min(x_t, x_c) < min(y_t, y_c):  # the books' axis 1 is the stronger
        x_t, x_c, y_t, y_c, s1, s2 = y_t, y_c, x_t, x_c, s2, s1
    x, y = (x_t if s1 >= 0 else x_c), (y_t if s2 >= 0 else y_c)
    own = (s1 / x) ** 2 + (s2 / y) ** 2 + (s12 / s) ** 2
    for book in (x, x_t if s2 >= 0 else x_c):  # Jones, Kaw
        if 2.0 / (x * y) >= 1.0 / book**2:  # convex
            squared = max(own - s1 * s2 / book**2, 0.0)
            assert exposure >= np.sqrt(squared) * (1.0 - 1e-9) - 1e-12


def test_hashin_by_hand():
    # Fibres: (300/1500)² + (17/68)² = 0.04 + 0.0625; matrix: (20/40)² + 0.0625
    modes = hashin_modes([300.0, 20.0, 17.0], T300)
    np.testing.assert_allclose(modes, [np.sqrt(0.1025), 0.0, np.sqrt(0.3125), 0.0])
    # Compression: shear does not weigh on the fibres; across, with the default, it adds squared
    modes = hashin_modes([-300.0, -123.0, 17.0], T300)
    np.testing.assert_allclose(modes, [0.0, 0.2, 0.0, np.sqrt(0.25 + 0.0625)])
    assert hashin([-300.0, -123.0, 17.0], T300) == pytest.approx(np.sqrt(0.3125))


def test_hashin_with_a_shear_strength_across_the_fibres():
    # S23 = 80: (120/160)² R² + ((246/160)² - 1) (-120/246) R + (34/68)² R² = 1
    a, b = 0.75**2 + 0.25, (1.5375**2 - 1.0) * -120.0 / 246.0
    ratio = (-b + np.sqrt(b * b + 4 * a)) / (2 * a)
    exposure = hashin_modes([0.0, -120.0, 34.0], T300, shear_23=80.0)[3]
    assert exposure == pytest.approx(1.0 / ratio)
    assert exposure < hashin([0.0, -120.0, 34.0], T300)  # pressing strengthens against shear
    assert hashin_modes([0.0, -246.0, 0.0], T300, shear_23=80.0)[3] == pytest.approx(1.0)
    with pytest.raises(MaterialError, match="across the fibres"):
        hashin_modes([0.0, -1.0, 0.0], T300, shear_23=0.0)
