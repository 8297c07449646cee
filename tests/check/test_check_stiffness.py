# SPDX-License-Identifier: MIT
"""Rotation of the ankle: flagged above 5 degrees, not judged above 8."""

import math
from types import SimpleNamespace

import pytest

from fea.check.check import NotChecked
from fea.check.memory import without_memory
from fea.check.stiffness import check_ankle_rotation, large_rotation_gaps
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


def test_limit_and_warmth_from_memory_are_found_as_such():
    note = "stiffness with at 37 °C: memory-M"
    (check,) = check_ankle_rotation("push-off", 0.1, usual=0.09, band="as it warms",
                                    band_sources=("handbook-memory",), band_note=note)
    assert check.from_memory == ("limit of 8° for a linear analysis: memory-M", note)
    assert check.sources == ("syngellakis-2000", "handbook-memory")
    device = SimpleNamespace(walls={}, bars={}, materials=())
    (gap,) = without_memory([check], device)
    assert isinstance(gap, NotChecked) and "memory" in gap.because


def test_a_balance_is_called_stable_only_where_that_was_proved():
    _, proved = large_rotation_gaps("push-off", 11.0, 2)
    _, open_ = large_rotation_gaps("push-off", 11.0, 2, ["mid-stance"])
    assert "in a stable balance" in proved.because and "not proved" not in proved.because
    assert "stability not proved in 'mid-stance'" in open_.because
    assert "stable balance" not in open_.because
