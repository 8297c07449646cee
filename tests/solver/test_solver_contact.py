# SPDX-License-Identifier: MIT
"""One-sided beds press and straps pull, and neither ever does the other."""

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.sparse import csr_matrix
from small_models import ALL, STEEL, chain, flat, grid, random_rotation, solve_one, turned

import fea
import fea.errors
from fea.solver.contact import OneSided, settle
from fea.solver.system import prepare

RIGID = fea.Isotropic(youngs_modulus=1e8, poisson_ratio=0.3)


def footing(eccentricity, face="bottom", n=48):
    """A rigid strip of 120 x 10 on a bed of 0.5 N/mm³, 1000 N off its middle, held from sliding."""
    mesh = grid(n, 2, flat(120.0, 10.0))
    places = {**mesh.places, "at": np.flatnonzero(np.isclose(
        mesh.points[:, 0], 60.0 + eccentricity))}  # fmt: skip
    mesh = fea.Mesh(mesh.points, mesh.cells, places=places, zones=mesh.zones)
    return solve_one(
        mesh, {"skin": fea.ShellSection(RIGID, thickness=10.0)},
        [fea.Support("u0", "ux uy rz"), fea.Support("border", "rx")],
        [fea.PointForce("at", (0, 0, -1000.0))],
        beds=[fea.Bed("skin", None, 0.5, face=face)],
    )  # fmt: skip


def test_a_footing_loaded_inside_its_kern_is_pressed_all_over():
    """p = P/A (1 ± 6e/b): within the middle third no part lets go, and nothing differs from a
    bed that pulls as well. Springs at 49 nodes make the second moment 2/48² too large."""
    nodes, pressure, _ = footing(15.0).pressure("skin")
    x = footing(15.0).system.structure.mesh.points[nodes, 0]
    mean, tilt = 1000.0 / 1200.0, 6 * 15.0 / 120.0
    assert pressure[np.argmax(x)] == pytest.approx(mean * (1 + tilt), rel=2e-3)
    assert pressure[np.argmin(x)] == pytest.approx(mean * (1 - tilt), rel=4e-3)
    two_sided = footing(15.0, face=None)
    np.testing.assert_allclose(two_sided.vector, footing(15.0).vector, rtol=1e-6, atol=1e-9)


def test_a_footing_loaded_beyond_its_kern_lifts_off():
    """Contact length 3 (b/2 − e), greatest pressure 2 P / (3 a (b/2 − e)): no tension, so the
    pressure is a triangle with its centroid under the load."""
    solution = footing(40.0)
    nodes, pressure, area = solution.pressure("skin")
    assert pressure.max() == pytest.approx(2 * 1000.0 / (3 * 10.0 * (60.0 - 40.0)), rel=5e-3)
    touching = float(area[pressure > 0.0].sum()) / 10.0
    assert touching == pytest.approx(3 * (60.0 - 40.0), abs=2.5)  # one row of cells
    assert pressure.min() >= 0.0
    assert float(pressure @ area) == pytest.approx(1000.0, rel=1e-7)
    assert solution.work == pytest.approx(2 * solution.strain_energy, rel=1e-7)


def test_a_body_on_the_other_face_never_pushes_back():
    with pytest.raises(fea.errors.UnsupportedError, match="case 'case': limb and device let go"):
        footing(0.0, face="top")


def rocked(rotation):
    """A clamped plate and a rigid foot on it that is pushed near the free end."""
    return solve_one(
        turned(grid(16, 8, flat(160.0, 80.0)), rotation),
        {"skin": fea.ShellSection(STEEL, thickness=3.0)},
        [fea.Support("u0", ALL)],
        [fea.PointForce("foot", tuple(rotation @ [0.0, 0.0, -200.0]))],
        bodies=[fea.Body("foot", tuple(rotation @ [130.0, 40.0, 30.0]))],
        beds=[fea.Bed("skin", "foot", 0.05, 0.005, face="top")],
    )  # fmt: skip


def test_a_rocking_foot_lifts_its_heel_and_turns_with_the_model():
    rotation = random_rotation()
    flat_one, turned_one = rocked(np.eye(3)), rocked(rotation)
    _, pressure, area = flat_one.pressure("skin")
    assert 0.1 < float(area[pressure > 0].sum()) / 12800.0 < 0.9
    np.testing.assert_allclose(turned_one.pressure("skin")[1], pressure, atol=1e-8)
    np.testing.assert_allclose(
        turned_one.displacement[:, :3] @ rotation, flat_one.displacement[:, :3], atol=1e-7
    )
    np.testing.assert_allclose(flat_one.reaction("u0")[:3], [0, 0, 200.0], atol=1e-6)


