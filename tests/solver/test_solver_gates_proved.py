# SPDX-License-Identifier: MIT
"""Each gate fed with something that must trip it, through the doors a user goes through.

Softer causes (parts that are not held, mechanisms, loose struts, loads that are not finite) and
what is only thin, long or folded stand in test_solver_gates.py.
"""

import dataclasses

import numpy as np
import pytest
from small_models import ALL, STEEL, flat, grid, solve_one

import fea
import fea.errors
from fea.material.laminate import Ply
from fea.solver.system import prepare

MESH = grid(8, 8, flat(100.0, 100.0), diagonal="rising")
WALL = fea.ShellSection(STEEL, thickness=1.0)
HELD = [fea.Support("u0", ALL)]
PULL = {"pull": [fea.PointForce("u1", (1.0, 0.0, 2.0))]}


def changed(points=None, triangles=None):
    return fea.Mesh(
        MESH.points if points is None else points,
        {"triangle": MESH.cells["triangle"] if triangles is None else triangles},
        places=MESH.places,
        zones=MESH.zones,
    )


def refused(message, mesh):
    with pytest.raises(fea.errors.ModelError, match=message):
        solve_one(mesh, {"skin": WALL}, HELD, [fea.Pressure("skin", 0.01)])


def test_a_cell_turned_over():
    triangles = MESH.cells["triangle"].copy()
    triangles[20] = triangles[20, ::-1]
    refused(r"zone 'skin': cells \d+ and \d+ at \(.*, 0\) run their common edge in", changed(
        triangles=triangles))  # fmt: skip


def test_a_node_drawn_across_its_neighbours():
    points = MESH.points.copy()
    points[40, 0] += 30.0
    refused(r"zone 'skin': cells \d+ and \d+ at .* lie on each other, folded back", changed(points))


def test_a_collapsed_cell():
    points = MESH.points.copy()
    points[40] = points[41]
    refused(r"zone 'skin', cell \d+ at \(.*, 0\) has no area", changed(points))


def test_needles():
    squeezed = changed(MESH.points * [1.0, 1e-7, 1.0])
    with pytest.raises(fea.errors.UnsupportedError, match="u[xyz] of node .* of zone 'skin' at"):
        solve_one(squeezed, {"skin": WALL}, HELD, PULL["pull"])


def test_a_strip_doubled_on_itself_at_a_tee_is_no_inverted_cell():
    """Three cells at one edge: nothing can be said of sides, and nothing is refused."""
    mesh = grid(2, 2, flat(10.0, 10.0))
    rib = len(mesh.points)
    edge = np.flatnonzero(np.isclose(mesh.points[:, 0], 5.0))[:2]
    tee = fea.Mesh(
        np.concatenate([mesh.points, [[5.0, 2.5, 5.0]]]),
        {"triangle": np.concatenate([mesh.cells["triangle"], [[*edge, rib]]])},
        places=mesh.places,
        zones={"skin": ("triangle", np.arange(len(mesh.cells["triangle"]) + 1))},
    )
    assert solve_one(tee, {"skin": WALL}, HELD, [fea.PointForce("u1", (0, 0, 1.0))])


@pytest.mark.parametrize("angle", [-150.0, -90.0, 90.0, 150.0, 170.0])
def test_a_sharp_fold_is_no_inverted_cell(angle):
    turn = np.radians(angle)

    def folded(u, v):
        beyond = np.maximum(u - 0.5, 0.0)
        x = np.minimum(u, 0.5) + beyond * np.cos(turn)
        return 100.0 * x, 100.0 * v, 100.0 * beyond * np.sin(turn)

    solution = solve_one(grid(8, 8, folded), {"skin": WALL}, HELD, PULL["pull"])
    assert all(gate.passed for gate in solution.gates)


