# SPDX-License-Identifier: MIT
"""Large rotations of whole structures: limits by hand, ties, bodies, beds, straps, refusals."""

from dataclasses import replace

import numpy as np
import pytest
from small_models import ALL, STEEL, chain, flat, grid

import fea
from fea.errors import ModelError, SolveError, UnsupportedError
from fea.solver.buckling import buckle_all
from fea.solver.corotational import RESIDUAL

BAR = fea.StrutSection.rectangle(STEEL, width=1.0, depth=10.0, up=(0, 0, 1))
PLASTIC = fea.Isotropic(youngs_modulus=2000.0, poisson_ratio=0.3)


def cantilever(cells=8, turn=None):
    points = np.column_stack([np.linspace(0, 100, cells + 1), np.zeros((cells + 1, 2))])
    return chain(points if turn is None else points @ turn.T)


def bent(force, *, mesh=None, section=BAR):
    mesh = cantilever() if mesh is None else mesh
    return fea.Model(
        mesh, {"bar": section}, [fea.Support("root", ALL)], {"a": [fea.PointForce("tip", force)]}
    )


def test_a_small_load_gives_the_linear_answer():
    model = bent((0.0, 1e-4, -1e-3))
    small, linear = fea.solve_large(model)["a"], fea.solve(model)["a"]
    np.testing.assert_allclose(small.displacement, linear.displacement, atol=1e-6 * 2.0)
    largest = np.abs(linear.strut_forces("bar")).max()
    np.testing.assert_allclose(
        small.strut_forces("bar"), linear.strut_forces("bar"), atol=2e-4 * largest
    )


def test_a_turned_model_gives_the_turned_answer():
    turn = np.array([[0.0, -1.0, 0.0], [0.6, 0.0, -0.8], [0.8, 0.0, 0.6]])
    section = fea.StrutSection.rectangle(
        STEEL, width=1.0, depth=10.0, up=tuple(turn @ [0.0, 0.0, 1.0])
    )
    first = fea.solve_large(bent((0.0, 2.0, -20.0)))["a"]
    model = bent(tuple(turn @ [0.0, 2.0, -20.0]), mesh=cantilever(turn=turn), section=section)
    second = fea.solve_large(model)["a"]
    np.testing.assert_allclose(
        second.displacement[:, :3], first.displacement[:, :3] @ turn.T, atol=1e-6
    )
    assert second.strain_energy == pytest.approx(first.strain_energy, rel=1e-8)


def test_gates_reactions_and_energy():
    found = fea.solve_large(bent((0.0, 0.0, -20.0)))["a"]
    assert all(gate.passed for gate in found.gates)
    named = {gate.name: gate for gate in found.gates}
    assert named["residual of the equilibrium"].limit == RESIDUAL
    assert abs(found.displacement[-1, 4]) > 0.5  # rad
    arm = found.points[-1]
    reaction = found.reaction("root")
    np.testing.assert_allclose(reaction[:3], [0.0, 0.0, 20.0], atol=1e-6)
    np.testing.assert_allclose(reaction[3:], -np.cross(arm, [0.0, 0.0, -20.0]), atol=1e-4)
    with pytest.raises(UnsupportedError, match="turns far"):
        found.times(2.0, "twice")
    with pytest.raises(UnsupportedError, match="linear buckling cannot start"):
        buckle_all({"a": found})


def test_offsets_turn_with_their_nodes():
    """A strut with offsets is one between moved nodes: the root is held, rigid arms are exact."""
    up = (0.0, 0.0, 7.0)
    lifted = replace(BAR, offset_start=up, offset_end=up)
    points = np.column_stack([np.linspace(0, 100, 9), np.zeros((9, 2))])
    load = [fea.PointForce("tip", (0.0, 0.0, 0.0), (0.0, -2000.0, 0.0))]
    support = [fea.Support("root", ALL)]
    above = fea.solve_large(fea.Model(chain(points + up), {"bar": BAR}, support, {"a": load}))["a"]
    below = fea.solve_large(fea.Model(chain(points), {"bar": lifted}, support, {"a": load}))["a"]
    turn = below.placement.turns[-1]
    expected = above.points[-1] - turn @ up
    np.testing.assert_allclose(below.points[-1], expected, atol=1e-6)
    assert np.degrees(np.arccos(turn[0, 0])) > 40.0


def beam_on_plate():
    """A strut that stands over the middle of a square plate, to be tied to it."""
    plate = grid(4, 4, lambda u, v: (20 * u - 10, 20 * v - 10, 0 * u))
    points = np.vstack([plate.points, [[0, 0, 0], [0, 0, 50]]])
    count = len(plate.points)
    middle = np.flatnonzero(np.abs(plate.points).max(axis=1) < 6)
    return fea.Mesh(
        points, {"triangle": plate.cells["triangle"], "line": [[count, count + 1]]},
        places={**plate.places, "foot": [count], "head": [count + 1], "middle": middle},
        zones={**plate.zones, "bar": ("line", [0])},
    )  # fmt: skip


@pytest.mark.parametrize("rule", ["mean", "rigid"])
def test_a_tie_carries_a_part_through_a_quarter_turn(rule):
    mesh = beam_on_plate()
    sections = {
        "skin": fea.ShellSection(STEEL, 2.0),
        "bar": fea.StrutSection.rectangle(STEEL, width=5.0, depth=5.0, up=(1, 0, 0)),
    }
    body = fea.Body("holder", at=(0.0, 0.0, 0.0))
    bed = fea.Bed("skin", "holder", normal_stiffness=10.0, tangential_stiffness=10.0)
    held = [fea.Support("holder", "ux uy uz rx rz"), fea.Support("holder", "ry", np.pi / 2)]
    model = fea.Model(
        mesh, sections, held, {"turn": []}, [fea.Tie("foot", "middle", rule)], [bed], [body]
    )
    found = fea.solve_large(model)["turn"]
    np.testing.assert_allclose(found.points[-1], [50.0, 0.0, 0.0], atol=1e-6)
    assert np.abs(found.bed_forces("skin")[1]).max() < 1e-5
    assert found.strain_energy < 1e-6
    assert np.abs(found.stress("skin", "top")).max() < 1e-5


