# SPDX-License-Identifier: MIT
"""Recovered section forces: exact where they should be, and never averaged where they jump."""

import numpy as np
import pytest
from small_models import (
    ALL,
    STEEL,
    chain,
    flat,
    grid,
    random_rotation,
    sheet,
    solve_one,
    turned,
)

import fea
from fea.errors import ModelError
from fea.solver.recovery import UNSUPPORTED
from fea.structure.patches import smooth_patches, smooth_spots
from fea.tensors import von_mises

STILL = np.eye(3)
THIN = fea.Isotropic(youngs_modulus=1000.0, poisson_ratio=0.3)


def structure_of(mesh, sections):
    return fea.Structure(mesh, sections)


def skin(mesh, **more):
    section = {"material": STEEL, "thickness": 1.0, **more}
    return structure_of(mesh, {"skin": fea.ShellSection(**section)})


def halves(mesh, first, second):
    """The structure with cells whose centre lies below x = 5 in one section, the others in two."""
    triangles = mesh.cells["triangle"]
    left = mesh.points[triangles].mean(axis=1)[:, 0] < 5.0
    zones = {"one": ("triangle", np.flatnonzero(left)), "two": ("triangle", np.flatnonzero(~left))}
    return structure_of(mesh.with_zones(zones), {"one": first, "two": second})


