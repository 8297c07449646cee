# SPDX-License-Identifier: MIT
"""A worn device against the skin: free bodies, scaling, bony places, the band of flesh stiffness.

Meshes are coarse: statics and the rules hold on any. The free bodies know no finite element: forces
of the ground, of tissue and of the strap, and the ankle's hinge.
"""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.check.check import Check, NotChecked
from fea.check.pressure import check_pressure
from fea.check.touch import read_pads, read_pressures, read_straps
from fea.judging import Loads, loads_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.skin import judge_skin
from fea.structure.limbmodel import RIGID_FOOT
from fea.worn import Worn

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
PUSH, STRIKE = "under the forefoot, flat, driving", "heel strike, heel held down by a rigid device"
TIGHT = 1e-8


def reactions(wearer, device):
    limb = Limb.of(wearer)
    loads = loads_on(read_load_set("walking-envelope"), wearer=wearer, limb=limb, device=device)
    return [one for one in loads.reactions if one.name in (PUSH, STRIKE)]


@pytest.fixture(scope="module")
def device():
    return fea.read_device("ribbed-polypropylene-child").fit(Limb.of(CHILD), 16.0)


@pytest.fixture(scope="module")
def worn(device):
    return Worn.on(device, RIGID_FOOT)


@pytest.fixture(scope="module")
def solved(worn, device):
    return worn.solve(reactions(CHILD, device))


@pytest.fixture(scope="module")
def skin(worn, device, solved):
    return judge_skin([worn], Loads(tuple(reactions(CHILD, device))), solved)


class Free:
    """What acts on device, foot and shank in one case, each (6,) about the ankle axis."""

    def __init__(self, device, solution):
        self.device, self.solution = device, solution
        self.ankle = device.landmarks["ankle_axis"]
        count = 6 * len(device.mesh.points)
        ground = solution.forces[:count].reshape(-1, 6)[:, :3]
        self.ground = self.about(np.arange(len(ground)), ground)
        self.by_foot = self.tissue(device.foot_zones)
        self.by_shank = self.tissue(device.shank_zones)
        self.by_strap, self.strap_on_shank = np.zeros(6), np.zeros(6)
        for spring in solution.system.straps:
            pull = -spring.tension(solution.vector) * spring.row
            nodes, on_nodes = spring.dofs[:-6:6] // 6, pull[:-6].reshape(-1, 6)[:, :3]
            self.by_strap = self.by_strap + self.about(nodes, on_nodes)
            self.strap_on_shank = self.strap_on_shank + pull[-6:]  # the shank's point is the axis

    def about(self, nodes, forces):
        arm = self.device.mesh.points[nodes] - self.ankle
        return np.concatenate([forces.sum(axis=0), np.cross(arm, forces).sum(axis=0)])

    def tissue(self, zones):
        return sum(self.about(*self.solution.bed_forces(zone)) for zone in zones)


@pytest.fixture(params=[PUSH, STRIKE])
def free(request, device, solved):
    return Free(device, solved[request.param])


def scale(free):
    return np.repeat([np.abs(free.ground[:3]).max(), np.abs(free.ground[3:]).max()], 3)


def test_the_device_is_in_balance(free):
    left = free.ground + free.by_foot + free.by_shank + free.by_strap
    assert np.abs(left / scale(free)).max() < TIGHT


def test_the_foot_is_in_balance_on_its_hinge(free):
    """The hinge takes every component but the moment about its axis."""
    assert abs(free.by_foot[4]) < TIGHT * scale(free)[4]


def test_the_shank_is_in_balance(free):
    """Tissue, strap, the foot through the hinge, and whoever holds the shank."""
    hinge = -free.by_foot
    held = free.solution.reaction("shank")
    left = -free.by_shank + free.strap_on_shank + hinge + held
    assert np.abs(left / scale(free)).max() < TIGHT


