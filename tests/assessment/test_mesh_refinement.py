# SPDX-License-Identifier: MIT
"""Whether the verdict stands when the cells are made smaller, without which it says nothing.

Each shipped device that is called strong enough at its own cell size is judged again with cells of
two thirds of that. The stress of the governing check may grow towards its limit value; the verdict
must not turn.
"""

import pytest

import fea
from fea.shipped import resolve
from fea.wearer import read_wearer

FINER = 4.0  # mm, of 6


def judged(device, wearer, size=None):
    """The assessment of a shipped device for a shipped wearer."""
    person = read_wearer(resolve("wearers", wearer))
    return fea.assess(fea.read_device(device), person, size=size)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("device", "wearer"),
    [("ribbed-polypropylene-child", "demo-child")],
)
def test_a_verdict_does_not_turn_when_the_cells_are_finer(device, wearer):
    usual, finer = judged(device, wearer), judged(device, wearer, FINER)
    assert usual.verdict == finer.verdict == "not fully checked"
    worst, finer_worst = usual.checks[0].utilisation, finer.checks[0].utilisation
    assert finer_worst == pytest.approx(worst, rel=0.08)


@pytest.mark.slow
@pytest.mark.parametrize("size", [10.0, 4.0])
def test_the_known_bad_device_is_bad_with_any_cells(size):
    bare = judged("bare-two-upright-polypropylene-child", "demo-child", size)
    assert bare.verdict == "not met"
    assert bare.checks[0].topic == "yield"
    assert bare.checks[0].utilisation > 5.0