def roof(angle_deg):
    """A sheet folded along y by an angle at x = 5."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))

    def surface(u, v):
        beyond = np.maximum(10.0 * u - 5.0, 0.0)
        return np.minimum(10.0 * u, 5.0) + c * beyond, 4.0 * v, s * beyond

    return grid(10, 4, surface)


def stretched(mesh, section, strain=1e-3, turn=STILL):
    """Every node is held at a field of constant strain in the plane z = 0, before it is turned."""
    base = mesh.points @ turn
    gradient = np.array([[strain, 0.3 * strain, 0.0], [0.1 * strain, -0.2 * strain, 0.0]])
    moved = np.column_stack([base @ gradient.T, np.zeros(len(base))])
    spin = np.zeros_like(base)
    spin[:, 2] = 0.5 * (gradient[1, 0] - gradient[0, 1])
    return held_at(mesh, section, np.hstack([moved @ turn.T, spin @ turn.T]))


def held_at(mesh, section, values):
    """The solution with the border held at given displacements and rotations (n, 6)."""
    border = mesh.places["border"]
    places = {f"node {k}": [k] for k in border}
    supports = [
        fea.Support(f"node {k}", name, float(values[k, j]))
        for k in border
        for j, name in enumerate(ALL.split())
    ]
    return solve_one(mesh.with_places(places), {"skin": section}, supports, [])


@pytest.mark.parametrize("jitter", [0.0, 0.3])
def test_a_constant_membrane_field_is_recovered_exactly_and_without_error(jitter):
    mesh = grid(5, 4, flat(10.0, 8.0), diagonal="random", jitter=jitter)
    solution = stretched(mesh, fea.ShellSection(THIN, thickness=0.5))
    recovered = solution.system.recovery([solution])
    # ε = 1e-3 (1, −0.2, 0.4): N = E t/(1 − ν²) (ε11 + ν ε22, …), material axis 1 along x
    exact = 500.0 / 0.91 * 1e-3 * np.array([1.0 - 0.06, -0.2 + 0.3, 0.35 * 0.4])
    assert np.abs(recovered.section_forces[0, ..., :3] - exact).max() < 1e-9
    assert recovered.stress_error("skin").max() < 1e-9
    assert recovered.relative_energy_error[0] < 1e-7


@pytest.mark.parametrize("jitter", [0.0, 0.3])
def test_a_constant_moment_is_recovered_exactly_and_without_error(jitter):
    mesh = grid(5, 4, flat(10.0, 8.0), diagonal="random", jitter=jitter)
    x, y, _ = mesh.points.T
    k1, k2, k12 = 1e-3, -4e-4, 3e-4  # w = −(k1 x² + k2 y²)/2 − k12 x y; θx = w,y; θy = −w,x
    values = np.zeros((len(x), 6))
    values[:, 2] = -0.5 * (k1 * x**2 + k2 * y**2) - k12 * x * y
    values[:, 3], values[:, 4] = -(k2 * y + k12 * x), k1 * x + k12 * y
    solution = held_at(mesh, fea.ShellSection(THIN, thickness=0.5), values)
    recovered = solution.system.recovery([solution])
    bending = 1000.0 * 0.5**3 / (12.0 * 0.91)
    exact = bending * np.array([k1 + 0.3 * k2, k2 + 0.3 * k1, 0.35 * 2.0 * k12])
    scale = np.abs(exact).max()
    difference = np.abs(recovered.section_forces[0, ..., 3:6] - exact) / scale
    assert difference.max() < 1e-7
    stress = von_mises(recovered.surface_stress("skin"))
    assert recovered.stress_error("skin").max() < 1e-7 * stress.max()
    assert recovered.relative_energy_error[0] < 1e-6


def test_means_that_vary_linearly_are_recovered_exactly_on_a_rim_too():
    mesh = grid(6, 5, flat(12.0, 10.0), diagonal="random", jitter=0.2)
    section = fea.ShellSection(STEEL, thickness=1.0)
    supports = [fea.Support("u0", ALL)]
    solution = solve_one(mesh, {"skin": section}, supports, [fea.PointForce("u1v1", (1, 2, 3))])
    recovery = solution.system.recovery
    centre = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    slope = np.array([[1.0, 2.0, -1.0, 0.5, 3.0, 0.1, 2.0, -3.0], [0.3, -2, 1, 4, 0, 1, 1, 2]])
    corners = recovery.fit.corners((7.0 + centre[:, :2] @ slope)[..., None])[..., 0]
    corners = np.swapaxes(corners, 1, 2)
    exact = 7.0 + mesh.points[mesh.cells["triangle"]][..., :2] @ slope
    np.testing.assert_allclose(corners, exact, atol=1e-10)


def test_cases_are_recovered_together_and_scale_with_the_load():
    mesh = grid(6, 3, flat(12.0, 4.0))
    cases = {
        "one": [fea.PointForce("u1", (0, 0, 1.0))],
        "two": [fea.PointForce("u1", (0, 0, -2.0))],
    }
    section = {"skin": fea.ShellSection(STEEL, thickness=1.0)}
    solutions = fea.solve(fea.Model(mesh, section, [fea.Support("u0", ALL)], cases))
    recovered = solutions["one"].system.recovery(list(solutions.values()))
    np.testing.assert_allclose(
        recovered.section_forces[1], -2.0 * recovered.section_forces[0], atol=1e-9
    )
    errors = recovered.stress_error("skin")
    np.testing.assert_allclose(errors[1], 2.0 * errors[0], rtol=1e-6)
    assert recovered.relative_energy_error[0] == pytest.approx(recovered.relative_energy_error[1])


def curved(turn=STILL):
    """A quarter of a tube under a force at its corner, turned as a whole, axis 1 with it."""

    def surface(u, v):
        return 20.0 * np.cos(1.5 * u), 20.0 * np.sin(1.5 * u), 30.0 * v

    mesh = turned(grid(8, 8, surface, diagonal="random", jitter=0.2), turn)
    direction = tuple(turn @ np.array([0.0, 0.0, 1.0]))
    section = fea.ShellSection(STEEL, thickness=0.8, offset=0.3, direction=direction)
    load = fea.PointForce("u1v1", tuple(turn @ np.array([3.0, -1.0, 2.0])))
    solution = solve_one(mesh, {"skin": section}, [fea.Support("v0", ALL)], [load])
    return solution.system.recovery([solution])


def test_the_recovery_turns_with_the_structure():
    before, after = curved(), curved(random_rotation())
    scale = np.abs(before.section_forces).max()
    difference = np.abs(after.section_forces - before.section_forces).max()
    assert difference < 1e-7 * scale
    errors = before.stress_error("skin"), after.stress_error("skin")
    assert np.abs(errors[0] - errors[1]).max() < 1e-7 * errors[0].max()
    np.testing.assert_allclose(before.relative_energy_error, after.relative_energy_error, rtol=1e-7)


def test_values_at_a_node_agree_within_a_patch():
    recovered = curved()
    stress = von_mises(recovered.surface_stress("skin"))[0, 2]
    mesh = recovered.recovery.system.structure.mesh
    for node in (mesh.places["centre"][0], mesh.places["u0v1"][0]):
        values = stress[mesh.cells["triangle"] == node]
        np.testing.assert_allclose(values, values[0], rtol=1e-9)


@pytest.mark.parametrize(("angle", "patches"), [(20.0, 1), (30.0, 2), (90.0, 2), (150.0, 2)])
def test_a_fold_parts_two_patches(angle, patches):
    assert smooth_patches(skin(roof(angle))).max() + 1 == patches


def test_nothing_is_averaged_over_a_fold():
    mesh = roof(60.0)
    recovery_of_means(skin(mesh), mesh.points[mesh.cells["triangle"]].mean(axis=1)[:, 2] > 1e-9)


def recovery_of_means(structure, second):
    """Means of 1 in one part and 5 in the other come back as 1 and 5 at every corner."""
    mesh = structure.mesh
    places = {"some": [0, 1, 2]}
    structure = fea.Structure(mesh.with_places(places), structure.sections,
                              [fea.Support("some", ALL)])
    system = fea.prepare(structure)
    means = np.zeros((len(second), 8, 1))
    means[:, 6, 0] = means[:, 0, 0] = means[:, 1, 0] = np.where(second, 5.0, 1.0)
    corners = np.swapaxes(system.recovery.fit.corners(means)[..., 0], 1, 2)
    exact = np.where(second, 5.0, 1.0)[:, None] + np.zeros(3)
    np.testing.assert_allclose(corners[..., 0], exact, rtol=1e-12)
    np.testing.assert_allclose(corners[..., 1], exact, rtol=1e-12)
    np.testing.assert_allclose(np.hypot(corners[..., 6], corners[..., 7]), exact, rtol=1e-12)


def wall(**more):
    return fea.ShellSection(**{"material": STEEL, "thickness": 2.0, **more})


CLOTH = fea.Ply(e1=60e3, e2=60e3, nu12=0.05, g12=3e3)
LAYUP = fea.Laminate(CLOTH, [0, 45], 1.0)
PARTED = {
    "a step in wall": (wall(), wall(thickness=2.25)),
    "another material": (wall(), wall(material=fea.Isotropic(70e3, 0.3))),
    "another offset": (wall(), wall(offset=0.5)),
    "another layup": (wall(material=LAYUP, thickness=None),
                      wall(material=fea.Laminate(CLOTH, [45, 0], 1.0), thickness=None)),
    "another direction": (wall(material=LAYUP, thickness=None, direction=(1, 0, 0)),
                          wall(material=LAYUP, thickness=None, direction=(0, 1, 0))),
}


@pytest.mark.parametrize("why", PARTED)
def test_nothing_is_averaged_over(why):
    mesh = grid(10, 4, flat(10.0, 4.0), diagonal="random")
    structure = halves(mesh, *PARTED[why])
    patch = smooth_patches(structure)
    second = mesh.points[mesh.cells["triangle"]].mean(axis=1)[:, 0] > 5.0
    np.testing.assert_array_equal(patch == patch[second.argmax()], second)
    if why != "another direction":  # there the axes differ, so equal components are no one field
        recovery_of_means(structure, second)


def test_two_zones_of_one_make_are_one_patch():
    mesh = grid(10, 4, flat(10.0, 4.0))
    assert smooth_patches(halves(mesh, wall(), wall(direction=(0, 1, 0)))).max() == 0
    same = fea.Laminate(CLOTH, [0, 45], 1.0)
    assert smooth_patches(halves(mesh, wall(material=LAYUP, thickness=None),
                                 wall(material=same, thickness=None))).max() == 0


def test_a_wall_that_thins_out_smoothly_stays_one_patch():
    mesh = grid(20, 4, flat(10.0, 4.0))
    x = mesh.points[mesh.cells["triangle"]].mean(axis=1)[:, 0]
    assert smooth_patches(skin(mesh, thickness=4.0 - 0.25 * x)).max() == 0  # 4 to 1.5 mm


def test_a_tee_parts_three_patches_and_a_strut_two():
    points = [[0, y, 0] for y in range(4)]
    for direction in ([1, 0, 0], [-1, 0, 0], [0, 0, 1]):
        points += [[0.9 * d for d in direction] + np.array([0, y, 0]) for y in range(4)]
    triangles = []
    for k in (4, 8, 12):
        for y in range(3):
            triangles += [[y, y + 1, k + y], [y + 1, k + y + 1, k + y]]
    mesh = sheet(np.array(points, dtype=float), triangles, {})
    assert smooth_patches(skin(mesh)).tolist() == [0] * 6 + [1] * 6 + [2] * 6
    flat_part = sheet(mesh.points[:12], triangles[:6] + [t[::-1] for t in triangles[6:12]], {})
    assert smooth_patches(skin(flat_part)).max() == 0
    beamed = fea.Mesh(flat_part.points,
                      {**flat_part.cells, "line": [[0, 1], [2, 1], [2, 3]]},
                      zones={**flat_part.zones, "rib": ("line", range(3))})
    rib = fea.StrutSection.rectangle(STEEL, width=2.0, depth=1.0, up=(0, 0, 1))
    structure = fea.Structure(beamed, {"skin": wall(), "rib": rib})
    assert smooth_patches(structure).tolist() == [0] * 6 + [1] * 6


def test_a_spot_knows_whether_cells_lie_all_round_it():
    mesh = grid(4, 4, flat(10.0, 4.0), diagonal="random")
    spots = smooth_spots(skin(mesh))
    inner = ~np.isin(mesh.cells["triangle"], mesh.places["border"])
    np.testing.assert_array_equal(spots.closed[spots.of_corner], inner)


def test_a_patch_too_small_for_a_fit_takes_the_mean_and_a_large_error():
    mesh = sheet([[0, 0, 0], [10, 0, 0], [0, 10, 0], [10, 10, 0]], [[0, 1, 2], [1, 3, 2]],
                 {"held": [0, 2], "pulled": [1, 3]})
    load = [fea.PointForce("pulled", (50.0, 0, 7.0))]
    solution = solve_one(mesh, {"skin": wall()}, [fea.Support("held", ALL)], load)
    recovered = solution.system.recovery([solution])
    mean = recovered.means[0].mean(axis=0)
    assert np.abs(recovered.section_forces[0] - mean).max() < 1e-9 * np.abs(mean).max()
    stress = von_mises(recovered.surface_stress("skin"))
    assert np.all(recovered.stress_error("skin") >= UNSUPPORTED * stress)


def test_a_laminate_is_recovered_ply_by_ply():
    mesh = grid(8, 3, flat(80.0, 20.0))
    section = wall(material=fea.Laminate(CLOTH, [0, 45, -45], 0.5), thickness=None,
                   offset=0.4, direction=(1, 0, 0))
    load = [fea.PointForce("u1", (0, 3.0, 5.0))]
    solution = solve_one(mesh, {"skin": section}, [fea.Support("u0", ALL)], load)
    recovered = solution.system.recovery([solution])
    plies, errors = recovered.ply_stress("skin"), recovered.ply_stress_error("skin")
    assert plies.shape == errors.shape == (1, 48, 3, 3, 3, 3)
    surfaces = recovered.surface_stress("skin")
    np.testing.assert_allclose(plies[0, :, :, 0, 0], surfaces[0, 0], rtol=1e-9)  # 0°, bottom
    centre = plies[0].mean(axis=1)
    away = np.abs(centre - solution.ply_stress("skin"))
    assert np.all(away[:, None] <= errors[0] + 1e-9)  # no further off than the error says
    assert errors.max() > 0.0


def test_what_cannot_be_recovered_is_refused():
    mesh = grid(4, 4, flat(10.0, 4.0))
    solution = solve_one(mesh, {"skin": wall()}, [fea.Support("u0", ALL)],
                         [fea.PointForce("u1", (1.0, 0, 0))])
    recovered = solution.system.recovery([solution])
    with pytest.raises(ModelError, match="'rib' is no zone of shells"):
        recovered.surface_stress("rib")
    with pytest.raises(ModelError, match="'skin' is no laminate"):
        recovered.ply_stress("skin")
    bar = fea.StrutSection.rectangle(STEEL, width=2.0, depth=1.0, up=(0, 0, 1))
    struts = fea.Structure(chain(np.array([[0, 0, 0], [9.0, 0, 0]])), {"bar": bar},
                           [fea.Support("root", ALL)])
    with pytest.raises(ModelError, match="no shells"):
        fea.prepare(struts).recovery


@pytest.mark.parametrize("wall", [10.0, 1.0, 0.1])
@pytest.mark.parametrize("turn", [np.eye(3), random_rotation()], ids=["flat", "turned"])
def test_shear_forces_are_the_slopes_of_the_moments(wall, turn):
    """A cantilever under 1 N/mm at its end carries Q = 1 everywhere, however thin: the shear
    strain of the cells says 0.98 in the thick wall and 0.92 in the thin ones."""
    mesh = turned(grid(32, 8, flat(100.0, 25.0)), turn)
    section = fea.ShellSection(
        fea.Isotropic(youngs_modulus=1e4, poisson_ratio=0.0), thickness=wall, direction=turn[:, 0]
    )
    solution = solve_one(
        mesh, {"skin": section}, [fea.Support("u0", ALL)],
        [fea.EdgeForce("u1", tuple(turn @ [0.0, 0.0, 1.0]))],
    )  # fmt: skip
    forces = solution.system.recovery([solution]).section_forces[0]
    along = mesh.points[mesh.cells["triangle"]].mean(axis=1) @ turn[:, 0]
    inside = np.abs(along - 50.0) < 30.0
    assert forces[inside, 0, 6].mean() == pytest.approx(1.0, abs=0.01)
    assert np.abs(forces[inside, 0, 6] - 1.0).max() < 0.05
    assert np.abs(forces[inside, 0, 7]).max() < 0.02