def test_the_forces_on_the_shin_times_their_levers_are_the_ankle_moment(free):
    """External dorsiflexing moment −M_y of the ground, carried by tissue and strap on the shank."""
    carried = -free.by_shank + free.strap_on_shank
    assert -carried[4] == pytest.approx(free.ground[4] * -1.0, rel=TIGHT)
    assert abs(free.ground[4]) > 5e3  # N·mm, there is something to carry


def test_the_readings_add_up_to_the_free_body(free, device):
    found = read_pressures({"case": free.solution})
    total = sum(np.array(one.force) for one in found if one.zone in device.shank_zones)
    np.testing.assert_allclose(total, -free.by_shank[:3], atol=1e-8 * scale(free)[0])
    for one in found:
        area = free.solution.pressure(one.zone)[2].sum()
        assert 0.0 <= one.area <= area * (1 + 1e-12)
        assert one.mean <= one.peak


def test_the_strap_pulls_at_heel_strike_and_hangs_at_push_off(device, solved):
    tension = {one.case: one.tension for one in read_straps(device, solved)}
    assert tension[STRIKE] > 1.0
    assert tension[PUSH] == 0.0
    strap = next(one for one in read_straps(device, solved) if one.case == STRIKE)
    ends = [device.mesh.points[device.mesh.place(p)].mean(axis=0) for p in device.straps[0].places]
    radius = 0.5 * np.linalg.norm(ends[1] - ends[0])
    assert strap.pressure == pytest.approx(strap.tension / (40.0 * radius))


def test_twice_the_weight_is_twice_the_pressure(worn, device, solved):
    """Contact without gaps: pressure goes with the load, and where it presses does not change."""
    heavy = fea.Wearer(mass_kg=70, height_mm=1410, side="left")
    double = read_pads(device, worn.solve(reactions(heavy, device)))
    for one, two in zip(read_pads(device, solved), double, strict=True):
        assert (one.part, one.case) == (two.part, two.case)
        assert two.mean == pytest.approx(2.0 * one.mean, rel=1e-6, abs=1e-9)


def test_every_part_of_the_shank_is_judged_or_named(skin, device):
    checks = {one.zone for one in skin.findings if isinstance(one, Check)}
    missing = {one.zone for one in skin.findings if isinstance(one, NotChecked)}
    assert set(device.shank_zones) | {"calf strap", "tibial crest", "fibular head"} <= checks
    assert "foot" in missing
    for place in ("medial malleolus", "lateral malleolus"):
        assert place in checks | missing


def test_the_band_holds_the_usual_flesh_and_both_others(skin):
    for band in skin.bands:
        assert "flesh half as stiff" in band.soft.case
        assert "flesh twice as stiff" in band.stiff.case
        assert band.usual.case in (PUSH, STRIKE)
        assert band.hardest.mean == max(pad.mean for pad in band.every)
    front = next(band for band in skin.bands if band.usual.part == "front piece")
    means = [pad.mean for pad in front.every]
    assert max(means) / min(means) < 2.0  # four-fold flesh, far less than that in the mean


def test_the_crest_is_judged_below_the_tuberosity_only(skin, device):
    crest = next(band.usual for band in skin.bands if band.usual.part == "tibial crest")
    assert abs(crest.place[1]) <= 15.0
    assert crest.place[2] <= device.landmarks["tibial_tuberosity"][2] + 5.0  # the shank leans


def test_a_place_without_landmark_or_wall_is_not_checked(worn, device, solved):


    named = {name: at for name, at in device.landmarks.items() if name != "fibular_head"}
    named["medial_malleolus"] = named["ankle_axis"] + [0.0, -400.0, 0.0]
    found = check_pressure(replace(device, landmarks=named), solved)
    because = {one.zone: one.because for one in found if isinstance(one, NotChecked)}
    assert "names no landmark 'fibular_head'" in because["fibular head"]
    assert "no wall that presses" in because["medial malleolus"]


def test_loads_of_a_test_machine_press_on_no_skin(worn, device, solved):
    skin = judge_skin([worn], Loads(tuple(reactions(CHILD, device))), solved, purpose="proof")
    assert skin.bands == ()
    (only,) = skin.findings
    assert isinstance(only, NotChecked)
