# SPDX-License-Identifier: MIT
"""Buckling where there is little to find, or where something could be missed."""

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from small_models import ALL, STEEL, chain, flat, grid, random_rotation, turned

import fea
from fea.errors import ModelError
from fea.solver import buckling
from fea.solver.buckling import buckle_all
from fea.solver.inertia import negative_eigenvalues

EULER = np.pi**2 * 200e3 * (4.0 * 2.0**3 / 12.0) / 100.0**2


def strut(cells=8, width=4.0, depth=2.0, **cases):
    """Pinned strut of length 100 along x; each case is a force along x at its head."""
    mesh = chain([(x, 0.0, 0.0) for x in np.linspace(0.0, 100.0, cells + 1)])
    section = fea.StrutSection.rectangle(STEEL, width=width, depth=depth, up=(0, 0, 1))
    supports = [fea.Support("root", "ux uy uz rx"), fea.Support("tip", "uy uz")]
    loads = {name: [fea.PointForce("tip", (force, 0, 0))] for name, force in cases.items()}
    return fea.Model(mesh, {"bar": section}, supports, loads)


def sheet(force, **mesh):
    """A clamped sheet pulled or pushed along x by a force per length."""
    skin = grid(12, 6, flat(200.0, 100.0), **mesh)
    section = fea.ShellSection(STEEL, thickness=1.0)
    supports = [fea.Support("u0", ALL), fea.Support("u1", "uz")]
    return fea.Model(skin, {"skin": section}, supports, {"load": [fea.EdgeForce("u1", force)]})


def test_half_the_load_takes_twice_the_factor_and_a_pull_takes_none():
    model = strut(one=-1.0, half=-0.5, pull=1.0)
    found = {case: fea.buckle(model, case, 2) for case in model.cases}
    assert found["half"].factors == pytest.approx(2.0 * found["one"].factors, rel=1e-9)
    assert len(found["pull"].factors) == 0 and found["pull"].shapes.shape == (0, 9, 6)
    assert all(item.proved for item in found.values())


def test_cases_together_give_what_each_gives_alone():
    model = strut(one=-1.0, pull=1.0, half=-0.5)
    together = buckle_all(fea.solve(model), 1, tolerance=1e-6)
    assert list(together) == list(model.cases)
    for case, item in together.items():
        assert item.factors == pytest.approx(fea.buckle(model, case, 1).factors, rel=1e-5)
        assert item.proved


def test_a_case_without_force_has_no_factor():
    found = fea.buckle(strut(none=0.0), "none")
    assert len(found.factors) == 0 and found.proved


def test_a_sheet_that_is_pulled_hardly_buckles():
    """Its clamped end strains it sideways a little, so that some compression is left."""
    pushed, pulled = (fea.buckle(sheet((f, 0, 0)), "load", 1) for f in (-1.0, 1.0))
    assert pushed.proved and pulled.proved
    assert pulled.factors[0] > 1e4 * pushed.factors[0]


def test_a_sheet_pulled_all_round_never_buckles():
    skin = grid(12, 12, flat(100.0, 100.0), diagonal="random", jitter=0.2)
    pull = {"u0": (-1, 0, 0), "u1": (1, 0, 0), "v0": (0, -1, 0), "v1": (0, 1, 0)}
    model = fea.Model(
        skin, {"skin": fea.ShellSection(STEEL, thickness=1.0)},
        [fea.Support("u0v0", "ux uy uz"), fea.Support("u1v0", "uy uz"), fea.Support("u0v1", "uz")],
        {"load": [fea.EdgeForce(place, force) for place, force in pull.items()]},
    )  # fmt: skip
    found = fea.buckle(model, "load")
    assert len(found.factors) == 0 and found.proved


def test_more_factors_than_there_are_gives_those_there_are():
    model = strut(cells=1, load=-1.0)
    found = fea.buckle(model, "load", 50)
    # bending in two planes, each with the slopes of both ends free, and twist: G J/ρ²
    assert len(found.factors) == 5 and len(found.shapes) == 5
    assert found.proved
    assert np.all(np.diff(found.factors) >= 0.0)
    section = model.sections["bar"]
    radius_squared = (section.i_y + section.i_z) / section.area
    assert found.factors[-1] == pytest.approx(200e3 / 2.6 * section.j / radius_squared, rel=1e-9)


def test_a_square_strut_has_each_factor_twice():
    model = strut(cells=12, width=2.0, depth=2.0, load=-1.0)
    found = fea.buckle(model, "load", 4)
    assert found.proved
    assert found.factors[0::2] == pytest.approx(found.factors[1::2], rel=1e-8)
    assert found.factors[::2] == pytest.approx(EULER / 2.0 * np.array([1.0, 4.0]), rel=0.01)
    for single in (1, 3):
        alone = fea.buckle(model, "load", single)
        assert alone.proved and alone.factors == pytest.approx(found.factors[:single], rel=1e-8)


def test_the_factor_does_not_depend_on_the_direction_in_space():
    model = sheet((-1.0, 0.0, 0.0), diagonal="random", jitter=0.2)
    rotation = random_rotation()
    load = [fea.EdgeForce("u1", tuple(rotation @ [-1.0, 0.0, 0.0]))]
    held = [fea.Support("u0", ALL)]
    straight = fea.Model(model.mesh, model.sections, held, model.cases)
    tilted = fea.Model(turned(model.mesh, rotation), model.sections, held, {"load": load})
    assert fea.buckle(tilted, "load", 2).factors == pytest.approx(
        fea.buckle(straight, "load", 2).factors, rel=1e-6
    )