@pytest.mark.parametrize(
    "constants",
    [
        {"e1": 1e4, "e2": 1e4, "nu12": 1 - 1e-12, "g12": 1e3},
        {"e1": 1e5, "e2": 1e-6, "nu12": 0.0, "g12": 1e3},
        {"e1": 1e5, "e2": 1e4, "nu12": 0.3, "g12": 1e-6},
        {"e1": 1e5, "e2": 1e4, "nu12": 0.3, "g12": 1e3, "g23": 1e-6},
    ],
)
def test_a_ply_that_is_singular_in_rounding(constants):
    with pytest.raises(fea.errors.MaterialError, match="the ply is singular for a computer"):
        Ply(**constants)


def test_rubber_beside_carbon_is_no_singular_ply():
    Ply(e1=130e3, e2=1.0, nu12=0.3, g12=0.3)


def test_a_wall_beside_one_ten_milliard_times_stiffer():
    half = len(MESH.cells["triangle"]) // 2
    mesh = fea.Mesh(MESH.points, MESH.cells, places=MESH.places, zones={
        "soft": ("triangle", np.arange(half)),
        "hard": ("triangle", np.arange(half, 2 * half)),
    })  # fmt: skip
    walls = {
        name: fea.ShellSection(fea.Isotropic(youngs_modulus=modulus, poisson_ratio=0.3),
                               thickness=1.0)
        for name, modulus in (("soft", 1e3), ("hard", 1e13))
    }  # fmt: skip
    with pytest.raises(fea.errors.UnsupportedError, match="of zone 'hard' at"):
        solve_one(mesh, walls, HELD, PULL["pull"])


class Spoilt:
    """A factor that answers wrongly: stands for a solver or a machine that fails in silence."""

    name = "spoilt"

    def __init__(self, factor, spoil):
        self.factor, self.spoil = factor, spoil

    def solve(self, right):
        return self.spoil(self.factor.solve(right))


def spoil_one(value):
    def spoil(answer):
        answer = answer.copy()
        answer[len(answer) // 2] = value(answer[len(answer) // 2])
        return answer

    return spoil


@pytest.mark.parametrize(
    ("spoil", "gate"),
    [
        (spoil_one(lambda x: np.nan), "displacements are not finite"),
        (spoil_one(lambda x: np.inf), "displacements are not finite"),
        (spoil_one(lambda x: 1.5 * x + 1e-3), "backward error"),
        (lambda x: 1.1 * x, "backward error"),
    ],
)
def test_a_wrong_answer_of_the_factorisation_does_not_leave(spoil, gate):
    system = prepare(fea.Structure(MESH, {"skin": WALL}, HELD))
    spoilt = dataclasses.replace(system, factor=Spoilt(system.factor, spoil))
    with pytest.raises(fea.errors.GateError, match=f"case 'pull': .*{gate}"):
        spoilt.solve(PULL)


def test_an_unsymmetric_stiffness_is_out_of_balance():
    """A stiffness that creates force out of nothing, as a wrong tie would, solves exactly."""
    system = prepare(fea.Structure(MESH, {"skin": WALL}, HELD))
    dof = 6 * int(MESH.place("u1v1")[0])
    leak = system.stiffness.tolil()
    leak[dof, dof] *= 1.001
    reduced = system.motion.to_all.T @ leak.tocsr() @ system.motion.to_all
    factor = type(system.factor)(reduced.tocsr(), "superlu")
    leaking = dataclasses.replace(system, stiffness=leak.tocsr(), reduced=reduced.tocsr(),
                                  factor=factor)  # fmt: skip
    with pytest.raises(fea.errors.GateError, match="case 'pull': imbalance of loads"):
        leaking.solve(PULL)


def test_the_failing_case_is_named_and_no_other_number_leaves():
    system = prepare(fea.Structure(MESH, {"skin": WALL}, HELD))

    def second_only(answer):
        answer = answer.copy()
        answer[5, 1] = np.nan
        return answer

    spoilt = dataclasses.replace(system, factor=Spoilt(system.factor, second_only))
    with pytest.raises(fea.errors.GateError, match="case 'push'"):
        spoilt.solve({**PULL, "push": [fea.PointForce("u1", (-1.0, 0, 0))]})
