# SPDX-License-Identifier: MIT
"""Free bodies of shipped devices on their limbs: Newton and Euler, with no finite element in them.

The ground pushes on the plate, tissue pushes on the walls, the shank is held. So the part of a
device above a cut is in balance with the tissue that touches it; the foot hangs in a hinge, which
carries no moment about its axis; and the cut above the foot and below the shank carries the whole
external dorsiflexing moment F_z x + F_x h that the ground makes about the ankle axis.

Tolerances are a thousand times what was measured (1e-11 of the largest term).
"""

import numpy as np
import pytest

import fea
from fea.limb import Limb
from fea.solver.system import prepare
from fea.structure.loads import PatchForce
from fea.structure.realise import realise
from fea.tensors import von_mises

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
ADULT = fea.Wearer(mass_kg=68, height_mm=1630, side="right", adult=True)
DEVICES = {"ribbed-polypropylene-child": CHILD, "aluminium-bars-adult": ADULT}
CASES = (
    "heel strike, toes up",
    "under the midfoot, braking",
    "under the forefoot, heel up",
    "under the forefoot, pushed medially",
    "end of the plate, flat, driving",
)
UP = (0.0, 0.0, 1.0)
TIGHT = 1e-8


class Worn:
    """A shipped device on its wearer, solved for the walking envelope."""

    def __init__(self, name):
        self.device = fea.read_device(name).fit(Limb.of(DEVICES[name]), 10.0)
        self.assessment = fea.assess(self.device, DEVICES[name])
        self.ankle = self.device.landmarks["ankle_axis"]
        self.cases = {case.name: case for case in self.assessment.cases}
        self.solutions = self.assessment.run.solutions

    def ground(self, case):
        """Force and moment (6,) of the ground about the ankle axis."""
        force = np.array(self.cases[case].force)
        arm = np.array(self.cases[case].cop) - self.ankle
        return np.concatenate([force, np.cross(arm, force)])

    def tissue(self, case, zones, straps=()):
        """Nodes (m,) and forces (m, 3) of the tissue on some zones, and of straps; a shared node
        comes twice."""
        solution = self.solutions[case]
        pairs = [solution.bed_forces(zone) for zone in zones]
        pairs += [solution.strap_forces(strap.name) for strap in straps]
        return tuple(np.concatenate(parts) for parts in zip(*pairs, strict=True))

    def about_ankle(self, nodes, forces):
        """Resultant (6,) about the ankle axis of forces (m, 3) on nodes (m,)."""
        arm = self.device.mesh.points[nodes] - self.ankle
        return np.concatenate([forces.sum(axis=0), np.cross(arm, forces).sum(axis=0)])

    def cut(self, case, height):
        """What the part above a horizontal plane exerts on that below (6,), about the ankle."""
        point = np.array([self.ankle[0], self.ankle[1], height])
        carried = self.solutions[case].section_cut(point, UP)
        return np.concatenate(
            [carried[:3], carried[3:] + np.cross(point - self.ankle, carried[:3])]
        )

    def below(self, height):
        """Nodes of the cells whose middle lies below a height."""
        mesh = self.device.mesh
        low = [
            cells[mesh.points[cells].mean(axis=1)[:, 2] <= height].ravel()
            for cells in mesh.cells.values()
        ]
        return np.unique(np.concatenate(low))

    def heights(self, zones):
        """Lowest and highest z of some zones."""
        z = np.concatenate(
            [self.device.mesh.points[self.device.mesh.zone_nodes(zone)][:, 2] for zone in zones]
        )
        return z.min(), z.max()


@pytest.fixture(scope="module")
def moulded():
    return Worn("ribbed-polypropylene-child")


@pytest.fixture(scope="module")
def bars():
    return Worn("aluminium-bars-adult")


@pytest.fixture(params=["moulded", "bars"])
def worn(request):
    return request.getfixturevalue(request.param)


def same(found, expected, scale):
    """Forces and moments (6,) agree, each within TIGHT of the larger of their scale."""
    found, expected = np.asarray(found), np.asarray(expected)
    assert np.abs(found[:3] - expected[:3]).max() < TIGHT * np.abs(scale[:3]).max()
    assert np.abs(found[3:] - expected[3:]).max() < TIGHT * np.abs(scale[3:]).max()


@pytest.mark.parametrize("case", CASES)
def test_the_held_shank_takes_the_whole_ground_reaction(worn, case):
    ground = worn.ground(case)
    same(worn.solutions[case].reaction("shank"), -ground, ground)


@pytest.mark.parametrize("case", CASES)
def test_the_load_on_the_sole_is_the_ground_reaction_itself(worn, case):
    solution = worn.solutions[case]
    count = len(worn.device.mesh.points)
    forces = solution.forces[: 6 * count].reshape(-1, 6)
    assert np.all(forces[:, 3:] == 0.0)
    same(worn.about_ankle(np.arange(count), forces[:, :3]), worn.ground(case), worn.ground(case))
    pressed = np.flatnonzero(np.any(forces != 0.0, axis=1))
    plate = np.concatenate([worn.device.mesh.zone_nodes(z) for z in worn.device.plate_zones])
    assert np.isin(pressed, plate).all()


@pytest.mark.parametrize("case", CASES)
def test_the_moment_is_force_times_lever(worn, case):
    """External dorsiflexing moment F_z x + F_x h, h the height of the axis above the floor."""
    result = worn.cases[case]
    (fx, _, fz), (x, _, z) = result.force, result.cop
    assert z == 0.0
    by_hand = fz * (x - worn.ankle[0]) + fx * worn.ankle[2]
    assert result.dorsiflexing_moment == pytest.approx(by_hand, rel=1e-12)
    assert worn.ground(case)[4] == pytest.approx(-by_hand, rel=1e-12)


