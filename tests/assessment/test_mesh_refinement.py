# SPDX-License-Identifier: MIT
"""Whether the verdict stands when the cells are made smaller, without which it says nothing.

A shipped device that is called strong enough for a day at its own cell size is judged again with
cells of two thirds of that. The stress of the governing check may grow towards its limit value; no
answer must turn.
"""

import pytest

import fea
from fea.check.verdict import outlooks
from fea.shipped import resolve
from fea.wearer import read_wearer

FINER = 4.0  # mm, of 6


def judged(device, wearer, size=None):
    """The assessment of a shipped device for a shipped wearer."""
    person = read_wearer(resolve("wearers", wearer))
    return fea.assess(fea.read_device(device), person, size=size)


def answers(result):
    """What is said of today, of the first fall and of the service life."""
    return [outlook.state for outlook in outlooks(result.checks, result.not_checked)]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("device", "wearer"),
    [("ribbed-polypropylene-child", "demo-child")],
)
def test_a_verdict_does_not_turn_when_the_cells_are_finer(device, wearer):
    usual, finer = judged(device, wearer), judged(device, wearer, FINER)
    expected = ["not fully checked", "not met", "not fully checked"]
    assert answers(usual) == answers(finer) == expected
    worst, finer_worst = usual.checks[0].utilisation, finer.checks[0].utilisation
    assert finer_worst == pytest.approx(worst, rel=0.08)


@pytest.mark.slow
@pytest.mark.parametrize("size", [10.0, 4.0])
def test_the_known_bad_device_is_bad_with_any_cells(size):
    bare = judged("bare-two-upright-polypropylene-child", "demo-child", size)
    assert bare.verdict == "not met"
    today = next(check for check in bare.checks if check.horizon == "today")
    assert today.topic == "yield"
    assert today.utilisation > 5.0
