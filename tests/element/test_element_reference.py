# SPDX-License-Identifier: MIT
"""The fast assembly equals the scikit-fem reference assembly to rounding."""

import numpy as np
import pytest
from small_models import ALL, grid, random_rotation, turned

import fea
from fea.element.reference import reference_basis, reference_energy, reference_matrix

PLY = fea.Ply(e1=120e3, e2=9e3, nu12=0.3, g12=4e3, g23=3e3)


def dome(u, v):
    return 100 * u, 80 * v, 30 * u * (1 - u) + 10 * v**2 * u


@pytest.fixture(
    scope="module",
    params=[
        fea.ShellSection(fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42), thickness=4.0),
        fea.ShellSection(fea.Laminate(PLY, [0, 30, -45], 0.7), offset=1.3, direction=(1, 0.2, 0)),
    ],
    ids=["isotropic", "unsymmetric laminate with offset"],
)
def solution(request):
    mesh = turned(grid(7, 5, dome, diagonal="random", jitter=0.3), random_rotation())
    loads = [fea.SurfaceForce("skin", (0.01, -0.02, 0.03)), fea.PointForce("u1v1", (5, 3, -2))]
    model = fea.Model(mesh, {"skin": request.param}, [fea.Support("u0", ALL)], {"case": loads})
    return fea.solve(model)["case"]


@pytest.fixture(scope="module")
def basis(solution):
    mesh, shells = solution.system.structure.mesh, solution.system.shells
    return reference_basis(
        mesh.points, mesh.cells["triangle"], shells.facets, shells.stiffness, shells.factor
    )


def test_the_stiffness_matrix_is_the_same(solution, basis):
    reference = reference_matrix(basis, solution.system.shells.stiffness)
    difference = abs(solution.system.stiffness - reference).max()
    assert difference <= 1e-12 * abs(reference).max()


def test_the_strain_energy_is_half_the_work(solution, basis):
    energy = reference_energy(basis, solution.system.shells.stiffness, solution.vector)
    assert energy == pytest.approx(0.5 * solution.forces @ solution.vector, rel=1e-10)
    assert energy == pytest.approx(solution.strain_energy, rel=1e-10)


def test_interpolated_strains_are_those_of_the_solution(solution, basis):
    strain = np.asarray(basis.interpolate(solution.vector))  # (8, c, q)
    area = basis.dx.sum(axis=1)
    mean = np.einsum("anq,nq->na", strain, basis.dx) / area[:, None]
    assert np.abs(mean - solution.strains("skin")).max() <= 1e-12 * np.abs(strain).max()


def test_the_mapping_measures_the_facets(solution, basis):
    shells = solution.system.shells
    np.testing.assert_allclose(basis.dx.sum(axis=1), shells.facets.area, rtol=1e-13)
    mesh = solution.system.structure.mesh
    centroids = basis.mapping.F(np.array([[1 / 3], [1 / 3]]))[..., 0].T
    expected = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    np.testing.assert_allclose(centroids, expected, rtol=1e-12, atol=1e-12)


def test_the_element_refuses_points_that_are_not_its_own(basis):
    with pytest.raises(ValueError, match="own rule only"):
        basis.elem.gbasis(basis.mapping, np.array([[0.2], [0.2]]), 0)