def strapped(force):
    """A post beside a body: a strap over the body's front ties the two ends of a yoke to it."""
    mesh = fea.Mesh(
        [[0, -30.0, 0], [0, 0, 0], [0, 30.0, 0], [0, 0, -200.0]],
        {"line": [[0, 1], [1, 2], [3, 1]]},
        places={"a": [0], "b": [2], "root": [3]},
        zones={"bar": ("line", [0, 1, 2])},
    )
    bar = fea.StrutSection.rectangle(STEEL, width=10.0, depth=10.0, up=(1, 0.1, 0))
    strap = fea.Strap("calf", ("a", "b"), "leg", over=((40.0, 0, 0),), stiffness=50.0)
    held = [fea.Support("root", ALL), fea.Support("leg", "uy uz rx ry rz")]
    return solve_one(
        mesh, {"bar": bar}, held, [fea.PointForce("leg", (force, 0, 0))],
        bodies=[fea.Body("leg", (40.0, 0, 0))], straps=[strap],
    )  # fmt: skip


def test_a_strap_pulls_with_one_tension_on_both_sides():
    """A point at (40, 0) over ends at (0, ±30): each side 50 long, so F = 2 T · 40/50."""
    solution = strapped(100.0)
    assert solution.tension("calf") == pytest.approx(100.0 / 1.6, rel=1e-9)
    np.testing.assert_allclose(solution.reaction("root")[:3], [-100.0, 0, 0], atol=1e-8)


def test_a_strap_that_would_have_to_push_lets_go():
    with pytest.raises(fea.errors.UnsupportedError, match="case 'case': limb and device let go"):
        strapped(-100.0)


def test_an_unknown_strap_is_named():
    with pytest.raises(fea.errors.ModelError, match="no strap 'instep'; this structure has 'calf'"):
        strapped(1.0).tension("instep")


@pytest.mark.parametrize("seed", range(6))
def test_random_springs_against_a_general_minimiser(seed):
    """The same energy minimised by a general method: the same displacements, whatever the set."""
    rng = np.random.default_rng(seed)
    size, count = 12, 20
    root = rng.standard_normal((size, size))
    base = root @ root.T + 0.2 * np.eye(size)
    rows, stiffness = rng.standard_normal((count, size)), rng.uniform(1.0, 30.0, count)
    slack, right = 0.2 * rng.standard_normal(count), 5.0 * rng.standard_normal((size, 3))
    matrix = base + rows.T @ (stiffness[:, None] * rows)
    springs = OneSided(csr_matrix(rows), stiffness, slack, np.zeros(count))
    found = settle(csr_matrix(matrix), lambda load: np.linalg.solve(matrix, load), springs, right)
    for k in range(3):

        def energy(x, load=right[:, k]):
            acting = np.maximum(rows @ x - slack, 0.0)
            gradient = base @ x + rows.T @ (stiffness * acting) - load
            return 0.5 * x @ base @ x + 0.5 * stiffness @ acting**2 - load @ x, gradient

        best = minimize(energy, np.zeros(size), jac=True, method="BFGS", options={"gtol": 1e-9})
        np.testing.assert_allclose(found[:, k], best.x, atol=1e-6)
        assert np.abs(energy(found[:, k])[1]).max() < 1e-8 * np.abs(right).max()


def test_cases_do_not_disturb_each_other():
    structure = footing(40.0).system.structure
    system = prepare(structure)
    loads = {str(x): [fea.PatchForce(("skin",), (0, 0, -500.0), (x, 5.0, 0), 12.0)]
             for x in (30.0, 60.0, 95.0)}  # fmt: skip
    together = system.solve(loads)
    for name, load in loads.items():
        alone = system.solve({name: load})[name]
        np.testing.assert_allclose(together[name].vector, alone.vector, rtol=1e-6, atol=1e-7)


def test_a_chain_of_struts_has_no_bed_to_read():
    mesh = chain([[0, 0, 0], [10.0, 0, 0]])
    bar = fea.StrutSection.rectangle(STEEL, width=1.0, depth=1.0, up=(0, 0, 1))
    solution = solve_one(mesh, {"bar": bar}, [fea.Support("root", ALL)], [])
    with pytest.raises(fea.errors.ModelError, match="zone 'bar' lies on no bed"):
        solution.pressure("bar")


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: fea.Bed("skin", None, 1.0, face="left"), "face 'left' is neither top nor bottom"),
        (lambda: fea.Strap("s", ("a", "b"), "leg", (), 1.0), "runs over no point of 'leg'"),
        (lambda: fea.Strap("s", ("a", "b"), "leg", ((0, 0, 0),), 0.0), "stiffness 0.0 must be"),
        (lambda: fea.Strap("s", ("a", "b"), "leg", ((0, 0, 0),), 1.0, np.nan), "slack nan is not"),
    ],
)
def test_refusals(make, message):
    with pytest.raises(fea.errors.ModelError, match=message):
        make()
