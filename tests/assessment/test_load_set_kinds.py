# SPDX-License-Identifier: MIT
"""Pushes, twists, toe bends and borrowed sets on a worn device: statics and what they say."""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.assumptions import step_assumptions
from fea.check.check import Check, governing
from fea.check.factors import read_factors
from fea.device.facing import SHANK_BODY
from fea.errors import LoadError
from fea.judging import Acting, Loads, judge_loads, loads_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.shipped import shipped_path
from fea.structure.limbmodel import LimbModel, bounds
from fea.structure.platebend import FRONT, HELD, TURNED
from fea.toebend import bend_gaps, solve_bends
from fea.worn import Worn

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
LIMB = Limb.of(CHILD)
DEVICE = fea.read_device("bare-two-upright-polypropylene-child").fit(LIMB, 16.0)


@pytest.fixture(scope="module")
def worn():
    return [Worn.on(DEVICE, model) for model in bounds(LIMB)]


def loads(name, wearer=CHILD):
    return loads_on(read_load_set(name), wearer=wearer, limb=LIMB, device=DEVICE)


def test_the_shank_holds_every_push_on_the_front_piece(worn):
    judged = judge_loads(worn, LIMB, loads("sitting"), read_factors())
    for push in loads("sitting").pushes:
        held = judged.solutions[push.name].reaction(SHANK_BODY)
        np.testing.assert_allclose(held[:3], -push.force, atol=1e-6 * np.linalg.norm(push.force))
    assert judged.cases == () and len(judged.applied) == 4
    hardest = max(judged.applied, key=lambda case: max(case.utilisation.values()))
    checks, _ = governing(judged.findings)
    assert checks[0].utilisation == max(hardest.utilisation.values())  # the worst of all models
    assert len(judged.every) == 3 * 4


def test_a_twist_reaches_the_shank_through_the_device(worn):
    pivot = next(each for each in loads("turning").reactions if each.free_moment)
    ball = worn[2]
    twisted, straight = (
        ball.solve([each]) for each in (pivot, replace(pivot, free_moment=0.0))
    )
    for case, solution in twisted.items():
        more = solution.reaction(SHANK_BODY) - straight[case].reaction(SHANK_BODY)
        wanted = [0, 0, 0, 0, 0, -pivot.free_moment]
        np.testing.assert_allclose(more, wanted, atol=1e-6 * abs(pivot.free_moment))


def test_a_bend_does_the_work_of_its_moment():
    bent = solve_bends(DEVICE, loads("toe-bend").bends)
    for each in bent:
        solution = each.solution
        assert each.share == 1.0  # polypropylene bends by the whole angle
        assert solution.work == pytest.approx(each.moment * each.bend.angle, rel=1e-8)
        moved, mesh = solution.displacement, solution.system.structure.mesh
        assert np.abs(moved[mesh.place(HELD)]).max() == 0.0
        turned = np.concatenate([mesh.place(FRONT), mesh.place(TURNED)])
        np.testing.assert_allclose(moved[turned, 4], -each.bend.angle, rtol=1e-9)
    soft, hard = bent
    ratio = hard.bend.angle / soft.bend.angle  # one structure, two angles
    np.testing.assert_allclose(hard.solution.vector, ratio * soft.solution.vector, rtol=1e-9)


def test_a_bend_asks_what_a_strip_of_the_plate_asks():
    """E t³ b θ / 12 L of an even strip, between a beam and a wide plate, walls at its sides."""
    bend = loads("toe-bend").bends[0]
    (found,) = solve_bends(DEVICE, [bend])
    wall = DEVICE.walls["foot plate"]
    elastic = wall.material.elastic
    x, y, _ = DEVICE.mesh.points[DEVICE.mesh.zone_nodes("foot plate")].T
    breadth = np.ptp(y[(x > bend.held_to) & (x < bend.turned_from)])
    strip = elastic.youngs_modulus * float(np.mean(wall.thickness)) ** 3 * breadth / 12.0
    strip *= bend.angle / (bend.turned_from - bend.held_to)
    assert 0.85 * strip < found.moment < 1.3 * strip / (1.0 - elastic.poisson_ratio**2)


def test_the_ground_bends_a_stiff_plate_only_so_far():
    bend = replace(loads("toe-bend").bends[1], largest_moment=1000.0)
    (stiff,) = solve_bends(DEVICE, [bend])
    assert stiff.share == pytest.approx(1000.0 / stiff.moment) and stiff.share < 1.0
    # Bent so far, the ground's moment is used up: moment and angle are halved alike.
    assert stiff.solution.work == pytest.approx(
        1000.0 * stiff.share * bend.angle, rel=1e-8
    )  # fmt: skip
    assert "only" in stiff.description


def test_a_bend_says_what_a_linear_solve_leaves_open():
    topics = [gap.topic for gap in bend_gaps(solve_bends(DEVICE, loads("toe-bend").bends))]
    assert topics == ["buckling", "large bending"]


