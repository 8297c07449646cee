# SPDX-License-Identifier: MIT
"""Rotation of the ankle: flagged above 5 degrees, not judged above 8."""

import math

import pytest

from fea.check.check import NotChecked
from fea.check.stiffness import check_ankle_rotation
from fea.check.summarytext import text_summary
from fea.errors import GateError, InputError


@pytest.mark.parametrize("degrees", [0.0, -4.9, 5.1, -7.9])
def test_up_to_eight_degrees_it_is_judged_and_flagged_from_five(degrees):
    (check,) = check_ankle_rotation("push-off", math.radians(degrees))
    assert check.demand == pytest.approx(abs(degrees)) and check.met
    assert ("more than 5°" in check.flag) is (abs(degrees) > 5.0)
    said = "Flagged, though no requirement:" in text_summary("", [check], [])
    assert said is ("flagged" in check.remarks) is (abs(degrees) > 5.0)


def test_beyond_eight_degrees_nothing_is_judged_and_nothing_met():
    (gap,) = check_ankle_rotation("push-off", math.radians(8.1))
    assert isinstance(gap, NotChecked) and "8.1°" in gap.because and "prescriber" in gap.because


def test_both_ends_of_the_band_are_said_and_the_upper_is_judged():
    band = {"usual": math.radians(-5.5), "band": "as it warms"}
    (check,) = check_ankle_rotation("push-off", math.radians(7.5), **band)
    assert check.demand == pytest.approx(7.5)
    assert "from 5.5° to 7.5° as it warms" in check.basis and "5.5° to 7.5°" in check.flag
    (gap,) = check_ankle_rotation("push-off", math.radians(8.5), **band)
    assert "from 5.5° to 8.5° as it warms" in gap.because


def test_a_rotation_that_is_no_number_is_refused():
    with pytest.raises(InputError, match="push-off"):
        check_ankle_rotation("push-off", math.nan)


def test_an_absurd_rotation_is_no_result():
    with pytest.raises(GateError, match="wrong unit"):
        check_ankle_rotation("push-off", math.radians(61.0))
