# SPDX-License-Identifier: MIT
"""What every model owes, on one of shells, struts, ties, a bed and a hinged body."""

import numpy as np
import pytest
from small_models import ALL, STEEL, at, grid, random_rotation, solve_one, solve_skin

import fea

PLASTIC = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42)
PLY = fea.Ply(e1=60e3, e2=55e3, nu12=0.05, g12=3e3)
CLOTH = fea.Laminate(PLY, [0, 45, 10], 0.5)


def trough(u, v):
    angle = np.pi * (v - 0.5)
    return 40 * np.sin(angle) + 4 * u, 40 * np.cos(angle) - 3 * u**2, 150 * u


class Frame:
    """A trough with an upright tied to its edge; all vectors turn with ``turn`` (3, 3)."""

    def __init__(self, turn=None, *, wall=3.0, mirror=False, factor=1.0, **mesh):
        self.turn = np.eye(3) if turn is None else np.asarray(turn)
        self.wall, self.factor, self.mirror = wall, factor, mirror
        base = grid(6, 8, trough, **mesh)
        extra = np.array([[4.0, 55.0, 155.0], [10.0, 60.0, 250.0], [5.0, 50.0, 330.0]])
        points = np.concatenate([base.points, extra])
        n = len(base.points)
        middle = np.flatnonzero((base.points[:, 2] > 120) & (np.abs(base.points[:, 0]) < 35))
        triangles = base.cells["triangle"]
        if mirror:
            triangles = triangles[:, ::-1]
        self.mesh = fea.Mesh(
            points @ self.turn.T,
            {"triangle": triangles, "line": [[n, n + 1], [n + 1, n + 2]]},
            places={**base.places, "foot": [n], "head": [n + 2], "rivets": middle},
            zones={
                "skin": ("triangle", np.arange(len(triangles))),
                "bar": ("line", [0, 1]),
            },
        )

    def vector(self, *values):
        return tuple(self.factor * self.turn @ np.array(values, dtype=float))

    def direction(self, *values):
        return tuple(self.turn @ np.array(values, dtype=float))

    def model(self, skin=None, rule="mean", loads=None):
        skin = skin or fea.ShellSection(
            PLASTIC, thickness=self.wall, direction=self.direction(0, 0, 1)
        )
        up = self.direction(1, 0, 0)
        bar = fea.StrutSection.rectangle(STEEL, width=12.0, depth=4.0, up=up)
        side = -1.0 if self.mirror else 1.0
        loads = loads or [
            fea.PointForce(
                "head", self.vector(10, -4, 6), tuple(side * np.array(self.vector(300, 50, -80)))
            ),
            fea.SurfaceForce("skin", self.vector(0.001, 0.002, -0.003)),
            fea.Pressure("skin", 0.002 * self.factor),
            fea.EdgeForce("v1", self.vector(0.1, 0.0, 0.05)),
        ]
        return fea.Model(
            self.mesh,
            {"skin": skin, "bar": bar},
            [fea.Support("u0", ALL)],
            {"case": loads},
            ties=[fea.Tie("foot", "rivets", rule)],
        )

    def solve(self, **more):
        return fea.solve(self.model(**more))["case"]


def test_reactions_balance_the_loads():
    solution = Frame().solve()
    mesh = solution.system.structure.mesh
    n = len(mesh.points)
    loads = solution.forces.reshape(n, 6)
    reaction = solution.reaction("u0")
    np.testing.assert_allclose(reaction[:3], -loads[:, :3].sum(axis=0), rtol=1e-8)
    arm = mesh.points - mesh.points[mesh.places["u0"]].mean(axis=0)
    moment = (loads[:, 3:] + np.cross(arm, loads[:, :3])).sum(axis=0)
    np.testing.assert_allclose(reaction[3:], -moment, rtol=1e-8)


@pytest.mark.parametrize("height", [20.0, 60.0, 85.0, 240.0])
def test_section_cuts_balance_the_free_body_above(height):
    """Loads on what lies above the cut; a cut through the tied patch is no section of cells."""
    frame = Frame()
    loads = [fea.PointForce("head", (10, -4, 6), (300, 50, -80))]
    solution = frame.solve(loads=loads)
    point = np.array([1.0, 2.0, height])
    cut = solution.section_cut(point, (0, 0, 1))
    arm = frame.mesh.points[frame.mesh.places["head"][0]] - point
    force = np.array([10, -4, 6.0])
    np.testing.assert_allclose(cut[:3], force, rtol=1e-8)
    np.testing.assert_allclose(cut[3:], [300, 50, -80] + np.cross(arm, force), rtol=1e-8)


def test_work_is_twice_the_energy():
    solution = Frame().solve()
    assert solution.work == pytest.approx(2 * solution.strain_energy, rel=1e-10)


