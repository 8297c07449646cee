# SPDX-License-Identifier: MIT
"""Rivets and holes by statics and hand rules, on a bar riveted to a strip."""

from dataclasses import replace

import numpy as np
import pytest
from riveted import (
    BAR_WIDTH,
    DEPTH,
    INNER,
    LIBRARY,
    METAL,
    OUTER,
    RIVET,
    STEP,
    TIP,
    WALL,
    WASHER,
    riveted,
    solved,
)

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.fasteners import Fastened, WallRound
from fea.check.holes import NET_SECTION
from fea.check.jointpart import JointPart, judge_shank
from fea.check.judgement import judge
from fea.check.purpose import factors_for
from fea.device.device import Hole, Wall
from fea.material.laminate import Laminate
from fea.solver.corotational import solve_large
from fea.solver.tieforces import own_axes, tie_forces
from fea.structure.coupling import Support, Tie
from fea.structure.loads import PointForce
from fea.structure.model import Model
from fea.structure.sections import ShellSection, StrutSection

FACTORS, PLASTIC = read_factors(), LIBRARY["polypropylene-homopolymer"]
SIDEWAYS = {"sideways": (0.0, 20.0, 0.0), "pull": (30.0, 0.0, 0.0), "lift": (0.0, 0.0, 5.0)}
CASES = list(SIDEWAYS)


@pytest.fixture(scope="module")
def device():
    return riveted(Wall(PLASTIC, WALL))


@pytest.fixture(scope="module")
def solutions(device):
    return solved(device, SIDEWAYS)


@pytest.fixture(scope="module")
def checks(device, solutions):
    found = judge(device, solutions, FACTORS).findings
    return [each for each in found if isinstance(each, Check)]


def one(checks, topic, case, words, zone="outer"):
    (check,) = (c for c in checks
                if (c.topic, c.case, c.zone) == (topic, case, zone) and words in c.basis)
    return check


def test_the_ties_hand_the_bar_what_its_load_asks(device, solutions):
    tip, points = device.mesh.points[device.mesh.place("tip")[0]], device.mesh.points
    for case, solution in solutions.items():
        force, moment = np.zeros(3), np.zeros(3)
        for each in tie_forces(solution).values():
            node = points[device.mesh.place(each.tie.place)[0]]
            force += each.on_node[:3]
            moment += each.on_node[3:] + np.cross(node - tip, each.on_node[:3])
        assert force == pytest.approx(-np.array(SIDEWAYS[case]), abs=30 * 1e-8)
        assert moment == pytest.approx(np.zeros(3), abs=30 * 100 * 1e-8)


def test_a_pair_of_rivets_carries_a_sideways_load_by_the_lever(device, solutions):
    forces = Fastened(device, list(solutions.values())).forces
    arm, gap = TIP - OUTER, OUTER - INNER
    # of 20 N at the tip the outer rivet takes 1 + arm/gap, the inner one −arm/gap
    assert forces["outer"].shear[0, 1] == pytest.approx(20.0 * (1 + arm / gap), rel=1e-8)
    assert forces["inner"].shear[0, 1] == pytest.approx(-20.0 * arm / gap, rel=1e-8)
    # along the row nothing is shared by statics but the sum
    pull = forces["outer"].shear[1, 0] + forces["inner"].shear[1, 0]
    assert pull == pytest.approx(30.0, rel=1e-8)
    assert forces["outer"].alone == forces["inner"].alone == 0.0


def test_what_lifts_the_bar_pulls_at_the_outer_rivet(device, solutions):
    forces = Fastened(device, list(solutions.values())).forces
    outer = forces["outer"]
    # 5 N up at the tip: the outer rivet holds at least the lever's share, and it is tilted
    assert outer.pull[2] > 5.0 * (TIP - OUTER) / (OUTER - INNER)
    assert np.all(outer.pull >= 0.0) and np.all(forces["inner"].pull >= 0.0)


