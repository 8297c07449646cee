# SPDX-License-Identifier: MIT
"""Ends of straps, riveted or looped through slots, by statics and hand rules."""

from dataclasses import replace

import numpy as np
import pytest
from riveted import (
    BAR_WIDTH,
    DEPTH,
    LIBRARY,
    METAL,
    WALL,
    riveted,
)

from fea.check.capacity import capacity_of
from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.holes import NET_SECTION
from fea.check.jointpart import JointPart
from fea.check.judgement import judge
from fea.check.purpose import factors_for
from fea.check.resistance import resistance
from fea.check.strapends import _End
from fea.device.device import Strap, StrapRivets, StrapSlot, Wall
from fea.solver.static import solve
from fea.structure.coupling import Body, Support, Tie
from fea.structure.coupling import Strap as Band
from fea.structure.loads import PointForce
from fea.structure.model import Model
from fea.structure.sections import ShellSection, StrutSection

FACTORS, PLASTIC = read_factors(), LIBRARY["polypropylene-homopolymer"]


def one(checks, topic, case, words, zone="outer"):
    (check,) = (c for c in checks
                if (c.topic, c.case, c.zone) == (topic, case, zone) and words in c.basis)
    return check


def strapped(fixing):
    """The strip with a strap from one long edge over its middle to the other."""
    strap = Strap("band", ("left", "right"), "leg", (0, 0, 1), 40.0, 50.0, "", "assumed", "strip",
                  0.5, fixing)
    return replace(riveted(Wall(PLASTIC, WALL)), straps=(strap,))


def strap_solutions(device):
    wall = device.walls["strip"]
    band = Band("band", ("left", "right"), "leg", ((60.0, 30.0, 40.0),), 50.0, slack=-5.0)
    bar = StrutSection.rectangle(METAL.elastic, width=BAR_WIDTH, depth=DEPTH, up=(0, 1, 0))
    every = "ux uy uz rx ry rz"
    return solve(Model(
        device.mesh, {"strip": ShellSection(wall.material.elastic, WALL), "bar": bar},
        [Support("root", every), Support("leg", every)],
        {"worn": [PointForce("tip", (0.0, 0.0, 0.1))]},
        ties=[Tie(f.bar_place, f.shell_place) for f in device.fastenings],
        bodies=[Body("leg", (60.0, 30.0, 40.0))], straps=[band]))


@pytest.fixture(scope="module")
def worn():
    return strap_solutions(strapped(None))


def test_a_strap_of_unknown_fixing_is_not_checked(worn):
    gaps = [n for n in judge(strapped(None), worn, FACTORS).findings if isinstance(n, NotChecked)]
    (gap,) = (n for n in gaps if n.topic == "strap fixing")
    assert gap.zone == "band" and "[straps.rivets] or [straps.slot]" in gap.because


def test_the_rivets_of_a_strap_share_its_tension(worn):
    rivets = StrapRivets(2, 4.0, 12.0, 10.0, LIBRARY["rivet-aluminium-2117-t4"])
    found = judge(strapped(rivets), worn, FACTORS).findings
    checks = [c for c in found if isinstance(c, Check)]
    tension = worn["worn"].tension("band")
    assert tension > 10.0
    for end in ("left", "right"):
        bearing = one(checks, "bearing", "worn", "on wall 'strip'", zone=end)
        lift = one(checks, "pull-through", "worn", "of wall 'strip'", zone=end)
        across = bearing.demand * 2 * 4.0 * WALL
        off = lift.demand * 2 * np.pi * 12.0 * WALL
        assert np.hypot(across, off) == pytest.approx(tension, rel=1e-9)
        tear = one(checks, "shear-out", "worn", "of wall 'strip'", zone=end)
        assert tear.demand == pytest.approx(0.5 * across / (2 * (10.0 - 2.0) * WALL))
        assert one(checks, NET_SECTION, "worn", "rivet hole of 4 mm", zone=end).error > 0.0


