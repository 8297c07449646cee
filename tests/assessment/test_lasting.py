# SPDX-License-Identifier: MIT
"""The service life of a shipped device, coarse."""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.check.check import Check, NotChecked
from fea.check.lifegaps import CREEP
from fea.check.purpose import CYCLES
from fea.check.requirements import read_requirements
from fea.judging import Loads, loads_on, worn_on
from fea.lasting import heel_held, judge_cycles, judge_service
from fea.limb import Limb
from fea.loadcase.applied import AppliedPush
from fea.loadcase.reader import read_load_set
from fea.structure.limbmodel import RIGID_FOOT, LimbModel, bounds
from fea.worn import Worn

ADULT = fea.Wearer(mass_kg=80, height_mm=1760, side="left")
LIMB = Limb.of(ADULT)
STEP = read_load_set("typical-step-adult")
ASKED = read_requirements(adult=True)


@pytest.fixture(scope="module")
def worn():
    return Worn.on(fea.read_device("aluminium-bars-adult").fit(LIMB, 20.0), RIGID_FOOT)


def service(worn, step=STEP, solved=None, asked=ASKED, others=()):
    return judge_service([worn, *others], solved, step, wearer=ADULT, limb=LIMB, requirements=asked)


@pytest.fixture(scope="module")
def found(worn):
    return service(worn)


def test_every_wall_and_bar_has_a_row_and_a_check(worn, found):
    parts = {*worn.device.walls, *worn.device.bars}
    assert {row.zone for row in found.rows} == parts
    checks = [each for each in found.findings if isinstance(each, Check)]
    assert {check.zone for check in checks} == parts
    assert all(check.horizon == "service life" for check in checks)
    names = {instant.name for instant in STEP.instants}
    assert all(check.case in names and check.place is not None for check in checks)


def test_bars_have_months_and_plastics_a_class(worn, found):
    for row in found.rows:
        bar = row.zone in worn.device.bars
        assert (row.months is not None) is bar
        assert bar or row.state in ("beyond published life", "cracks expected early")


def test_stairs_and_stumbles_are_the_step_by_the_ratio_of_the_sets(found):
    check = next(each for each in found.findings if isinstance(each, Check))
    assert f"stairs of {1.6 / 1.125:.2f} times the stress" in check.basis
    assert f"stumbles of {2.742 / 1.125 / 1.2:.2f} times the stress" in check.basis


def test_a_heel_strike_is_in_every_cycle(worn, found):
    strike = "loading response, heel held down by a rigid device"
    assert heel_held(STEP) is None and any(strike in (row.first, row.second) for row in found.rows)
    without = replace(STEP, instants=tuple(i for i in STEP.instants if i.name != strike))
    added = heel_held(without)
    assert added.cop == "heel-edge" and "heel held down" in added.name
    again = service(worn, step=without)
    assert any(added.name in (row.first, row.second) for row in again.rows)


def test_each_zone_is_judged_on_the_limb_that_harms_it_most(worn, found):
    """On a foot whose toes are free, and on an ankle that is loose under a push to either side."""
    others = [Worn.on(worn.device, model) for model in bounds(LIMB)[1:]]
    every = {row.zone: row for row in service(worn, others=others).rows}
    alone = [service(each) for each in others]
    alone = [{row.zone: row.factor for row in each.rows} for each in (found, *alone)]
    assert every.keys() == alone[0].keys()
    for zone, row in every.items():
        assert row.factor == pytest.approx(min(each[zone] for each in alone), rel=1e-9)
    foot = every["plate"]
    assert foot.factor < 0.95 * alone[0]["plate"] and "toes free" in foot.first
    sides = {row.first.rpartition(" ")[2] for row in every.values() if "push 10 mm" in row.first}
    assert sides <= {"left)", "right)"} and sides