def test_a_bar_narrower_than_the_washer_heels_over_its_own_edge(device):
    """At the tip the force acts half a bar above the strip: along the bar, and across it."""
    (outer,) = (each for each in device.fastenings if each.name == "outer")
    wide = replace(device, fastenings=(replace(outer, washer=24.0),))
    solutions = solved(wide, SIDEWAYS)
    forces = Fastened(wide, list(solutions.values())).forces["outer"]
    assert forces.pull[0] == pytest.approx(20.0 * DEPTH / 2 / (BAR_WIDTH / 2), rel=1e-6)
    assert forces.pull[1] == pytest.approx(30.0 * DEPTH / 2 / (24.0 / 2), rel=1e-6)


def test_bearing_and_shear_out_by_hand(checks):
    force = 20.0 * (1 + (TIP - OUTER) / (OUTER - INNER))
    wall = one(checks, "bearing", "sideways", "on wall 'strip'")
    assert wall.demand == pytest.approx(force / (RIVET * WALL), rel=1e-6)
    plain = next(c for c in checks if c.topic in ("yield", "local peak"))
    assert wall.capacity == pytest.approx(plain.capacity)  # of plastics no more than yield
    bar = one(checks, "bearing", "sideways", "on 'bar'")
    assert bar.demand == pytest.approx(force / (RIVET * DEPTH), rel=1e-6)
    stress = next(c for c in checks if c.topic == "bar stress")
    assert bar.capacity == pytest.approx(1.5 * stress.capacity)
    # sideways the strip reaches 30 mm, more than six diameters; towards its end 24 mm
    tear = one(checks, "shear-out", "sideways", "of wall 'strip'")
    near = 24.0 / np.cos(np.radians(60.0))  # what lies 30° off the force counts, and no more
    assert tear.demand < force / (2 * (min(28.8, near, 24 / 0.5) - RIVET / 2) * WALL) * 1.05
    along = one(checks, "shear-out", "pull", "of wall 'strip'")
    share = one(checks, "bearing", "pull", "on wall 'strip'").demand * RIVET * WALL
    assert along.demand == pytest.approx(share / (2 * (24.0 - RIVET / 2) * WALL), rel=1e-6)
    assert along.capacity == pytest.approx(plain.capacity / np.sqrt(3))
    edge = one(checks, "shear-out", "sideways", "of 'bar'")
    assert edge.demand == pytest.approx(force / (2 * (8.0 - RIVET / 2) * DEPTH), rel=1e-6)


def test_punching_and_the_shank_by_hand(device, solutions, checks):
    outer = Fastened(device, list(solutions.values())).forces["outer"]
    punch = one(checks, "pull-through", "lift", "of wall 'strip'")
    assert punch.demand == pytest.approx(outer.pull[2] / (np.pi * WASHER * WALL))
    shank = one(checks, "fastener", "sideways", "rivet-steel")
    area = np.pi / 4 * RIVET**2
    shear = np.linalg.norm(outer.shear[0])
    # it yields at 180 MPa, over √3 in shear, before it breaks at 186 in shear and 0.6 · 310 in pull
    expected = np.sqrt(3) * shear / (area * 180.0) + outer.pull[0] / (1.4 * area * 180.0)
    assert shank.demand == pytest.approx(expected, rel=1e-6)
    assert shank.capacity == 1.0 and "memory-H" in shank.note


def shank_of(material, purpose, shear=500.0, pull=300.0):
    """What becomes of a shank of 4.8 mm under given forces."""
    part = JointPart("rivet", np.zeros(3), ["case"], factors_for(FACTORS, purpose), "'bar'", METAL,
                     False, DEPTH, RIVET, RIVET)
    (found,) = judge_shank(part, material, np.array([shear]), np.array([pull]))
    return found


