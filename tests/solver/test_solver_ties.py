# SPDX-License-Identifier: MIT
"""Ties pass force and moment exactly; a mean adds no stiffness, a rigid patch stays rigid."""

import numpy as np
import pytest
from small_models import ALL, STEEL, at, flat, grid, solve_one

import fea
import fea.errors

CUBE = fea.StrutSection(STEEL, area=1.0, i_y=1.0, i_z=1.0, j=1.0, up=(0, 0, 1))

POST = fea.StrutSection(STEEL, area=1.0, i_y=1.0, i_z=1.0, j=1.0, up=(1, 0, 0))


def test_two_unit_springs_in_series():
    """0–1 and 2–3 with node 2 tied to node 1 and unit force on 3: displacements 0, 1, 1, 2."""
    unit = fea.Isotropic(youngs_modulus=1.0, poisson_ratio=0.0)
    spring = fea.StrutSection(unit, area=1.0, i_y=1.0, i_z=1.0, j=1.0, up=(0, 0, 1))
    mesh = fea.Mesh(
        [[0, 0, 0], [1, 0, 0], [1, 0, 0], [2, 0, 0]],
        {"line": [[0, 1], [2, 3]]},
        places={"root": [0], "first": [1], "second": [2], "tip": [3]},
        zones={"bar": ("line", [0, 1])},
    )
    for rule in ("mean", "rigid"):
        solution = solve_one(
            mesh,
            {"bar": spring},
            [fea.Support("root", ALL)],
            [fea.PointForce("tip", (1, 0, 0))],
            ties=[fea.Tie("second", "first", rule)],
        )
        np.testing.assert_allclose(solution.displacement[:, 0], [0, 1, 1, 2], atol=1e-14)
        assert solution.reaction("root")[0] == pytest.approx(-1.0, rel=1e-12)


def plate_with_post():
    """A plate in the x–y plane and a strut that stands on a patch of it."""
    base = grid(8, 8, flat(80.0, 80.0))
    middle = np.array([44.0, 37.0, 0.0])
    near = np.linalg.norm(base.points - middle, axis=1) < 16.0
    n = len(base.points)
    return fea.Mesh(
        np.concatenate([base.points, [middle + [0, 0, 5], middle + [0, 0, 60]]]),
        {"triangle": base.cells["triangle"], "line": [[n, n + 1]]},
        places={**base.places, "foot": [n], "head": [n + 1], "patch": np.flatnonzero(near)},
        zones={**base.zones, "post": ("line", [0])},
    )


FORCE, MOMENT = np.array([3.0, -2.0, 7.0]), np.array([40.0, 25.0, -60.0])


def solve_post(rule, wall=2.0):
    mesh = plate_with_post()
    sections = {"skin": fea.ShellSection(STEEL, thickness=wall), "post": POST}
    return solve_one(
        mesh,
        sections,
        [fea.Support("u0", ALL)],
        [fea.PointForce("head", tuple(FORCE), tuple(MOMENT))],
        ties=[fea.Tie("foot", "patch", rule)],
    )


@pytest.mark.parametrize("rule", ["mean", "rigid"])
def test_force_and_moment_pass_exactly(rule):
    solution = solve_post(rule)
    mesh = solution.system.structure.mesh
    head = mesh.points[mesh.places["head"][0]]
    root = mesh.points[mesh.places["u0"]].mean(axis=0)
    reaction = solution.reaction("u0")
    np.testing.assert_allclose(reaction[:3], -FORCE, rtol=1e-9)
    moment = MOMENT + np.cross(head - root, FORCE)
    np.testing.assert_allclose(reaction[3:], -moment, rtol=1e-9)


def test_a_mean_tie_follows_the_least_squares_motion():
    solution = solve_post("mean")
    mesh = solution.system.structure.mesh
    patch, foot = mesh.places["patch"], mesh.places["foot"][0]
    arm = mesh.points[patch] - mesh.points[foot]
    rows = np.zeros((len(patch), 3, 6))
    rows[:, :, :3] = np.eye(3)
    for k in range(3):
        rows[:, :, 3 + k] = np.cross(np.eye(3)[k], arm)
    moved = solution.displacement[patch, :3].ravel()
    fitted = np.linalg.lstsq(rows.reshape(-1, 6), moved, rcond=None)[0]
    np.testing.assert_allclose(solution.displacement[foot], fitted, rtol=1e-9)