def test_a_cyclic_set_is_solved_and_not_judged(worn):
    judged = judge_loads(worn, LIMB, loads("borrowed-cyclic"), read_factors(), purpose="cyclic")
    assert len(judged.cases) == 4 and all(case.max_deflection > 0.0 for case in judged.cases)
    assert not any(isinstance(found, Check) for found in judged.findings)
    assert np.isnan(judged.strength.cells).all()


def test_a_borrowed_set_is_judged_by_its_own_rules():
    result = fea.assess(DEVICE, CHILD, loads="borrowed-ultimate-ductile", step=None)
    assert result.checks[0].topic == "break" and "tensile strength" in result.checks[0].basis
    assert "manner of breaking" in {gap.topic for gap in result.not_checked}
    assert any("Ultimate load" in words for words in result.assumptions)


def test_measured_gait_that_is_judged_is_its_own_step():
    coarse = fea.read_device("bare-two-upright-polypropylene-child")
    result = fea.assess(coarse, CHILD, loads="example-laboratory", size=16.0)
    assert [case.name for case in result.step] == [case.name for case in result.cases]
    for own, case in zip(result.step, result.cases, strict=True):
        assert own.ankle_rotation == pytest.approx(case.ankle_rotation, rel=1e-6, abs=1e-9)
    assert "which are measured gait themselves" in str(result)
    assert sum(result.load_set.note in line for line in result.assumptions) == 1


def test_sitting_is_held_and_goes_without_a_step():
    result = fea.assess(DEVICE, CHILD, loads="sitting")
    assert result.step == () and result.step_set is None
    assert "none is shown beside postures that are held" in str(result)
    assert "knee" not in {gap.topic for gap in result.not_checked}
    assert result.skin.held
    assert not any("moved 10 mm" in line or "calf does no work" in line
                   for line in result.assumptions)
    pads = [check for check in result.checks if check.topic == "skin pressure"]
    assert pads and all("the posture is held" in check.basis for check in pads)


def test_the_wearers_own_gait_of_the_other_leg_is_refused_before_the_work(tmp_path):
    text = shipped_path("loadcases", "example-laboratory").read_text(encoding="utf-8")
    own = text.replace('curves_of = "another person"', 'curves_of = "the wearer"')
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    table = shipped_path("loadcases", "example-laboratory").with_suffix(".csv")
    (tmp_path / table.name).write_bytes(table.read_bytes())
    right = fea.Wearer(mass_kg=35, height_mm=1410, side="right")
    said: list[str] = []
    for given in ({"loads": tmp_path / "own.toml"}, {"step": tmp_path / "own.toml"}):
        with pytest.raises(LoadError, match="measured on the left leg"):
            fea.assess(DEVICE, right, progress=said.append, **given)
    assert said == []


def test_a_note_for_adults_is_said_to_adults_only():
    step, judged = read_load_set("typical-step"), read_load_set("walking-envelope")
    adult = fea.Wearer(mass_kg=75, height_mm=1756, side="left")
    for wearer, told in ((CHILD, False), (adult, True)):
        words = " ".join(step_assumptions(step, LimbModel(), judged, wearer))
        assert ("Adults are given the same forces" in words) is told
        assert "Mean curves of typically developing children" in words


def test_what_is_held_is_judged_on_the_strength_of_the_hours_it_is_held(worn):
    acting = Acting.on(read_load_set("sitting"), wearer=CHILD, limb=LIMB, device=DEVICE)
    first = acting.loads.only(acting.loads.names[0])
    step, held = (
        judge_loads(worn[:1], LIMB, first, read_factors(), held=names)
        for names in ((), acting.held)
    )
    (short,), (long,) = (
        [each for each in governing(judged.findings)[0] if each.zone == "front piece"
         and each.topic == "yield"]
        for judged in (step, held)
    )
    assert long.demand == short.demand
    # 1.16 for each tenfold time between 0.24 h at the peak of steps and 4 h held
    assert long.capacity / short.capacity == pytest.approx(1.16 ** -np.log10(4 / 0.24), rel=0.002)
    assert "4 h a day held" in long.basis and "at the peak of steps" in short.basis
    assert held.factors == read_factors().held() and step.factors == read_factors()


def test_instants_of_steps_beside_pushes_that_stay_keep_the_peak_of_steps(worn):
    walk, sit = loads("walking-envelope"), loads("sitting")
    both = Loads(walk.reactions[:1], sit.pushes[:1])
    acting = Acting(read_load_set("walking-envelope"), both)
    assert acting.held == {sit.pushes[0].name}
    judged = judge_loads(worn[:1], LIMB, both, read_factors(), held=acting.held)
    told = {check.case: check.basis for check in judged.strength.findings
            if isinstance(check, Check) and (check.topic, check.zone) == ("yield", "front piece")}
    assert "held" in told[sit.pushes[0].name]
    assert "at the peak of steps" in told[walk.reactions[0].name]
    assert set(judged.strength.utilisation) == set(told)
