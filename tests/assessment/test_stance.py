# SPDX-License-Identifier: MIT
"""Ankle and knee at one instant: statics by hand, with no finite element in the expected numbers.

The device is a coarse one, because nothing here depends on convergence.
"""

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest

import fea
from fea.device.facing import landmark
from fea.errors import GateError, ModelError
from fea.limb import Limb
from fea.loadcase.gait import SAMPLE_HEIGHT, SHANK_LENGTH, children_gait
from fea.loadcase.knee import KneeDemand
from fea.loadcase.reaction import ground_reactions
from fea.loadcase.reader import read_load_set
from fea.loadcase.timeline import through_stance, timed
from fea.screening import Screening
from fea.stance import (
    AnkleMoment,
    CaseResult,
    KneeResult,
    ankle_moment,
    case_results,
    knee_gap,
    peaks,
)
from fea.structure.limbmodel import RIGID_FOOT, LimbModel
from fea.structure.realise import plate_span
from fea.worn import Worn

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
LIMB = Limb.of(CHILD)
PEAK, CONTACT = "peak ankle moment", "contact"


def reactions_of(device, name, wearer=CHILD, limb=LIMB, names=None):
    load_set = read_load_set(name)
    if names:
        kept = tuple(i for i in load_set.instants if i.name in names)
        load_set = dataclasses.replace(load_set, instants=kept)
    return ground_reactions(
        load_set, wearer=wearer, ankle=landmark(device, "ankle_axis"),
        foot_length=limb.foot_length, plate_span=plate_span(device),
        shank_length=limb.shank_length,
    )  # fmt: skip


def results(worn, reactions, limb=LIMB):
    shares = {reaction.name: {} for reaction in reactions}
    found = case_results(worn, limb, reactions, worn.solve(reactions), shares)
    return {case.name: case for case in found}


@pytest.fixture(scope="module")
def device():
    return fea.read_device("ribbed-polypropylene-child").fit(LIMB, 16.0)


@pytest.fixture(scope="module")
def worn(device):
    return Worn.on(device, RIGID_FOOT)


@pytest.fixture(scope="module")
def step(device):
    return reactions_of(device, "typical-step")


@pytest.fixture(scope="module")
def free(worn, step):
    """The typical step with a free hinge and a calf that does nothing."""
    return results(worn, step)


def test_knee_by_hand_at_the_peak_of_the_ankle_moment(device, free):
    """35 kg, Fz 1.0745 and Fx 0.1523 body weights in the floor frame, shank leaning by 25.4°."""
    weight, lean = 35 * 9.80665, math.radians(25.4)
    fz, fx = 1.0745 * weight, 0.1523 * weight
    through = LIMB.shank_length * (fz * math.sin(lean) - fx * math.cos(lean))
    # CoP 0.7925 of the foot ahead of the heel, the axis at 0.25, its height h, pitch 14°
    pitch, height = math.radians(14.0), landmark(device, "ankle_axis")[2]
    across = fx * math.sin(pitch) + fz * math.cos(pitch)
    along = fx * math.cos(pitch) - fz * math.sin(pitch)
    moment = across * (0.7925 - 0.25) * LIMB.foot_length + along * height
    found = free[PEAK].knee
    assert found.shank_angle == pytest.approx(lean)
    assert found.demand.through_ankle == pytest.approx(through, rel=1e-9)
    assert found.demand.ankle_moment == pytest.approx(moment, rel=1e-9)
    assert found.demand.at_knee == pytest.approx(through - moment, rel=1e-9)
    assert found.demand.without_device == pytest.approx(through, rel=1e-6)
    wanted = 0.25 + (through - along * height) / across / LIMB.foot_length
    assert found.cop_to_unload == pytest.approx(wanted, rel=1e-9)
    assert found.plate_end == pytest.approx(
        0.25 + plate_span(device)[1] / LIMB.foot_length, rel=1e-9
    )
    assert found.demand.for_quadriceps == 0.0  # 37.0 - 41.0 N·m: pressed straight
    assert "pressed straight" in found.statement


def test_the_knee_of_the_typical_step_is_the_published_one(free):
    """Knee plus ankle moment of the curves is the moment through the ankle, per shank length.

    Largest difference measured: 0.003 N·m per kg, the set being rounded to three or four digits.
    """
    for instant in timed(read_load_set("typical-step").instants):
        published = children_gait()["free"].at([instant.percent])
        both = published.ankle_moment_nm_per_kg + published.knee_moment_nm_per_kg
        found = free[instant.name].knee.demand.through_ankle / 35e3
        scaled = found * SHANK_LENGTH * SAMPLE_HEIGHT / LIMB.shank_length
        assert scaled == pytest.approx(float(both[0]), abs=0.005)