def test_a_step_asks_for_every_model_of_the_limb(worn):
    """Also beside loads that stand on none, such as bends of the plate."""
    models = [each.model.name for each in worn_on(worn.device, LIMB, Loads(()), steps=True)]
    assert models == [model.name for model in bounds(LIMB)]
    assert len(worn_on(worn.device, LIMB, Loads(()))) == 1


def test_a_longer_service_asks_for_more(worn, found):
    longer = replace(ASKED, service=replace(ASKED.service, months=120.0))
    factors = {row.zone: row.factor for row in service(worn, asked=longer).rows}
    for row in found.rows:
        if row.months is not None:
            assert factors[row.zone] < row.factor
        else:
            assert factors[row.zone] == pytest.approx(row.factor)  # published cycles, no more


def test_without_a_step_life_is_not_checked(worn):
    creep, gap = service(worn, step=None).findings
    assert isinstance(gap, NotChecked) and (gap.topic, gap.horizon) == ("life", "service life")
    assert creep.topic == CREEP


def test_a_step_that_does_not_fit_leaves_life_open(worn):
    beyond = replace(STEP.instants[1], cop=1.4, moment_nm_per_kg=None, beyond_plate="refuse")
    creep, gap = service(worn, replace(STEP, instants=(beyond, *STEP.instants[2:]))).findings
    assert isinstance(gap, NotChecked) and "does not fit this device" in gap.because
    assert creep.topic == CREEP


def test_each_condition_of_a_borrowed_cyclic_set_is_outlived_by_itself(worn):
    cyclic = read_load_set("borrowed-cyclic")
    acting = loads_on(cyclic, wearer=ADULT, limb=LIMB, device=worn.device)
    solved = worn.solve(acting.reactions)
    found = judge_cycles([worn], cyclic, acting, solved, ASKED.factors)
    checks = [each for each in found.findings if isinstance(each, Check)]
    parts = {*worn.device.walls, *worn.device.bars}
    assert len(checks) == 2 * len(parts)
    assert {check.case.split(" ")[0] for check in checks} == {"heel", "forefoot"}
    bars = [check for check in checks if check.zone in worn.device.bars]
    assert all(check.topic == CYCLES and "3 000 000 cycles" in check.basis for check in bars)
    assert {check.required for check in checks} == {1.15}  # the load contains the consequence
    assert all(row.months is None and row.first.split(" ")[0] == row.second.split(" ")[0]
               for row in found.rows)  # fmt: skip
    assert judge_cycles([worn], STEP, acting, solved, ASKED.factors).findings == ()


def test_the_step_of_children_is_scaled_to_the_ankle_of_an_adult(worn):
    """1.6 N·m per kg, over what the curves of children give at this foot length."""
    children = read_load_set("typical-step")
    acting = loads_on(children, wearer=ADULT, limb=LIMB, device=worn.device)
    given = max(each.dorsiflexing_moment for each in acting.reactions) / 80e3
    names = ("peak ankle moment", "loading response, heel held down by a rigid device")
    few = replace(children, instants=tuple(
        each for each in children.instants if each.name in names))  # fmt: skip
    check = next(each for each in service(worn, step=few).findings if isinstance(each, Check))
    assert given < 1.6 and f"walking of {1.6 / given:.2f} times the stress" in check.basis
    usual = max(each.fz_bw for each in few.instants)
    stairs, stumble = (1.6 / given * each / usual for each in (1.6, 2.742 / 1.2))
    assert f"stairs of {stairs:.2f} times the stress" in check.basis
    assert f"stumbles of {stumble:.2f} times the stress" in check.basis


def cyclic_checks(worn, names):
    """Checks of the cycles of some instants of the borrowed set, by name."""
    cyclic = read_load_set("borrowed-cyclic")
    some = replace(cyclic, instants=tuple(i for i in cyclic.instants if i.name in names))
    acting = loads_on(some, wearer=ADULT, limb=LIMB, device=worn.device)
    found = judge_cycles([worn], some, acting, worn.solve(acting.reactions), ASKED.factors)
    return {each.zone: each for each in found.findings if isinstance(each, Check)}