def test_the_strip_between_slot_and_rim_is_a_beam(worn):
    slot = StrapSlot(length=42.0, width=4.0, edge_distance=8.0)
    checks = [c for c in judge(strapped(slot), worn, FACTORS).findings if isinstance(c, Check)]
    bending = one(checks, "slot", "worn", "bending of the strip of 8 mm", zone="left")
    shear = one(checks, "slot", "worn", "shear of the strip of 8 mm", zone="left")
    tension = worn["worn"].tension("band")
    # shear 1.5 V/A with half the tension at each end of the strip
    assert shear.demand == pytest.approx(1.5 * tension / 2 / (8.0 * WALL), rel=1e-9)
    flat = tension * 42.0 / (2 * WALL * 8.0**2)  # were all of it in the plane of the wall
    steep = tension * 42.0 / (2 * 8.0 * WALL**2)  # were all of it across
    assert flat < bending.demand < np.hypot(flat, steep)


def test_a_slot_in_what_does_not_yield_has_its_peak(worn):
    slot = StrapSlot(length=42.0, width=4.0, edge_distance=8.0)
    soft = judge(strapped(slot), worn, FACTORS).findings
    printed = replace(strapped(slot), walls={"strip": Wall(LIBRARY["polyamide-12-sintered"], WALL)})
    hard = judge(printed, worn, FACTORS).findings
    plain, peak = (one([c for c in found if isinstance(c, Check)], "slot", "worn", "bending",
                       zone="left") for found in (soft, hard))
    # fillet of 2 mm under 8 mm: 1 + (8 / 21.48)^0.85; ellipse 1 + 2 √(42 / 4)
    pull = (peak.demand - 1.4319 * plain.demand) / (1 + 2 * np.sqrt(10.5)) * 42.0 * WALL
    lift = WALL * (plain.demand * 2 * WALL * 8.0 / 42.0 - pull / 8.0)  # what else bends the strip
    assert np.hypot(pull, lift) == pytest.approx(worn["worn"].tension("band"), rel=1e-3)
    assert "inglis-1913" in peak.sources and "memory-M" in peak.note


def test_in_a_fall_no_joint_counts_on_more_than_its_walls_do():
    """Steel of 190 MPa least yield and 530 MPa least tensile strength folds before it breaks."""
    steel = LIBRARY["stainless-steel-316l"]
    slot = StrapSlot(length=42.0, width=4.0, edge_distance=8.0)
    device = replace(strapped(slot), walls={"strip": Wall(steel, WALL)})
    found = judge(device, strap_solutions(device), factors_for(FACTORS, "fall")).findings
    checks = [c for c in found if isinstance(c, Check)]
    folds = next(c for c in checks if c.topic == "break").capacity
    assert folds == pytest.approx(resistance(steel, factors_for(FACTORS, "fall")).value)
    assert folds < 0.8 * capacity_of(steel, "tensile_strength", FACTORS).value
    expected = {"net section": folds, "bearing": 1.5 * folds, "shear-out": folds / np.sqrt(3)}
    for topic, capacity in expected.items():
        assert one(checks, topic, "worn", "wall 'strip'").capacity == pytest.approx(capacity)
    for words, capacity in (("bending", folds), ("shear", folds / np.sqrt(3))):
        strip = one(checks, "slot", "worn", f"{words} of the strip", zone="left")
        assert strip.capacity == pytest.approx(capacity)


def test_no_strap_end_holds_the_pull_that_the_strap_is_closed_with(worn):
    rivets = StrapRivets(2, 4.0, 12.0, 10.0, LIBRARY["rivet-aluminium-2117-t4"])
    for fixing in (rivets, StrapSlot(length=42.0, width=4.0, edge_distance=8.0)):
        found = judge(strapped(fixing), worn, FACTORS).findings
        ends = [c for c in found if isinstance(c, Check) and c.zone in ("left", "right")]
        assert ends and all("strap not worn tight" in check.note for check in ends)


def test_a_slot_in_a_laminate_is_not_checked_in_bending():
    """Its plies carry unequal shares of the mean, by angles that the strip's rule knows not."""
    cloth, points = LIBRARY["carbon-cloth-epoxy"], np.zeros(3)
    slot = StrapSlot(length=42.0, width=4.0, edge_distance=8.0)
    part = JointPart("left", points, ["worn"], FACTORS, "wall", cloth, True, WALL, 0.0, 0.0)
    end = _End(strapped(slot).straps[0], part, np.array([10.0]), np.array([1.0]), points > 0)
    (bending, shear) = end.findings
    assert isinstance(bending, NotChecked) and "test it, or rivet the strap" in bending.because
    assert isinstance(shear, Check)