def test_with_a_free_hinge_the_device_carries_the_whole_moment(free):
    for case in free.values():
        scale = np.linalg.norm(case.force) * LIMB.foot_length
        assert abs(case.ankle.by_device - case.dorsiflexing_moment) < 1e-8 * scale
        assert case.ankle.by_calf == case.ankle.by_ankle == 0.0
        assert case.ankle.device_share == pytest.approx(1.0, abs=1e-6)


def test_what_the_device_carries_is_what_flesh_presses_on_it_above_the_foot(
    device, worn, step, free
):
    """The same moment from the other side, at instants at which no strap pulls."""
    axis = np.array(landmark(device, "ankle_axis"))
    slack = 0
    for name, solution in worn.solve(step).items():
        if any(solution.tension(strap.name) for strap in device.straps):
            continue
        slack, moment = slack + 1, 0.0
        for zone in device.shank_zones:
            nodes, force = solution.bed_forces(zone)
            moment += np.cross(device.mesh.points[nodes] - axis, force)[:, 1].sum()
        assert moment == pytest.approx(free[name].ankle.by_device, rel=1e-8)
    assert slack >= 5


def test_half_the_calf_leaves_half_to_the_device(device, step, free):
    halved = results(Worn.on(device, LimbModel(calf_share=0.5)), step)
    for name, case in halved.items():
        whole = free[name]
        assert case.dorsiflexing_moment == whole.dorsiflexing_moment
        if whole.dorsiflexing_moment > 0.0:
            assert case.ankle.by_device == pytest.approx(0.5 * whole.ankle.by_device, rel=1e-6)
            assert case.ankle.by_calf == pytest.approx(0.5 * whole.dorsiflexing_moment)
        else:  # the calf cannot lift the toes
            assert case.ankle.by_device == pytest.approx(whole.ankle.by_device, rel=1e-6)
        if case.knee:  # who carries the moment is nothing to the knee; what it would lose is
            assert case.knee.demand.at_knee == pytest.approx(whole.knee.demand.at_knee)
            lost = whole.knee.demand.without_device - case.knee.demand.without_device
            assert lost == pytest.approx(case.ankle.by_calf, abs=1.0)
    assert halved[PEAK].shin_force < 0.7 * free[PEAK].shin_force


def test_a_stiff_ankle_takes_its_stiffness_times_its_turn(device, free):
    stiffness = 5e5  # N·mm/rad, 8.7 N·m/deg
    reactions = reactions_of(device, "typical-step", names={PEAK})
    case = results(Worn.on(device, LimbModel(ankle_stiffness=stiffness)), reactions)[PEAK]
    assert case.ankle.by_ankle == pytest.approx(stiffness * case.ankle_rotation)
    assert case.ankle.by_ankle + case.ankle.by_device == pytest.approx(case.dorsiflexing_moment)
    assert 0.0 < case.ankle_rotation < free[PEAK].ankle_rotation
    assert case.knee.demand.by_device == pytest.approx(case.ankle.by_device)


def test_what_a_passive_ankle_adds_against_the_ground_is_left_to_the_device(device):
    """At contact the toes are pressed down while the ankle is turned up by its seat."""
    stiff = Worn.on(device, LimbModel(ankle_stiffness=1e5))
    case = results(stiff, reactions_of(device, "typical-step", names={CONTACT}))[CONTACT]
    assert case.dorsiflexing_moment < 0.0 < case.ankle.by_ankle
    assert case.ankle.by_device < case.dorsiflexing_moment
    assert case.knee.demand.by_device == pytest.approx(case.ankle.by_device)
    assert case.knee.demand.without_device == pytest.approx(
        case.knee.demand.at_knee + case.ankle.by_device
    )


@pytest.mark.parametrize("share", [-0.1, 1.5, math.nan])
def test_a_share_that_is_none_is_refused(share):
    with pytest.raises(ModelError, match="calf_share"):
        LimbModel(calf_share=share)


def test_a_moment_that_nobody_carries_is_refused(worn, device):
    (reaction,) = reactions_of(device, "typical-step", names={PEAK})
    solution = worn.solve([reaction])[PEAK]
    wrong = dataclasses.replace(reaction, dorsiflexing_moment=reaction.dorsiflexing_moment + 10.0)
    assert ankle_moment(worn, reaction, solution).external == reaction.dorsiflexing_moment
    with pytest.raises(GateError, match="carried by nobody"):
        ankle_moment(worn, wrong, solution)