@pytest.mark.parametrize(("name", "purpose", "shear", "pull"), [
    ("rivet-steel", "fall", 186.0, 0.6 * 310.0),
    ("rivet-steel", "verdict", 180.0 / np.sqrt(3), 180.0),
    ("screw-stainless-a2-70", "fall", 350.0, 0.9 * 700.0),
    ("screw-stainless-a2-70", "verdict", 450.0 / np.sqrt(3), 450.0),
    ("rivet-aluminium-2117-t4", "fall", 179.0, 0.6 * 295.0 / 1.1),
    ("rivet-aluminium-2117-t4", "verdict", 165.0 / 1.1 / np.sqrt(3), 165.0 / 1.1),
])
def test_a_shank_is_held_against_yield_every_day_and_against_break_in_a_fall(
    name, purpose, shear, pull
):
    """Table 3.4 of EN 1993-1-8: 0.6 f_ur A0 of a rivet and 0.9 f_ub As of a bolt in pull."""
    area = np.pi / 4 * RIVET**2
    found = shank_of(LIBRARY[name], purpose)
    assert found.demand == pytest.approx(500 / (area * shear) + 300 / (1.4 * area * pull), rel=1e-4)
    alone = shank_of(LIBRARY[name], purpose, shear=0.0)
    assert alone.demand == pytest.approx(300 / (area * pull), rel=1e-4)
    assert ("in pull tensile strength" in found.basis) == (purpose == "fall")
    assert "en-1993-1-8" in found.sources and "shigley-2011" not in found.sources


@pytest.mark.parametrize("name", ["pull_factor", "yield_strength", "shear_strength"])
def test_a_shank_of_which_a_number_is_missing_is_not_checked(name):
    rivet = LIBRARY["rivet-steel"]
    kept = {key: row for key, row in rivet.properties.items() if key != name}
    found = shank_of(replace(rivet, properties=kept), "verdict")
    assert isinstance(found, NotChecked) and name.replace("_", " ") in found.because
    assert "lay a material file over the library" in found.because


def test_the_bar_is_judged_by_what_the_hole_leaves_of_it(checks):
    bar = one(checks, NET_SECTION, "sideways", "of 'bar'")
    moment = 20.0 * (TIP - OUTER)  # edgewise, the largest
    inertia = DEPTH * (BAR_WIDTH**3 - RIVET**3) / 12
    assert bar.demand == pytest.approx(moment * BAR_WIDTH / 2 / inertia, rel=1e-6)
    whole = next(c for c in checks if c.topic == "bar stress" and c.case == "sideways")
    assert bar.demand / whole.demand == pytest.approx(BAR_WIDTH**3 / (BAR_WIDTH**3 - RIVET**3))


def test_a_printed_bar_cites_the_peak_beside_its_hole_and_how_it_is_known(device, solutions):
    printed = replace(device.bars["bar"], material=LIBRARY["polyamide-12-sintered"])
    found = judge(replace(device, bars={"bar": printed}), solutions, FACTORS).findings
    bar = one([c for c in found if isinstance(c, Check)], NET_SECTION, "sideways", "of 'bar'")
    assert {"heywood-1952", "frocht-hill-1940", "timoshenko-goodier-1970"} <= set(bar.sources)
    assert "peak beside a hole: memory-H" in bar.from_memory


def test_what_is_drilled_for_a_thread_is_larger_than_its_core(device, solutions, checks):
    """A core of 4.8 mm in holes of 6 mm: the shank presses and breaks by its core, wall and bar
    lose the hole."""
    drilled = replace(device, fastenings=tuple(
        replace(each, hole_diameter=6.0) for each in device.fastenings))
    found = [c for c in judge(drilled, solutions, FACTORS).findings if isinstance(c, Check)]
    for topic, words in (("bearing", "on 'bar'"), ("bearing", "on wall"), ("fastener", "shank")):
        core, both = (one(every, topic, "sideways", words) for every in (checks, found))
        assert both.demand == pytest.approx(core.demand, rel=1e-9)
    force = 20.0 * (1 + (TIP - OUTER) / (OUTER - INNER))
    edge = one(found, "shear-out", "sideways", "of 'bar'")
    assert edge.demand == pytest.approx(force / (2 * (8.0 - 3.0) * DEPTH), rel=1e-6)
    bar = one(found, NET_SECTION, "sideways", "of 'bar'")
    inertia = DEPTH * (BAR_WIDTH**3 - 6.0**3) / 12
    assert bar.demand == pytest.approx(20.0 * (TIP - OUTER) * BAR_WIDTH / 2 / inertia, rel=1e-6)
    net = one(found, NET_SECTION, "sideways", "rivet hole of 6 mm")
    assert f"times {36 / (36 - 6):.2f} for rivet hole of 6 mm in 36 mm of wall" in net.basis


