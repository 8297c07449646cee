# SPDX-License-Identifier: MIT
"""Riveted joints by hand: rules of Budynas R G, Nisbett J K, Mechanical Engineering Design.

A bar of 16 × 4 mm lies on a strip of 60 × 5 mm, its rivets of 4.8 mm under washers of 15 mm, the
last of them 24 mm before the end of the strip. First a lap joint of one rivet under 600 N along
the bar, then a bracket of two rivets 36 mm apart under 20 N across it, 124 mm beyond the outer
one. What each rivet carries follows from statics; forces are those that the solution hands from
bar to strip.
"""

import numpy as np
import pytest
from riveted import LIBRARY, WALL, riveted, solved

from fea.check.check import Check
from fea.check.factors import read_factors
from fea.check.fasteners import Fastened
from fea.check.judgement import judge
from fea.device.device import Wall

LAP, ACROSS = 600.0, 20.0


def joint(names, force):
    """The forces of the rivets, and the checks of the outer one by topic and part."""
    device = riveted(Wall(LIBRARY["polypropylene-homopolymer"], WALL), names=names)
    solutions = solved(device, {"case": force})
    found = judge(device, solutions, read_factors()).findings
    checks = [each for each in found if isinstance(each, Check) and each.zone == "outer"]
    return Fastened(device, list(solutions.values())).forces, checks


@pytest.fixture(scope="module")
def lap():
    return joint(("outer",), (LAP, 0.0, 0.0))


@pytest.fixture(scope="module")
def bracket():
    return joint(("inner", "outer"), (0.0, ACROSS, 0.0))


def demand(joint, topic, words):
    """What is asked in the one check of a topic whose basis has these words."""
    (value,) = (each.demand for each in joint[1] if each.topic == topic and words in each.basis)
    return value


@pytest.mark.parametrize(("part", "stress"), [("wall 'strip'", 25.0), ("'bar'", 31.25)])
def test_bearing_of_the_lap_joint(lap, part, stress):
    """600 N over 4.8 · 5 mm² of the wall and 4.8 · 4 mm² of the bar, MPa."""
    assert demand(lap, "bearing", f"on {part}") == pytest.approx(stress, rel=1e-6)


def test_shear_to_the_edge_of_the_lap_joint(lap):
    """600 N over two planes of 24 − 2.4 mm by 5 mm, MPa."""
    assert demand(lap, "shear-out", "of wall") == pytest.approx(600 / (2 * 21.6 * 5), rel=1e-6)


def test_net_section_of_the_bar_of_the_lap_joint(lap):
    """600 N over (16 − 4.8) · 4 mm², MPa."""
    assert demand(lap, "net section", "of 'bar'") == pytest.approx(13.392857, rel=1e-6)


def test_pull_of_the_eccentric_lap_joint(lap):
    """600 N half a bar above the strip; the bar heels over the rim of the washer, N."""
    assert lap[0]["outer"].pull[0] == pytest.approx(600 * 2.0 / 7.5, rel=1e-6)


def test_shank_of_the_lap_joint(lap):
    """√3 τ/180 + σ/(1.4 · 180), as it yields first, with 600 N in shear, 160 N of pull, MPa."""
    area = np.pi / 4 * 4.8**2
    expected = np.sqrt(3) * 600 / (area * 180) + 160 / (1.4 * area * 180)
    assert demand(lap, "fastener", "shank") == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("rivet", "force"), [("outer", 20 * 160 / 36), ("inner", -20 * 124 / 36)])
def test_shear_of_the_bracket(bracket, rivet, force):
    """Force across on each of the two rivets, by moments about the other, N."""
    assert bracket[0][rivet].shear[0, 1] == pytest.approx(force, rel=1e-6)


def test_bending_of_the_holed_bar_of_the_bracket(bracket):
    """20 N · 124 mm over the modulus of what the hole leaves, 4 (16³ − 4.8³)/(6 · 16) mm³, MPa."""
    modulus = 4 * (16**3 - 4.8**3) / (6 * 16)
    assert demand(bracket, "net section", "of 'bar'") == pytest.approx(2480 / modulus, rel=1e-6)