def pressed(loads, face=None, **more):
    """A square plate that lies on a held body below it."""
    mesh = grid(3, 3, flat(30.0, 30.0))
    return fea.Model(
        mesh, {"skin": fea.ShellSection(STEEL, 3.0)}, [fea.Support("rest", ALL)], {"a": loads},
        beds=[fea.Bed("skin", "rest", 1.0, 1.0, face)],
        bodies=[fea.Body("rest", at=(15.0, 15.0, -50.0))], **more,
    )  # fmt: skip


def test_one_sided_beds_press_and_let_go_as_in_the_linear_solve():
    model = pressed([fea.PointForce("u1v1", (0.0, 0.0, -0.02))], face="bottom")
    large, linear = fea.solve_large(model)["a"], fea.solve(model)["a"]
    pressure, expected = large.pressure("skin")[1], linear.pressure("skin")[1]
    assert pressure.min() >= 0.0
    assert (pressure == 0.0).any()
    np.testing.assert_allclose(pressure, expected, atol=2e-3 * expected.max())


def test_a_strap_pulls_along_its_line_of_today():
    """A strut on a strap over a body, pushed far aside: the pull has turned with the strap."""
    mesh = chain(np.array([[0.0, 0, 0], [0, 0, 50], [0, 0, 100]]))
    soft = fea.StrutSection.rectangle(PLASTIC, width=5.0, depth=5.0, up=(1, 0, 0))
    strap = fea.Strap("band", ("tip", "tip"), "wall", ((0.0, -60.0, 100.0),), stiffness=5.0)
    model = fea.Model(
        mesh, {"bar": soft}, [fea.Support("root", ALL), fea.Support("wall", ALL)],
        {"a": [fea.PointForce("tip", (12.0, 40.0, 0.0))]},
        bodies=[fea.Body("wall", at=(0.0, -60.0, 0.0))], straps=[strap],
    )  # fmt: skip
    found = fea.solve_large(model)["a"]
    line = found.points[-1] - [0.0, -60.0, 100.0]
    nodes, forces = found.strap_forces("band")
    pull = forces[nodes == 2].sum(axis=0)
    stretch = 2.0 * (np.linalg.norm(line) - 60.0)
    assert found.tension("band") == pytest.approx(5.0 * stretch, rel=1e-9)
    np.testing.assert_allclose(pull, -10.0 * stretch * line / np.linalg.norm(line), rtol=1e-9)
    assert np.degrees(np.arctan2(line[0], line[1])) > 10.0


def hinged(load, turned_with=None):
    """A lever on a hinge with a spring, loaded through a stiff bed on its plate."""
    mesh = grid(3, 3, lambda u, v: (100.0 + 20.0 * u, 20.0 * v - 10.0, 0.0 * u))
    bodies = [
        fea.Body("ground", at=(0.0, 0.0, 0.0)),
        fea.Body("lever", at=(0.0, 0.0, 0.0), joined_to="ground", axis=(0.0, 1.0, 0.0)),
    ]
    model = fea.Model(
        mesh, {"skin": fea.ShellSection(STEEL, 5.0)}, [fea.Support("ground", ALL)],
        {"a": [fea.SurfaceForce("skin", (0.0, 0.0, load / 400.0))]},
        beds=[fea.Bed("skin", "lever", 50.0, 50.0)], bodies=bodies,
        springs=[fea.Spring("lever", "ry", 1000.0)],
    )  # fmt: skip
    return fea.solve_large(model, loads_turn_with=turned_with)["a"]


def test_a_hinge_turns_by_hand_under_a_load_that_keeps_its_direction():
    angle = -hinged(-8.0).body("lever")[4]
    angle = abs(angle)
    assert 1000.0 * angle == pytest.approx(8.0 * 110.0 * np.cos(angle), rel=1e-4)
    assert np.degrees(angle) > 35.0


def test_a_hinge_turns_by_hand_under_a_load_that_turns_with_it():
    angle = abs(hinged(-8.0, "lever").body("lever")[4])
    assert 1000.0 * angle == pytest.approx(8.0 * 110.0, rel=1e-4)


def test_what_cannot_be_held_raises_with_case_and_level():
    """A column far beyond its buckling load: no balance, or one that is not stable."""
    euler = np.pi**2 * STEEL.youngs_modulus * (10.0 / 12.0) / (4.0 * 100.0**2)
    with pytest.raises(SolveError, match="case 'a'"):
        fea.solve_large(bent((-3.0 * euler, 0.0, 0.0)))


def test_half_a_held_rotation_is_refused():
    model = fea.Model(
        cantilever(), {"bar": BAR}, [fea.Support("root", ALL), fea.Support("tip", "ry", 0.3)],
        {"a": []},
    )  # fmt: skip
    with pytest.raises(ModelError, match="hold all of rx ry rz"):
        fea.solve_large(model)


def test_an_unknown_body_to_turn_with_is_refused():
    with pytest.raises(ModelError, match="cannot turn with 'foot'"):
        fea.solve_large(bent((0.0, 0.0, 1.0)), loads_turn_with="foot")