def test_a_mean_tie_adds_no_stiffness():
    """Tied to a free post, the plate moves under its own loads as if there were no post."""
    mesh = plate_with_post()
    sections = {"skin": fea.ShellSection(STEEL, thickness=2.0), "post": POST}
    held, load = [fea.Support("u0", ALL)], [fea.PointForce("u1v1", (1, 2, 3))]
    tied = solve_one(mesh, sections, held, load, ties=[fea.Tie("foot", "patch")])
    base = grid(8, 8, flat(80.0, 80.0))
    alone = solve_one(base, {"skin": sections["skin"]}, held, load)
    count = len(base.points)
    np.testing.assert_allclose(tied.displacement[:count], alone.displacement, rtol=1e-7, atol=1e-12)
    assert np.abs(tied.strut_forces("post")).max() < 1e-7
    stiffer = solve_one(mesh, sections, held, load, ties=[fea.Tie("foot", "patch", "rigid")])
    assert at(stiffer, "u1v1")[2] < (1 - 1e-3) * at(alone, "u1v1")[2]


def test_a_rigid_patch_stays_rigid():
    solution = solve_post("rigid")
    mesh = solution.system.structure.mesh
    foot = solution.displacement[mesh.places["foot"][0]]
    patch = mesh.places["patch"]
    arm = mesh.points[patch] - mesh.points[mesh.places["foot"][0]]
    np.testing.assert_allclose(
        solution.displacement[patch, :3], foot[:3] + np.cross(foot[3:], arm), rtol=1e-12
    )
    np.testing.assert_allclose(
        solution.displacement[patch, 3:], np.broadcast_to(foot[3:], arm.shape), rtol=1e-12
    )


def test_a_node_without_cells_may_lead_a_rigid_patch():
    """It moves with its patch and is no hidden clamp: the plate bends as without the tie to it."""
    base = grid(4, 4, flat(40.0, 40.0))
    mesh = fea.Mesh(
        np.concatenate([base.points, [[40.0, 20.0, 10.0]]]),
        base.cells,
        places={**base.places, "lug": [len(base.points)]},
        zones=base.zones,
    )
    solution = solve_one(
        mesh,
        {"skin": fea.ShellSection(fea.Isotropic(200e3, 0.0), thickness=2.0)},
        [fea.Support("u0", ALL)],
        [fea.PointForce("lug", (0, 0, 0), (0, 1000.0, 0))],
        ties=[fea.Tie("lug", "u1", "rigid")],
    )
    turned = 1000.0 * 40.0 / (200e3 * 40.0 * 2.0**3 / 12)
    assert at(solution, "lug")[4] == pytest.approx(turned, rel=1e-9)
    np.testing.assert_allclose(solution.reaction("u0")[3:], [0, -1000.0, 0], atol=1e-6)


def chain_of_ties(*ties, supports=("root",)):
    points = [[0, 0, 0], [10, 0, 0], [10, 1, 0], [20, 1, 0], [20, 2, 0], [30, 2, 0]]
    mesh = fea.Mesh(
        points,
        {"line": [[0, 1], [2, 3], [4, 5]]},
        places={name: [k] for k, name in enumerate(("root", "a", "b", "c", "d", "tip"))},
        zones={"bar": ("line", [0, 1, 2])},
    )
    return solve_one(
        mesh,
        {"bar": CUBE},
        [fea.Support(place, ALL) for place in supports],
        [fea.PointForce("tip", (1, 2, 3))],
        ties=ties,
    )


@pytest.mark.parametrize("rule", ["mean", "rigid"])
def test_ties_in_a_row(rule):
    solution = chain_of_ties(fea.Tie("b", "a", rule), fea.Tie("d", "c", rule))
    np.testing.assert_allclose(solution.reaction("root")[:3], [-1, -2, -3], rtol=1e-10)
    np.testing.assert_allclose(
        solution.reaction("root")[3:], -np.cross([30, 2, 0], [1, 2, 3]), rtol=1e-10
    )


def test_tied_twice_is_refused():
    with pytest.raises(fea.errors.ModelError, match="of node 2 of zone 'bar' .* is tied twice"):
        chain_of_ties(fea.Tie("b", "a"), fea.Tie("b", "c"), fea.Tie("d", "c"))


def test_tied_and_supported_is_refused():
    with pytest.raises(fea.errors.ModelError, match="follows a tie or joint and cannot be"):
        chain_of_ties(fea.Tie("b", "a"), fea.Tie("d", "c"), supports=("root", "b"))


def test_ties_in_a_circle_are_refused():
    with pytest.raises(fea.errors.ModelError, match="in a circle; break the circle"):
        chain_of_ties(fea.Tie("b", "a"), fea.Tie("a", "b"), fea.Tie("d", "c"))


def test_a_mean_over_nodes_on_one_line_is_refused():
    base = grid(4, 4, flat(40.0, 40.0))
    n = len(base.points)
    mesh = fea.Mesh(
        np.concatenate([base.points, [[50.0, 20.0, 0.0]]]),
        base.cells,
        places={**base.places, "lug": [n]},
        zones=base.zones,
    )
    with pytest.raises(fea.errors.ModelError, match="lie on one line, so their mean rotation"):
        solve_one(
            mesh,
            {"skin": fea.ShellSection(STEEL, thickness=2.0)},
            [fea.Support("u0", ALL)],
            [],
            ties=[fea.Tie("lug", "u1")],
        )
