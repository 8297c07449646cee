# SPDX-License-Identifier: MIT
"""Sections of solids: what they hold, and what is refused in words; devices take no solids yet."""

import numpy as np
import pytest
from solid_models import block

import fea
from fea.errors import FileError, MeshError, ModelError
from fea.mesh.reading import read_surface
from fea.mesh.writing import write_mesh
from fea.structure.realise import device_mass

STEEL = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3, density=7.85e-6)
PLY = fea.Ply(e1=60e3, e2=55e3, nu12=0.05, g12=3e3)
SOLID = fea.SolidSection(STEEL)
SHELL = fea.ShellSection(STEEL, thickness=1.0)


def test_lame_constants():
    """λ = E ν/((1 + ν)(1 − 2ν)) = 115 385 and μ = 76 923 MPa for steel."""
    assert SOLID.lame_constants == pytest.approx((115384.6, 76923.1), rel=1e-6)


@pytest.mark.parametrize("curved", [False, True])
def test_mass_of_a_bent_block(curved):
    """Shearing (x + z², y, z) keeps the volume 2 · 3 · 4 of the curved body; 7.85 g/cm³."""
    mesh = block(2, 2, 8, lambda u, v, w: (2 * u + 3 * w**2, 3 * v, 4 * w), curved=curved)
    structure = fea.Structure(mesh, {"block": SOLID})
    assert device_mass(structure) == pytest.approx(24.0 * 7.85e-6, rel=1e-9)
    with pytest.raises(ModelError, match="the material has no density"):
        bare = fea.SolidSection(fea.Isotropic(youngs_modulus=1.0, poisson_ratio=0.3))
        device_mass(fea.Structure(mesh, {"block": bare}))


REFUSED = {
    "a laminate": (
        lambda: fea.SolidSection(fea.Laminate(PLY, [0, 90], 0.5)),
        "takes an isotropic material, not a Laminate; model a laminate as a shell",
    ),
    "nearly incompressible": (
        lambda: fea.SolidSection(fea.Isotropic(youngs_modulus=1.0, poisson_ratio=0.499)),
        r"Poisson ratio 0.499 is too near to incompressible for solids, at most 0.49: .* stresses "
        r"would be more than 5 % off \(measured: 7 % at 0.495, 21 % at 0.499\)",
    ),
    "a shell section on solids": (
        lambda: fea.Structure(block(1, 1, 1), {"block": SHELL}),
        "zone 'block' is made of tetra10 cells and has a ShellSection; .* tetra10 a SolidSection",
    ),
    "a section on faces": (
        lambda: fea.Structure(block(1, 1, 1), {"block": SOLID, "face u0": SOLID}),
        "zone 'face u0' is made of triangle6 cells and has a SolidSection",
    ),
    "solids without a section": (
        lambda: fea.Structure(block(1, 1, 1), {}), "6 tetra10 cells have no section",
    ),
    "a bed on faces": (
        lambda: fea.Structure(block(1, 1, 1), {"block": SOLID}, beds=[fea.Bed("face u0", None, 1)]),
        "bed: zone 'face u0' must be made of triangles",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("make", "words"), REFUSED.values(), ids=REFUSED)
def test_refused_in_words(make, words):
    with pytest.raises(ModelError, match=words):
        make()


def test_the_bound_itself_is_allowed():
    fea.SolidSection(fea.Isotropic(youngs_modulus=1.0, poisson_ratio=0.49))


def test_a_face_needs_its_solid():
    mesh = fea.Mesh(np.eye(6, 3), {"triangle6": [range(6)]})
    with pytest.raises(MeshError, match="is no outer face of a solid"):
        fea.Structure(mesh, {})


def test_a_device_file_with_solids_is_refused(tmp_path):
    path = tmp_path / "solid.vtu"
    write_mesh(path, block(1, 1, 1))
    with pytest.raises(FileError, match="no plain surface: 6 tetra10, .*; export the"):
        read_surface(path)
