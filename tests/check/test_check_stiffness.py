# SPDX-License-Identifier: MIT
"""Rotation of the ankle: flagged above 5 degrees, not judged above 8."""

import math

import pytest

from fea.check.check import NotChecked
from fea.check.stiffness import check_ankle_rotation
from fea.check.verdict import text_summary
from fea.errors import GateError, InputError


@pytest.mark.parametrize(
    ("degrees", "met", "judged"),
    [(0.0, True, True), (-4.9, True, True), (5.1, True, True), (-7.9, True, True),
     (8.1, False, False)],
)
def test_flag_and_limit(degrees, met, judged):
    check, *beyond = check_ankle_rotation("push-off", math.radians(degrees))
    assert check.demand == pytest.approx(abs(degrees))
    assert check.met is met
    assert (beyond == []) is judged
    assert ("more than 5°" in check.flag) is (abs(degrees) > 5.0)
    said = "Flagged, though no requirement:" in text_summary("", [check], beyond)
    assert said is ("flagged" in check.remarks) is (abs(degrees) > 5.0)
    for entry in beyond:
        assert isinstance(entry, NotChecked) and "8.1°" in entry.because


def test_both_ends_of_the_band_are_said_and_the_upper_is_judged():
    check, beyond = check_ankle_rotation(
        "push-off", math.radians(8.5), usual=math.radians(-5.5), band="as it warms"
    )
    assert check.demand == pytest.approx(8.5) and not check.met
    assert "from 5.5° to 8.5° as it warms" in check.basis and "5.5° to 8.5°" in check.flag
    assert "8.5°" in beyond.because
    assert "Flagged, though no requirement:" in text_summary("", [check], [])


def test_a_rotation_that_is_no_number_is_refused():
    with pytest.raises(InputError, match="push-off"):
        check_ankle_rotation("push-off", math.nan)


def test_an_absurd_rotation_is_no_result():
    with pytest.raises(GateError, match="wrong unit"):
        check_ankle_rotation("push-off", math.radians(61.0))
