# SPDX-License-Identifier: MIT
"""A hole is judged where the device file says, however far the nodes of the mesh are from it."""

from dataclasses import replace

import numpy as np
import pytest
from riveted import LIBRARY, riveted
from small_models import flat, grid

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.judgement import judge
from fea.device.device import Wall
from fea.device.drilling import HoleTable, drilled, hole_notes
from fea.solver.static import solve
from fea.structure.coupling import Support
from fea.structure.loads import EdgeForce
from fea.structure.model import Model
from fea.structure.sections import ShellSection

LENGTH, WIDTH, CELL, DIAMETER = 120.0, 48.0, 12.0, 5.0
PLATE = grid(int(LENGTH / CELL), int(WIDTH / CELL), flat(LENGTH, WIDTH))
WALL = Wall(LIBRARY["polypropylene-homopolymer"], 4.0)


def plate(from_rim):
    """A plate of 12 mm cells with a hole in the middle of its length."""
    table = HoleTable(name="vent", zone="skin", diameter_mm=DIAMETER,
                      at=(60.0, WIDTH - from_rim, 2.0))
    problems = []
    mesh, holes = drilled(PLATE, [table], {}, problems)
    assert not problems
    return replace(riveted(WALL), mesh=mesh, walls={"skin": WALL}, bars={}, fastenings=(),
                   holes=holes)


def judged(from_rim):
    device = plate(from_rim)
    solutions = solve(Model(
        device.mesh, {"skin": ShellSection(WALL.material.elastic, WALL.thickness)},
        [Support("u0", "ux uy uz rx ry rz")], {"pull": [EdgeForce("u1", (10.0, 0.0, 0.0))]}))
    found = judge(device, solutions, read_factors()).findings
    return [each for each in found if each.zone == "vent"]


def test_the_middle_of_a_hole_is_kept_between_the_nodes():
    device = plate(7.0)
    (hole,) = device.holes
    assert hole.point == (60.0, 41.0, 0.0)
    assert device.mesh.points[device.mesh.place(hole.place)[0]].tolist() == [60.0, 36.0, 0.0]
    (note,) = hole_notes(device.mesh, device.holes)
    assert "hole 'vent' of 5 mm" in note and "5.0 mm off" in note
    assert hole_notes(device.mesh, plate(13.0).holes) == ()  # less than a quarter of 5 mm


def test_the_way_to_the_rim_is_that_of_the_hole_and_not_of_its_node():
    (net,) = judged(7.0)
    assert isinstance(net, Check)
    # 7 mm from the rim; the node is 12 mm from it, and would have said 1 / (1 - 5/24) = 1.26
    assert f"times {1 / (1 - DIAMETER / 14.0):.2f} for hole of 5 mm in 14 mm" in net.basis


def test_a_hole_further_from_the_rim_than_its_node_gains_nothing():
    (net,) = judged(15.0)
    assert f"times {1 / (1 - DIAMETER / 24.0):.2f} for hole of 5 mm in 24 mm" in net.basis


@pytest.mark.parametrize("from_rim", [5.0, 0.0])
def test_a_hole_whose_node_is_on_the_rim_is_not_checked(from_rim):
    (gap,) = judged(from_rim)
    assert isinstance(gap, NotChecked)
    assert "refine the mesh there" in gap.because or "over the rim" in gap.because


def test_a_point_off_the_wall_or_beyond_its_rim_is_put_on_the_wall():
    (hole,) = plate(-3.0).holes
    np.testing.assert_allclose(hole.point, [60.0, WIDTH, 0.0])
