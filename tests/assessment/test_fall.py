# SPDX-License-Identifier: MIT
"""The first fall: twice the walking envelope, under which a device may bend but must not break."""

import numpy as np
import pytest

import fea
from fea.check.buckling import BucklingJudgement
from fea.check.check import Check
from fea.fall import judge_fall
from fea.judging import Acting
from fea.loadcase.reader import read_load_set

NOTHING = BucklingJudgement((), (), {})
CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")


@pytest.fixture(scope="module")
def result():
    return fea.assess(fea.read_device("ribbed-polypropylene-child"), CHILD, step=None, size=16.0)


def of_the_fall(result):
    return {
        (each.topic, each.zone): each
        for each in result.findings
        if isinstance(each, Check) and each.horizon == "first fall"
    }


def acting(result, name):
    read = read_load_set(name)
    return Acting.on(read, wearer=CHILD, limb=result.limb, device=result.device).loads


def test_walls_and_joints_are_held_against_breaking_and_nothing_of_comfort(result):
    topics = {topic for topic, _ in of_the_fall(result)}
    assert {"break", "buckling", "net section"} <= topics
    assert not topics & {"yield", "skin pressure", "ankle rotation"}
    assert result.fall_set.name == "stumble"


def test_a_multiple_of_what_was_solved_is_what_solving_it_gives(result):
    worn, fall = result.run.worn[:1], acting(result, "stumble")
    other = judge_fall(worn, fall, loads=acting(result, "sitting"), solved={},
                       buckling=NOTHING, factors=result.requirements.factors)  # fmt: skip
    rigid = [each for each in result.findings if each in of_the_fall(result).values()]
    solved = {(e.topic, e.zone, e.case): e for e in other if isinstance(e, Check)}
    shared = [e for e in rigid if (e.topic, e.zone, e.case) in solved]
    assert shared
    for each in shared:
        twin = solved[each.topic, each.zone, each.case]
        assert each.utilisation == pytest.approx(twin.utilisation, rel=1e-4)


def test_the_fall_doubles_what_is_asked(result):
    """The stumble is 2.0 times the envelope, so a computed stress is twice that of its instant."""
    worn = result.run.worn[0]
    solution = result.run.solutions["under the ankle, braking"]
    doubled = solution.times(2.0, "fall")
    stress = [
        each.system.recovery([each]).case(0).surface_stress("ankle lateral")
        for each in (solution, doubled)
    ]
    np.testing.assert_allclose(stress[1], 2.0 * stress[0], rtol=1e-9, atol=1e-9)
    assert worn.system is solution.system


def test_loads_of_a_test_have_no_fall_and_none_can_be_asked_for():
    bars = fea.read_device("bare-two-upright-polypropylene-child")
    cyclic = fea.assess(bars, CHILD, loads="borrowed-cyclic", step=None, size=16.0)
    assert cyclic.fall_set is None and not of_the_fall(cyclic)
    none = fea.assess(bars, CHILD, loads="sitting", fall=None, step=None, size=16.0)
    assert none.fall_set is None and not of_the_fall(none)
