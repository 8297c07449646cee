# SPDX-License-Identifier: MIT
"""Is the error that we state the error that we make? Recovered stress beside exact stress.

Exact fields: a hole in a sheet under tension (membrane, the peak on a free rim), a plate that bends
in a sine (the peak inside), a clamped plate (the peak on a held edge), a tube in bending. The band
holds the peak at the hole from cells of a fifth of its radius; with six cells to the quarter, of a
third, it misses it by up to 4 %.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from small_models import ALL, flat, grid, solve_skin

import fea
from fea.mesh.mesh import triangle_geometry
from fea.tensors import von_mises

MIDSIDES = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]])
MESHES = ((0.0, "rising"), (0.0, "alternate"), (0.25, "random"))
HOLE, FAR = 10.0, 50.0
SIDE, WALL = 10.0, 0.1


@dataclass(frozen=True)
class Compared:
    """Exact and recovered values of one case.

    Attributes:
        means, recovered, estimated: errors in the energy norm over the norm of the exact field:
            of the cell means, of the recovered field, and as `energy_error` estimates the first.
        exact: (c, 3) von Mises stress at the corners;  value, error: the recovered one.
        mean_peak: largest von Mises stress of the means.
    """

    means: float
    recovered: float
    estimated: float
    exact: np.ndarray
    value: np.ndarray
    error: np.ndarray
    mean_peak: float

    @property
    def effectivity(self):
        return self.estimated / self.means

    @property
    def upper(self):
        """Recovered peak and its error, over the exact peak."""
        return (self.value + self.error).max() / self.exact.max()

    def covered(self):
        """Share of the corners stressed above half the peak whose error is no more than stated."""
        high = self.exact > 0.5 * self.exact.max()
        return np.mean(np.abs(self.value - self.exact)[high] <= self.error[high])


def compared(solution, part, field, stress, layer):
    """Compare section forces ``part`` with ``field(x, y)`` (..., 3); ``stress`` is per unit."""
    system = solution.system
    recovered = system.recovery([solution])
    mesh, shells = system.structure.mesh, system.shells
    corners = mesh.points[mesh.cells["triangle"]]
    inside = MIDSIDES @ corners
    exact = field(inside[..., 0], inside[..., 1])
    means = recovered.means[0][:, None, part]
    linear = MIDSIDES @ recovered.section_forces[0][..., part]
    compliance = np.linalg.inv(shells.stiffness[:, part, part])
    weight = shells.facets.area / 3.0

    def norm(difference):
        return np.sqrt(np.einsum("cqi,cij,cqj,c->", difference, compliance, difference, weight))

    return Compared(
        means=norm(exact - means) / norm(exact),
        recovered=norm(exact - linear) / norm(exact),
        estimated=np.linalg.norm(recovered.energy_error[0]) / norm(exact),
        exact=von_mises(stress * field(corners[..., 0], corners[..., 1])),
        value=von_mises(recovered.surface_stress("skin"))[0, layer],
        error=recovered.stress_error("skin")[0, layer],
        mean_peak=von_mises(stress * recovered.means[0][:, part]).max(),
    )


def hole_field(x, y):
    """Membrane forces round a hole in a wide sheet, 1 N/mm in x far away, thickness 1 mm.

    Source: timoshenko-goodier-1970, article 35 (Kirsch).
    """
    r2 = x * x + y * y
    c2, s2 = (x * x - y * y) / r2, 2.0 * x * y / r2
    c4, s4 = c2 * c2 - s2 * s2, 2.0 * s2 * c2
    a2, a4 = HOLE**2 / r2, HOLE**4 / r2**2
    along = 1.0 - a2 * (1.5 * c2 + c4) + 1.5 * a4 * c4
    across = -a2 * (0.5 * c2 - c4) - 1.5 * a4 * c4
    shear = -a2 * (0.5 * s2 + s4) + 1.5 * a4 * s4
    return np.stack([along, across, shear], axis=-1)


def hole(n, jitter, diagonal):
    """A quarter of a ring of the sheet, 4 n cells round the whole hole, under exact tractions."""

    def surface(u, v):
        r, angle = HOLE * (FAR / HOLE) ** u, 0.5 * np.pi * v
        return r * np.cos(angle), r * np.sin(angle), 0.0 * u

    mesh = grid(n, n, surface, diagonal=diagonal, jitter=jitter)
    rim = mesh.places["u1"]
    rim = rim[np.argsort(np.arctan2(mesh.points[rim, 1], mesh.points[rim, 0]))]
    forces = np.zeros_like(mesh.points)
    for first, second in zip(rim[:-1], rim[1:], strict=True):
        edge = mesh.points[second] - mesh.points[first]
        for s, weight in zip(*np.polynomial.legendre.leggauss(4), strict=True):
            share = 0.5 * (1.0 + s)
            x, y, _ = mesh.points[first] + share * edge
            n11, n22, n12 = hole_field(x, y)
            pull = np.array([n11 * edge[1] - n12 * edge[0], n12 * edge[1] - n22 * edge[0], 0.0])
            forces[first] += 0.5 * weight * (1.0 - share) * pull
            forces[second] += 0.5 * weight * share * pull
    supports = [("v0", "uy rx rz"), ("v1", "ux ry rz"), ("all", "uz rx ry")]
    return compared(loaded(mesh, forces, supports, wall=1.0), slice(0, 3), hole_field, 1.0, 1)


def loaded(mesh, forces, supports, wall, direction=(1, 0, 0)):
    """The solution under forces (n, 3) at the nodes."""
    nodes = np.flatnonzero(np.abs(forces).max(axis=1))
    places = {f"node {k}": [k] for k in nodes} | {"all": np.arange(len(mesh.points))}
    loads = [fea.PointForce(f"node {k}", tuple(forces[k].tolist())) for k in nodes]
    material = fea.Isotropic(youngs_modulus=1e6, poisson_ratio=0.3)
    section = fea.ShellSection(material, thickness=wall, direction=direction)
    held = [fea.Support(place, dofs) for place, dofs in supports]
    model = fea.Model(mesh.with_places(places), {"skin": section}, held, {"case": loads})
    return fea.solve(model)["case"]


def sine_field(x, y):
    """Moments of a simply supported square plate, thin, under cos(πx/a) cos(πy/a), 1 at the middle.

    w = q / (4 D (π/a)⁴): M11 = M22 = (1 + ν) q / (4 (π/a)²), M12 = −(1 − ν) … sin sin.
    Source: timoshenko-woinowsky-1959, article 27.
    """
    k = np.pi / SIDE
    up = np.cos(k * x) * np.cos(k * y) / (4.0 * k**2)
    twist = np.sin(k * x) * np.sin(k * y) / (4.0 * k**2)
    return np.stack([1.3 * up, 1.3 * up, -0.7 * twist], axis=-1)


def sine(n, jitter, diagonal):
    """A quarter of the plate that bends in a sine."""
    mesh = grid(n, n, flat(0.5 * SIDE, 0.5 * SIDE), diagonal=diagonal, jitter=jitter)
    triangles = mesh.cells["triangle"]
    x, y, _ = np.moveaxis(MIDSIDES @ mesh.points[triangles], 2, 0)
    pressure = np.cos(np.pi * x / SIDE) * np.cos(np.pi * y / SIDE)
    area, _ = triangle_geometry(mesh.points, triangles)
    forces = np.zeros_like(mesh.points)
    np.add.at(forces[:, 2], triangles, (area[:, None] / 3.0 * pressure) @ MIDSIDES)
    supports = [("u0", "ux ry rz"), ("v0", "uy rx rz"), ("u1", "uz rx"), ("v1", "uz ry"),
                ("all", "ux uy rz")]
    solution = loaded(mesh, forces, supports, WALL)
    return compared(solution, slice(3, 6), sine_field, 6.0 / WALL**2, 2)


CASES = [(case, *mesh) for case in (hole, sine) for mesh in MESHES]


@pytest.mark.parametrize(("case", "jitter", "diagonal"), CASES)
def test_the_energy_error_is_the_one_that_is_made(case, jitter, diagonal):
    for n in (8, 16):
        assert 0.9 < case(n, jitter, diagonal).effectivity < 1.15


@pytest.mark.parametrize(("case", "jitter", "diagonal"), CASES)
def test_recovered_forces_converge_faster_than_the_means(case, jitter, diagonal):
    coarse, fine = case(8, jitter, diagonal), case(16, jitter, diagonal)
    order = np.log2(coarse.recovered / fine.recovered)
    assert np.log2(coarse.means / fine.means) == pytest.approx(1.0, abs=0.15)
    assert order > 1.3
    assert fine.recovered < 0.6 * fine.means


@pytest.mark.parametrize(("case", "jitter", "diagonal"), CASES)
def test_the_band_of_the_stress_holds_the_exact_stress(case, jitter, diagonal):
    for n, most in ((8, 1.12), (12, 1.1), (24, 1.07)):
        one = case(n, jitter, diagonal)
        assert 1.0 <= one.upper < most
        if n > 8:
            assert one.covered() > 0.95
    if case is hole:  # means never reach a peak on a rim
        assert abs(one.value.max() - one.exact.max()) < abs(one.mean_peak - one.exact.max())


@pytest.mark.parametrize(("jitter", "diagonal"), MESHES)
def test_the_band_holds_the_moment_at_a_clamped_edge(jitter, diagonal):
    # timoshenko-woinowsky-1959, table 35: −0.0513 q a² at the middle of the edge, and ν times
    # that along it, so von Mises 6 M / t² √(1 − ν + ν²)
    exact = 0.0513 * SIDE**2 * 6.0 / WALL**2 * np.sqrt(1.0 - 0.3 + 0.09)
    for n in (8, 16):
        mesh = grid(n, n, flat(0.5 * SIDE, 0.5 * SIDE), diagonal=diagonal, jitter=jitter)
        supports = [fea.Support("u0", "ux ry rz"), fea.Support("v0", "uy rx rz"),
                    fea.Support("u1", ALL), fea.Support("v1", ALL)]
        material = fea.Isotropic(youngs_modulus=1e6, poisson_ratio=0.3)
        solution = solve_skin(mesh, material, WALL, supports, [fea.Pressure("skin", 1.0)])
        recovered = solution.system.recovery([solution])
        middle = mesh.cells["triangle"] == np.intersect1d(mesh.places["u1"], mesh.places["v0"])[0]
        value = von_mises(recovered.surface_stress("skin"))[0, 2][middle][0]
        error = recovered.stress_error("skin")[0, 2][middle][0]
        assert abs(value - exact) < error < 1.2 * exact / n


def test_the_band_holds_the_stress_of_a_bent_tube():
    radius, length, wall = 20.0, 60.0, 0.5

    def surface(u, v):
        angle = np.pi * (u - 0.5)
        return radius * np.cos(angle), radius * np.sin(angle), length * v

    # Six cells round half the tube meet at 30 degrees: folds, so that no plane can be fitted
    for n, most, least in ((6, 2.2, 0.9), (8, 2.0, 0.95), (12, 1.2, 0.95), (24, 1.02, 0.95)):
        mesh = grid(n, n, surface, diagonal="random")  # N11 = y / r at the end, as everywhere
        rim = mesh.places["v1"]
        rim = rim[np.argsort(mesh.points[rim, 1])]
        edge = np.linalg.norm(np.diff(mesh.points[rim], axis=0), axis=1)
        pull = mesh.points[rim, 1] / radius
        forces = np.zeros_like(mesh.points)
        forces[rim[:-1], 2] += edge * (2.0 * pull[:-1] + pull[1:]) / 6.0
        forces[rim[1:], 2] += edge * (pull[:-1] + 2.0 * pull[1:]) / 6.0
        mesh = mesh.with_places({"one": [mesh.places["u0v0"][0]]})
        supports = [("u0", "ux ry rz"), ("u1", "ux ry rz"), ("v0", "uz rx ry"), ("one", "uy")]
        solution = loaded(mesh, forces, supports, wall, direction=(0, 0, 1))
        recovered = solution.system.recovery([solution])
        corners = mesh.points[mesh.cells["triangle"]]
        inner = np.abs(corners[..., 2] - 0.5 * length) < 0.3 * length
        value = von_mises(recovered.surface_stress("skin"))[0, 1][inner]
        exact = np.abs(corners[..., 1] / radius / wall)[inner]
        error = recovered.stress_error("skin")[0, 1][inner]
        assert exact.max() == pytest.approx(2.0) and 2.0 <= (value + error).max() < 2.0 * most
        assert np.mean(np.abs(value - exact) <= error) > least