@pytest.mark.parametrize("case", CASES)
def test_the_hinge_carries_no_moment_about_its_axis(worn, case):
    """Tissue alone turns the foot about the hinge, so it must not turn it."""
    nodes, forces = worn.tissue(case, worn.device.foot_zones)
    moment = worn.about_ankle(nodes, forces)[4]
    turning = np.abs(worn.device.mesh.points[nodes, 0] - worn.ankle[0]) @ np.abs(forces[:, 2])
    assert turning > 1000.0  # N·mm, there is something to balance
    assert abs(moment) < TIGHT * turning


@pytest.mark.parametrize("case", CASES)
def test_a_cut_between_foot_and_shank_carries_the_whole_moment(worn, case):
    """No tissue touches the device between the foot and the first zone on the shank."""
    foot, shank = (
        worn.heights(zones) for zones in (worn.device.foot_zones, worn.device.shank_zones)
    )
    if worn.device.bars:  # where the bars alone are cut: ties that cross are not part of a cut
        rivets = worn.heights(["ankle wall"])
        low, high = rivets[1] + 20.0, shank[0] - 20.0
    else:
        low, high = foot[1] + 15.0, shank[0] - 10.0
    assert high > low
    moment = worn.cases[case].dorsiflexing_moment
    for height in np.linspace(low, high, 5):
        assert worn.cut(case, height)[4] == pytest.approx(moment, rel=TIGHT)


@pytest.mark.parametrize("case", CASES)
def test_both_sides_of_every_cut_are_in_balance(moulded, case):
    """Above a cut only tissue of the shank acts, below it the ground and the other tissue."""
    device = moulded.device
    nodes, forces = moulded.tissue(case, (*device.foot_zones, *device.shank_zones), device.straps)
    ground, peak = moulded.ground(case), 0.0
    low, high = moulded.ankle[2] + 10.0, moulded.heights(device.shank_zones)[1] - 20.0
    for height in np.linspace(low, high, 8):
        carried = moulded.cut(case, height)
        lower = np.isin(nodes, moulded.below(height))
        above = moulded.about_ankle(nodes[~lower], forces[~lower])
        below = moulded.about_ankle(nodes[lower], forces[lower])
        same(carried, above, ground)
        same(-carried, ground + below, ground)
        peak = max(peak, abs(carried[4]))
    assert peak > 0.9 * abs(moulded.cases[case].dorsiflexing_moment)


@pytest.mark.parametrize("case", CASES)
def test_the_two_bars_carry_the_moment_by_their_section_forces(bars, case):
    """Bending, and axial and shear forces of both bars at the middle of their free length."""
    mesh, solution = bars.device.mesh, bars.solutions[case]
    height = 0.5 * (bars.heights(["ankle wall"])[1] + bars.heights(["front piece"])[0])
    total, ground = np.zeros(6), bars.ground(case)
    for zone in bars.device.bars:
        ends = mesh.points[mesh.zone_cells(zone)]
        cell = int(np.flatnonzero((ends[:, 0, 2] <= height) & (ends[:, 1, 2] > height))[0])
        axis = ends[cell, 1] - ends[cell, 0]
        axis /= np.linalg.norm(axis)
        forward = np.array([1.0, 0.0, 0.0]) - axis[0] * axis
        forward /= np.linalg.norm(forward)
        local = np.stack([axis, np.cross(forward, axis), forward])  # x along, z "up" = forward
        carried = solution.strut_forces(zone)[cell, 0]
        force, moment = local.T @ carried[:3], local.T @ carried[3:]
        arm = ends[cell, 0] - bars.ankle
        total += np.concatenate([force, moment + np.cross(arm, force)])
    same(total, bars.cut(case, height), ground)
    assert total[4] == pytest.approx(bars.cases[case].dorsiflexing_moment, rel=TIGHT)


def test_a_force_through_the_ankle_leaves_the_uprights_alone(moulded):
    """Measured, from the axis of the ankle up: at most 8 % of the stress under the same force at
    the forefoot. Not nothing: the plate bends, and the walls that hold it follow; at their lower
    border, 20 mm below the axis, where they stand on the walls of the foot, 12 %.
    """
    device, ankle = moulded.device, moulded.ankle
    system = prepare(realise(device))
    push = {
        name: [PatchForce(device.plate_zones, (0.0, 0.0, 400.0), (ankle[0] + x, 0.0, 0.0), 30.0)]
        for name, x in (("ankle", 0.0), ("forefoot", 0.55 * moulded.assessment.limb.foot_length))
    }
    solutions = system.solve(push)

    def stress(name, zone):
        above = device.mesh.points[device.mesh.zone_cells(zone)].mean(axis=1)[:, 2] > ankle[2]
        return max(
            von_mises(solutions[name].stress(zone, at))[above].max() for at in ("top", "bottom")
        )

    zones = [f"{zone} {part}" for zone in ("upright", "ankle") for part in ("medial", "lateral")]
    assert max(stress("ankle", zone) / stress("forefoot", zone) for zone in zones) < 0.10
    height = moulded.ankle[2] + 12.0
    cuts = {name: solutions[name].section_cut((*ankle[:2], height), UP) for name in push}
    carried = {name: cut[4] + (height - ankle[2]) * cut[0] for name, cut in cuts.items()}
    assert carried["forefoot"] == pytest.approx(400.0 * 0.55 * moulded.assessment.limb.foot_length)
    assert abs(carried["ankle"]) < TIGHT * carried["forefoot"]