def test_double_load_doubles_everything():
    once, twice = Frame().solve(), Frame(factor=2.0).solve()
    np.testing.assert_allclose(twice.vector, 2 * once.vector, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(
        twice.stress("skin", "top"), 2 * once.stress("skin", "top"), rtol=1e-7, atol=1e-9
    )


@pytest.mark.parametrize("rule", ["mean", "rigid"])
@pytest.mark.parametrize("skin", ["isotropic", "laminate"])
def test_a_turned_model_gives_the_same_answer(rule, skin):
    def section(frame):
        if skin == "isotropic":
            return None
        return fea.ShellSection(CLOTH, offset=0.4, direction=frame.direction(0, 0.1, 1))

    turn = random_rotation()
    still, moved = Frame(), Frame(turn)
    first = still.solve(skin=section(still), rule=rule)
    second = moved.solve(skin=section(moved), rule=rule)
    for part in (slice(0, 3), slice(3, 6)):
        expected = first.displacement[:, part] @ turn.T
        tolerance = 1e-8 * np.abs(expected).max()
        np.testing.assert_allclose(second.displacement[:, part], expected, atol=tolerance)
    for at_ in ("top", "middle", "bottom"):
        stress = first.stress("skin", at_)
        tolerance = 1e-7 * np.abs(stress).max()
        np.testing.assert_allclose(second.stress("skin", at_), stress, atol=tolerance)
    forces = first.strut_forces("bar")
    np.testing.assert_allclose(second.strut_forces("bar"), forces, atol=1e-7 * np.abs(forces).max())


def test_left_and_right_mirror():
    """The mirrored device under mirrored loads moves as its mirror image."""
    mirror = np.diag([1.0, -1.0, 1.0])
    left, right = Frame().solve(), Frame(mirror, mirror=True).solve()
    expected = left.displacement[:, :3] @ mirror
    np.testing.assert_allclose(
        right.displacement[:, :3], expected, atol=1e-8 * np.abs(expected).max()
    )
    expected = -left.displacement[:, 3:] @ mirror  # rotations are axial vectors
    np.testing.assert_allclose(
        right.displacement[:, 3:], expected, atol=1e-8 * np.abs(expected).max()
    )


def test_rigid_motion_gives_no_stress():
    """A support moved as a rigid body carries the whole frame along, without stress."""
    mesh = grid(6, 8, trough, diagonal="random", jitter=0.2)
    turn, shift = np.array([0.002, -0.001, 0.003]), np.array([1.0, 2.0, -0.5])
    exact = shift + np.cross(turn, mesh.points)
    held = mesh.places["u0v0"][0]
    values = np.concatenate([exact[held], turn])
    supports = [
        fea.Support("u0v0", name, float(value))
        for name, value in zip(ALL.split(), values, strict=True)
    ]
    solution = solve_skin(mesh, PLASTIC, 3.0, supports, [])
    np.testing.assert_allclose(solution.displacement[:, :3], exact, atol=1e-8)
    np.testing.assert_allclose(
        solution.displacement[:, 3:], np.broadcast_to(turn, exact.shape), atol=1e-9
    )
    for at_ in ("top", "bottom"):
        assert np.abs(solution.stress("skin", at_)).max() < 1e-7 * 1400.0 * 0.003
    assert np.abs(solution.reactions).max() < 1e-6


@pytest.mark.parametrize("where", ["thicker everywhere", "thicker in a strip", "a strut more"])
def test_added_material_never_raises_compliance(where):
    """Fixed loads and ties: compliance f·u falls with every addition to a positive stiffness.

    The higher-order membrane factor depends on thickness, and grows with it."""
    frame = Frame()
    loads = [fea.PointForce("head", (10, -4, 6)), fea.SurfaceForce("skin", (0.001, 0, 0.002))]
    count = len(frame.mesh.cells["triangle"])
    thin = np.full(count, 3.0)
    before = frame.solve(loads=loads, skin=fea.ShellSection(PLASTIC, thickness=thin))
    if where == "a strut more":
        mesh = frame.mesh
        lines = np.concatenate(
            [mesh.cells["line"], [[mesh.places["u0v0"][0], mesh.places["u1v1"][0]]]]
        )
        zones = {**mesh.zones, "bar": ("line", [0, 1, 2])}
        frame.mesh = fea.Mesh(mesh.points, {**mesh.cells, "line": lines}, mesh.places, zones)
        thick = thin
    else:
        thick = thin.copy()
        thick[slice(None) if where == "thicker everywhere" else slice(20, 35)] = 3.6
    after = frame.solve(loads=loads, skin=fea.ShellSection(PLASTIC, thickness=thick))
    assert after.forces @ after.vector < before.forces @ before.vector * (1 - 1e-4)


def test_offset_equals_a_laminate_shifted_by_an_empty_ply():
    """A wall 2 mm above the mesh is the upper half of a laminate whose lower half is next to
    nothing, referred to the mid-plane of both."""
    nothing = fea.Isotropic(youngs_modulus=1e-6, poisson_ratio=0.42)
    mesh = grid(6, 4, lambda u, v: (60 * u, 30 * v, 5 * u**2), diagonal="random", jitter=0.2)
    loads = [fea.PointForce("u1", (1.0, 0.5, -2.0))]
    held = [fea.Support("u0", ALL)]
    one = solve_one(
        mesh, {"skin": fea.ShellSection(PLASTIC, thickness=4.0, offset=2.0)}, held, loads
    )
    both = fea.Laminate([nothing, PLASTIC], [0, 0], 4.0)
    two = solve_one(mesh, {"skin": fea.ShellSection(both)}, held, loads)
    np.testing.assert_allclose(at(two, "u1"), at(one, "u1"), rtol=1e-5, atol=1e-9)
    np.testing.assert_allclose(
        two.ply_stress("skin")[:, 1, 2], one.stress("skin", "top"), rtol=1e-5, atol=1e-5
    )