def test_the_wall_beside_a_rivet_takes_its_stress_over_the_net_section(device, solutions, checks):
    net = one(checks, NET_SECTION, "sideways", "rivet hole of 4.8 mm")
    # the nearest rim is 24 mm away, the other rivet 36 mm: the hole is the middle of 36 mm
    assert f"times {36 / (36 - 4.8):.2f} for rivet hole of 4.8 mm in 36 mm of wall" in net.basis
    assert "no peak factor" in net.basis
    washer = device.mesh.points[device.mesh.place("outer shell")].mean(axis=0)
    assert np.linalg.norm(np.array(net.place) - washer) < 20.0
    assert net.error > 0.0


def test_printed_walls_take_the_peaks_and_laminates_that_of_coupons():
    printed = riveted(Wall(LIBRARY["polyamide-12-sintered"], WALL))
    found = judge(printed, solved(printed, SIDEWAYS), FACTORS).findings
    checks = [c for c in found if isinstance(c, Check)]
    net = one(checks, NET_SECTION, "sideways", "rivet hole")
    share = 4.8 / 36
    factor = (2 + (1 - share) ** 3) / (1 - share)
    assert f"times {factor:.2f} for rivet hole" in net.basis
    assert {"heywood-1952", "frocht-hill-1940"} <= set(net.sources)
    assert "peak beside a hole: memory-H" in net.from_memory
    assert "tests of the peak beside a shank: memory-M" in net.from_memory
    pin = (1.25 + 7 * share**2) * one(checks, "bearing", "sideways", "on wall 'strip'").demand
    # the gross stress is that which the same wall of what yields would be asked, less its factor
    soft = riveted(Wall(replace(LIBRARY["polyamide-12-sintered"], kind="thermoplastic"), WALL))
    found = judge(soft, solved(soft, SIDEWAYS), FACTORS).findings
    gross = one([c for c in found if isinstance(c, Check)], NET_SECTION, "sideways", "rivet hole")
    assert net.demand == pytest.approx(factor * (1 - share) * gross.demand + pin, rel=1e-9)
    cloth = LIBRARY["carbon-cloth-epoxy"]
    layup = Laminate(cloth.elastic, [0, 45, 45, 0], WALL / 4)
    stacked = riveted(Wall(cloth, WALL, layup=layup, direction=(1, 0, 0)))
    found = judge(stacked, solved(stacked, SIDEWAYS), FACTORS).findings
    checks = [c for c in found if isinstance(c, Check)]
    (gap,) = (n for n in found if isinstance(n, NotChecked) and n.topic == NET_SECTION)
    assert gap.zone == "device" and "(inner, outer) weakens it more than either" in gap.because
    net = one(checks, NET_SECTION, "sideways", "of a ply of wall 'strip' at rivet hole")
    assert "at a hole" in net.basis and "narrow" not in net.basis  # 7.5 diameters of wall
    assert one(checks, "bearing", "sideways", "on wall 'strip'").capacity == pytest.approx(
        660 / 1.20 * 0.73)