def test_the_shin_is_pressed_back_by_the_moment_and_forward_at_contact(device, free):
    """Force = moment / lever, the lever between the axis and the ends of the front piece."""
    axis = landmark(device, "ankle_axis")[2]
    case = free[PEAK]
    low, high = (
        device.mesh.points[device.mesh.zone_nodes("front piece")][:, 2].min(),
        device.mesh.points[device.mesh.zone_nodes("front piece")][:, 2].max(),
    )
    assert case.shin_force > 0.0
    assert case.dorsiflexing_moment / (high - axis) < case.shin_force * 1.25
    assert case.shin_force < case.dorsiflexing_moment / (low - axis)
    assert free[CONTACT].shin_force < 0.0


def test_crouch_beyond_the_plate_is_said_plainly(device, worn):
    """A shank at 30° asks for 1.03 of the foot's length by hand, where no plate reaches."""
    crouch = results(worn, reactions_of(device, "crouch"))
    leaning = [c for c in crouch.values() if c.knee.shank_angle > math.radians(29.0)]
    assert leaning
    for case in leaning:
        assert case.knee.cop_to_unload > 1.0 > case.knee.plate_end
        assert case.knee.beyond_plate
        assert "no device on this plate can do it, however strong" in case.knee.statement
    reached = [c for c in crouch.values() if not c.knee.beyond_plate and c.knee.cop_to_unload > 0.5]
    assert all("no device" not in case.knee.statement for case in reached)
    upright = next(c for c in crouch.values() if c.knee.shank_angle < math.radians(11.0))
    assert not upright.knee.beyond_plate


def test_an_unknown_shank_angle_leaves_the_knee_unknown(free):
    held = [case for case in free.values() if "held down" in case.name]
    assert held and all(case.knee is None for case in held)


def test_each_zone_is_governed_by_its_hardest_instant():
    def at(name, percent, shares):
        return CaseResult(
            name=name, title="", percent=percent, pitch=0.0, force=(0, 0, 1), cop=(0, 0, 0),
            moved_back=0.0,
            dorsiflexing_moment=0.0, ankle=AnkleMoment(0.0, 0.0), knee=None, shin_force=0.0,
            ankle_rotation=0.0, max_deflection=0.0, deflection_place=(0, 0, 0), utilisation=shares,
        )  # fmt: skip

    early = at("early", 12.0, {"plate": 0.4, "wall": 0.1})
    found = peaks([early, at("late", 48.0, {"plate": 0.2, "wall": 0.9})])
    assert [(p.zone, p.case, p.percent, p.utilisation) for p in found] == [
        ("wall", "late", 48.0, 0.9), ("plate", "early", 12.0, 0.4),
    ]  # fmt: skip


def test_interpolated_instants_are_solved_with_the_others(worn, device):
    """From one prepared system, in one block; the moment rises and falls once."""
    stance = through_stance(read_load_set("typical-step"))
    reactions = ground_reactions(
        stance, wearer=CHILD, ankle=landmark(device, "ankle_axis"), foot_length=LIMB.foot_length,
        plate_span=plate_span(device), shank_length=LIMB.shank_length,
    )  # fmt: skip
    found = results(worn, reactions)
    curve = [found[instant.name] for instant in timed(stance.instants)]
    assert len(curve) >= 25
    moment = np.array([case.dorsiflexing_moment for case in curve])
    turns = np.flatnonzero(np.diff(np.sign(np.diff(moment))))
    assert len(turns) == 2  # lowest in loading response, highest at push-off
    assert max(curve, key=lambda case: case.dorsiflexing_moment).name == PEAK
    assert isinstance(found[PEAK].knee, KneeResult)


def test_what_is_left_to_the_quadriceps_is_never_silent():
    """The worst instant, and the grade beside it; nothing where the knee is pressed straight."""

    def case(name, moment):
        demand = KneeDemand(through_ankle=moment, ankle_moment=0.0)
        return SimpleNamespace(name=name, knee=SimpleNamespace(demand=demand))

    cases = [case("early", 5e3), case("late", 12.5e3), SimpleNamespace(name="none", knee=None)]
    (gap,) = knee_gap(cases, Screening(quadriceps_grade=2))
    assert "up to 12.5 N·m are left to the quadriceps ('late')" in gap.because
    assert "entered as 2 of 5" in gap.because
    assert "not known" in knee_gap(cases, Screening())[0].because
    assert knee_gap([case("straight", -4e3)], Screening()) == []
    assert knee_gap([], Screening()) == []