def test_one_instant_at_a_place_comes_and_goes(worn):
    """From nothing to 1.2237 body weights is 4 % more than from 0.051."""
    alone = cyclic_checks(worn, ("forefoot condition",))
    both = cyclic_checks(worn, ("forefoot condition", "forefoot condition, least force"))
    assert alone and alone.keys() == both.keys()
    for zone in worn.device.bars:
        ratio = alone[zone].demand / both[zone].demand
        assert ratio == pytest.approx(1.2237 / (1.2237 - 0.051), rel=2e-3)
    assert all(check.demand > 0.0 for check in alone.values())


def test_the_same_push_twice_is_no_cycle_without_rest(worn):
    cyclic = read_load_set("borrowed-cyclic")
    one = next(i for i in cyclic.instants if i.name == "forefoot condition")
    twice = replace(cyclic, instants=(one, replace(one, name="again")))
    acting = loads_on(twice, wearer=ADULT, limb=LIMB, device=worn.device)
    found = judge_cycles([worn], twice, acting, worn.solve(acting.reactions), ASKED.factors)
    checks = [each for each in found.findings if isinstance(each, Check)]
    assert checks and all(check.demand > 0.0 for check in checks)


def test_pushes_of_a_cyclic_set_are_said_to_be_open(worn):
    push = AppliedPush("lean on the shank", (), np.zeros(3), None, 0.0, "")
    cyclic = read_load_set("borrowed-cyclic")
    (gap,) = judge_cycles([worn], cyclic, Loads((), (push,)), {}, ASKED.factors).findings
    assert (gap.topic, gap.horizon) == (CYCLES, "service life")
    assert "'lean on the shank'" in gap.because


class Narrow(Worn):
    """A plate too narrow for pushes moved aside by more than 4 mm."""

    def carries(self, reaction):
        return abs(float(reaction.cop[1])) <= 4.0 and super().carries(reaction)


def test_cycles_are_found_on_a_plate_that_keeps_pushes_nearer(worn):
    loose = LimbModel("loose ankle", ball_joint=True, push_aside=10.0)
    narrow = Narrow.on(worn.device, loose)
    assert any("4 mm" in check.case for check in cyclic_checks(
        narrow, ("forefoot condition", "forefoot condition, least force")).values())  # fmt: skip


def test_what_life_leaves_open_is_said(worn, found):
    gaps = {each.topic: each for each in found.findings
            if isinstance(each, NotChecked) and each.zone == "device"}  # fmt: skip
    assert "measure the angle of its ankle at each visit" in gaps[CREEP].because
    because = [each.because for each in found.findings if isinstance(each, NotChecked)]
    assert not any("turns the ankle" in words for words in because)  # bars are stiff


def test_instants_that_are_solved_are_not_solved_again(worn, found):
    """Those of another structure are no answer, as with a calf that does its share."""
    reactions = loads_on(STEP, wearer=ADULT, limb=LIMB, device=worn.device).reactions
    known = worn.solve(reactions)
    halved = {case: solution.times(0.5, case) for case, solution in known.items()}
    assert service(worn, solved=known).rows == found.rows
    half = {row.zone: row.factor for row in service(worn, solved=halved).rows}
    for row in found.rows:
        assert half[row.zone] == pytest.approx(2.0 * row.factor, rel=1e-6)
    other = Worn.on(worn.device, replace(RIGID_FOOT, ankle_stiffness=1e6)).solve(reactions)
    assert service(worn, solved=other).rows == found.rows


def test_a_step_that_turns_the_ankle_far_leaves_life_open(worn):
    soft = worn.device.softened(lambda material: 0.02)
    found = service(Worn.on(soft, RIGID_FOOT))
    turned = [each for each in found.findings
              if isinstance(each, NotChecked) and "the ankle turns" in each.because]  # fmt: skip
    assert len(turned) == 1 and turned[0].horizon == "service life"
    assert "more than the 8°" in turned[0].because