def test_what_a_laminate_lacks_for_a_hole_is_named():
    acrylic = LIBRARY["carbon-acrylic"]
    layup = Laminate(acrylic.elastic, [0, 45, 45, 0], WALL / 4)
    device = riveted(Wall(acrylic, WALL, layup=layup, direction=(1, 0, 0)))
    holed = replace(device, holes=(Hole("vent", "strip", "middle hole", 8.0),))
    gaps = [n for n in judge(holed, solved(device, SIDEWAYS), FACTORS).findings
            if isinstance(n, NotChecked)]
    words = {n.topic: n.because for n in gaps if n.zone == "outer"}
    assert set(words) == {"bearing", "shear-out", "pull-through", NET_SECTION}
    assert "of bearing strength is known for 'carbon-acrylic'" in words["bearing"]
    assert "hole factor tension, hole factor compression" in words[NET_SECTION]
    assert "tensile strength" not in words[NET_SECTION]
    (wide,) = (n for n in gaps if n.zone == "vent")
    assert "larger than the holes that the hole factors of a laminate" in wide.because


def test_a_lone_rivet_cannot_hold_a_bar_from_turning():
    device = riveted(Wall(PLASTIC, WALL), material=None, names=("outer",))
    found = judge(device, solved(device, SIDEWAYS), FACTORS).findings
    gaps = {each.because for each in found if isinstance(each, NotChecked)
            and each.topic == "fastener"}
    assert any("stands alone and takes up to 2.48 N·m about its own axis" in gap for gap in gaps)
    assert any("the material of the rivet or screw is not known" in gap for gap in gaps)


def test_a_plain_hole_is_judged_where_it_is(device, solutions):
    holed = replace(device, holes=(Hole("vent", "strip", "middle hole", 8.0),))
    found = [c for c in judge(holed, solutions, FACTORS).findings
             if isinstance(c, Check) and c.zone == "vent"]
    assert [c.case for c in found] == CASES and {c.topic for c in found} == {NET_SECTION}
    # 15 mm from the root edge: the hole is the middle of 30 mm
    assert "times 1.36 for hole of 8 mm in 30 mm" in found[0].basis
    place = np.array(found[0].place[:2])
    assert np.linalg.norm(place - [15.0, 30.0]) < 0.5 * 8.0 + 2 * STEP
    wide = replace(device, holes=(Hole("vent", "strip", "middle hole", 30.0),))
    (gap,) = (n for n in judge(wide, solutions, FACTORS).findings
              if isinstance(n, NotChecked) and n.zone == "vent")
    assert "reaches over the rim: the wall is 30.0 mm wide there" in gap.because


def test_the_way_to_the_rim_is_measured_along_the_wall(device):
    node = int(device.mesh.place("middle hole")[0])
    wall = WallRound.at(device.mesh, node, 10.0)
    assert wall.width == pytest.approx(30.0)
    force = np.array([[-1.0, 0, 0], [1.0, 0, 0], [0, 1.0, 0]])
    assert wall.ahead(force) == pytest.approx([15.0, 60.0, 30.0], rel=0.02)


def test_after_large_rotations_forces_stand_in_axes_that_turned_along(device):
    wall = device.walls["strip"]
    bar = StrutSection.rectangle(METAL.elastic, width=BAR_WIDTH, depth=DEPTH, up=(0, 1, 0))
    model = Model(
        device.mesh, {"strip": ShellSection(wall.material.elastic, WALL), "bar": bar},
        [Support("root", "ux uy uz rx ry rz")], {"lift": [PointForce("tip", (0.0, 0.0, 20.0))]},
        ties=[Tie(f.bar_place, f.shell_place) for f in device.fastenings])
    solution = solve_large(model)["lift"]
    turn = solution.displacement[device.mesh.place("outer bar")[0], 4]
    assert abs(turn) > 0.1  # rad
    total = np.zeros(3)
    for each in tie_forces(solution).values():
        node = int(device.mesh.place(each.tie.place)[0])
        total += own_axes(solution, node) @ each.on_node[:3]
    assert total == pytest.approx([0.0, 0.0, -20.0], abs=1e-5)
    forces = Fastened(device, [solution]).forces["outer"]
    # what goes along the turned bar is shear, what goes across it is pull
    assert np.linalg.norm(forces.shear) > 20.0 * np.sin(0.1)
    assert forces.pull[0] > 20.0 * (TIP - OUTER) / (OUTER - INNER) * np.cos(turn) ** 2