def test_the_largest_movement_of_a_shape_is_one():
    shapes = fea.buckle(strut(load=-1.0), "load", 3).shapes
    assert np.linalg.norm(shapes[:, :, :3], axis=2).max(axis=1) == pytest.approx(1.0)


def test_a_missed_factor_is_found_out(monkeypatch):
    real = buckling._Problem._lowest

    def without_the_first(self, *arguments):
        factors, vectors = real(self, *arguments)
        return factors[1:], vectors[:, 1:]

    monkeypatch.setattr(buckling._Problem, "_lowest", without_the_first)
    assert fea.buckle(strut(load=-1.0), "load", 3).proved is False


def test_without_a_count_nothing_is_called_proved(monkeypatch):
    monkeypatch.setattr(buckling, "negative_eigenvalues", lambda matrix, order: (None, order))
    found = fea.buckle(strut(load=-1.0), "load", 1)
    assert found.proved is None and found.factors[0] == pytest.approx(EULER, rel=0.01)


def test_unknown_cases_and_counts_are_refused():
    with pytest.raises(ModelError, match="unknown case 'storm'; this model has load"):
        fea.buckle(strut(load=-1.0), "storm")
    with pytest.raises(ModelError, match="count is 0; ask for at least one"):
        fea.buckle(strut(load=-1.0), "load", 0)
    assert buckle_all({}) == {}


@pytest.mark.parametrize("negative", [0, 1, 7])
def test_pivots_count_negative_eigenvalues(negative):
    rng = np.random.default_rng(negative)
    turn, _ = np.linalg.qr(rng.standard_normal((40, 40)))
    values = np.concatenate([-rng.uniform(1, 2, negative), rng.uniform(1, 2, 40 - negative)])
    matrix = csr_matrix(turn * values @ turn.T)
    count, order = negative_eigenvalues(matrix)
    assert count == negative
    assert negative_eigenvalues(matrix, order)[0] == negative


def test_pivots_that_prove_nothing_are_not_counted():
    assert negative_eigenvalues(csr_matrix([[0.0, 1.0], [1.0, 0.0]]))[0] is None


def standing(height):
    """A plate under a body that is hinged at a height; a weak bed on the ground holds it level."""
    plate = grid(4, 4, lambda u, v: (60 * u - 30, 60 * v - 30, 0 * u))
    hinge = (0.0, 0.0, height)
    return fea.Model(
        plate,
        {"skin": fea.ShellSection(fea.Isotropic(1e7, 0.3), thickness=10.0)},
        [fea.Support("shank", ALL)],
        {"push": [fea.SurfaceForce("skin", (0.0, 0.0, 1.0 / 60.0**2))]},
        beds=[fea.Bed("skin", "foot", 100.0, 100.0), fea.Bed("skin", None, 0.0, 0.01)],
        bodies=[fea.Body("shank", hinge), fea.Body("foot", hinge, "shank", (0.0, 1.0, 0.0))],
    )


def test_a_hinged_body_tilts_over_the_push_on_its_bed():
    """A foot under the ankle: tilted by φ, the push F acts h φ beside the hinge; it takes

    F h = k_t A h² (springs k_t per area along the plate) to keep it tilted.
    """
    found = fea.buckle(standing(80.0), "push", 1)
    assert found.proved
    assert found.factors[0] == pytest.approx(0.01 * 60.0**2 * 80.0, rel=2e-3)


def test_a_body_that_hangs_does_not_tilt():
    found = fea.buckle(standing(-80.0), "push", 1)
    assert len(found.factors) == 0 or found.factors[0] > 1e3 * 0.01 * 60.0**2 * 80.0


def resting(face):
    """A strip under a push along it, pressed down or lifted too; bare, or on a bed of a face."""
    strip = grid(20, 2, flat(100.0, 10.0))
    beds = [] if face == "bare" else [fea.Bed("skin", None, 0.02, face=face)]
    push = fea.EdgeForce("u1", (-0.1, 0.0, 0.0))
    return fea.Model(
        strip, {"skin": fea.ShellSection(STEEL, thickness=1.0)},
        [fea.Support("u0", "ux uz"), fea.Support("u1", "uz"), fea.Support("u0v0", "uy"),
         fea.Support("u1v0", "uy")],
        {name: [push, fea.SurfaceForce("skin", (0.0, 0.0, sign * 1e-4))]
         for name, sign in (("pressed", -1.0), ("lifted", 1.0))},
        beds=beds,
    )  # fmt: skip


def test_one_sided_beds_stay_as_they_are_in_the_case():
    """Pressed down, the bed below holds the strip as a two-sided one; lifted, not at all."""
    found = {
        face: buckle_all(fea.solve(resting(face)), 1) for face in ("bottom", None, "bare")
    }
    held, bare = found[None]["pressed"].factors[0], found["bare"]["lifted"].factors[0]
    assert held > 2.0 * bare
    assert found["bottom"]["pressed"].factors[0] == pytest.approx(held, rel=1e-6)
    assert found["bottom"]["lifted"].factors[0] == pytest.approx(bare, rel=1e-6)
    assert all(item.proved for cases in found.values() for item in cases.values())
