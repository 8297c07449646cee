# SPDX-License-Identifier: MIT
"""Holes of every kind beside each other: what they leave of the wall and of the way out of it."""

from dataclasses import replace

import numpy as np
import pytest
from riveted import LIBRARY, RIVET, WALL, riveted, solved

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.judgement import judge
from fea.check.neighbours import Cut, width_beside
from fea.check.strapends import strap_cuts
from fea.device.device import Hole, Strap, StrapRivets, StrapSlot, Wall

CASE = {"pull": (600.0, 0.0, 0.0)}
VENT = 8.0


@pytest.fixture(scope="module")
def device():
    return riveted(Wall(LIBRARY["polypropylene-homopolymer"], WALL))


@pytest.fixture(scope="module")
def solutions(device):
    return solved(device, CASE)


def holed(device, gap, diameter=VENT):
    """With a plain hole in the middle of the strip, a multiple of 3 mm ahead of the outer rivet."""
    node = np.flatnonzero(np.all(np.isclose(device.mesh.points, [96.0 + gap, 30, 0]), axis=1))
    mesh = device.mesh.with_places({"vent": node})
    return replace(device, mesh=mesh, holes=(Hole("vent", "strip", "vent", diameter),))


def found(device, solutions, zone, topic):
    every = judge(device, solutions, read_factors()).findings
    return [each for each in every if (each.zone, each.topic) == (zone, topic)]


def test_a_plain_hole_beside_a_rivet_takes_from_its_net_section(device, solutions):
    near = holed(device, 12.0)
    # 12 mm between the middles, of which 2.4 and 4 mm are lost: 1 / (1 − 6.4/12), on both sides
    for zone, other, size in (("outer", "vent", RIVET), ("vent", "outer", VENT)):
        net = found(near, solutions, zone, "net section")
        (wall,) = (c for c in net if "of wall 'strip'" in c.basis)
        width = size * 12.0 / 6.4
        assert f"times {1 / (1 - 6.4 / 12):.2f} for" in wall.basis
        assert f"in {width:.0f} mm of wall 'strip' beside '{other}'" in wall.basis


def test_a_shank_tears_out_into_the_next_hole(device, solutions):
    (far,) = (c for c in found(device, solutions, "outer", "shear-out") if "of wall" in c.basis)
    (near,) = (c for c in found(holed(device, 12.0), solutions, "outer", "shear-out")
               if "of wall" in c.basis)
    # planes from hole to rim 24 − 2.4 mm, and from hole to hole 12 − 2.4 − 4 mm
    assert near.demand / far.demand == pytest.approx(21.6 / 5.6, rel=1e-6)


def test_holes_that_meet_are_not_checked(device, solutions):
    meeting = holed(device, 6.0)
    for topic in ("net section", "shear-out"):
        (gap,) = (n for n in found(meeting, solutions, "outer", topic) if isinstance(n, NotChecked))
        assert "'vent'" in gap.because or "the next hole" in gap.because


def test_a_bar_tears_out_between_its_rivets(device, solutions):
    (bar,) = (c for c in found(device, solutions, "inner", "shear-out") if "of 'bar'" in c.basis)
    share = next(c for c in found(device, solutions, "inner", "bearing") if "on 'bar'" in c.basis)
    force = share.demand * RIVET * 4.0
    # pushed backwards by the strip: 24 mm to the end of the bar
    assert bar.demand == pytest.approx(force / (2 * (24.0 - RIVET / 2) * 4.0), rel=1e-6)
    back = solved(device, {"push": (-600.0, 0.0, 0.0)})
    (bar,) = (c for c in found(device, back, "inner", "shear-out") if "of 'bar'" in c.basis)
    # pushed forwards: 36 mm to the next rivet, not 160 mm to the bar's other end
    assert bar.demand == pytest.approx(force / (2 * (36.0 - RIVET) * 4.0), rel=1e-6)


def test_two_rivets_and_the_rims_lose_no_more_than_the_worst_way():
    """A section through all of them, 10 + 20 + 9 mm with holes of 4 and 6 mm in it."""
    row = [Cut("a", np.zeros(3), 4.0), Cut("b", np.array([20.0, 0, 0]), 6.0)]
    whole = (4.0 + 6.0) / (10.0 + 20.0 + 9.0)
    widths = min(20.0, width_beside("a", row)[0]), min(18.0, width_beside("b", row)[0])
    shares = [4.0 / widths[0], 6.0 / widths[1]]
    assert max(shares) == pytest.approx(6.0 / 18.0) and max(shares) >= whole


def strapped(device, fixing):
    strap = Strap("band", ("left", "right"), "leg", (0, 0, 1), 40.0, 50.0, "", "assumed", "strip",
                  0.5, fixing)
    return replace(device, straps=(strap,))


def test_the_rivets_of_a_strap_stand_where_the_device_says(device):
    rivets = StrapRivets(2, 4.0, 12.0, 10.0, LIBRARY["rivet-steel"])
    left = [cut for cut in strap_cuts(strapped(device, rivets)) if cut.name == "left"]
    at = sorted(tuple(cut.point.round(6)) for cut in left)
    # the left edge, y = 60, middle at x = 60: 20 mm apart, 10 mm from the rim
    assert at == [(50.0, 50.0, 0.0), (70.0, 50.0, 0.0)]


def test_a_rivet_feels_the_end_of_a_strap(device, solutions):
    rivets = StrapRivets(1, 4.0, 12.0, 18.0, LIBRARY["rivet-steel"])
    net = found(strapped(device, rivets), solutions, "inner", "net section")
    (wall,) = (c for c in net if "of wall" in c.basis)
    # rivets of 4.8 mm at (60, 30) and of 4 mm at (60, 42)
    assert f"times {1 / (1 - 4.4 / 12.0):.2f} for" in wall.basis
    slot = StrapSlot(length=44.0, width=4.0, edge_distance=14.0)
    net = found(strapped(device, slot), solutions, "inner", "net section")
    (wall,) = (c for c in net if "of wall" in c.basis)
    # the slot's middle line is at y = 44, and runs past the rivet
    assert f"times {1 / (1 - 4.4 / 14.0):.2f} for" in wall.basis
    assert isinstance(wall, Check)
