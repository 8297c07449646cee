# SPDX-License-Identifier: MIT
"""Buckling of struts and plates: Timoshenko S P, Gere J M, Theory of Elastic Stability, 1961.

Struts π²EI/(KL)², K = 1 pinned, 2 free at one end, ½ clamped; with the flexibility in shear
P/(1 + P/(GA κ)). Square plates, factor k of π²D/b²: compression supported
k = (m + 1/m)² of m half-waves, clamped 10.07; shear supported 9.34 (exact 9.325). Plate with a rib:
the double sine series with one half-wave along the load, solved here. The rib has no torsion.
"""

import numpy as np
import pytest
from jitter import BOTH, JITTERED
from scipy.linalg import eigh
from small_models import ALL, chain, flat, grid

import fea

YOUNG, POISSON, WALL = 70e3, 0.3, 0.01
MATERIAL = fea.Isotropic(YOUNG, POISSON)
RIGIDITY = YOUNG * WALL**3 / (12.0 * (1.0 - POISSON**2))
LINE_LOAD = np.pi**2 * RIGIDITY
COMPRESSION = {"u0": (1.0, 0.0, 0.0), "u1": (-1.0, 0.0, 0.0)}
SHEAR = {"u0": (0, -1.0, 0), "u1": (0, 1.0, 0), "v0": (-1.0, 0, 0), "v1": (1.0, 0, 0)}
LEVEL = [fea.Support("u0v0", "ux uy"), fea.Support("u1v0", "uy")]


def plate(cells, edge_forces, mesh, held="uz"):
    """A square plate of side 1 that slides in its plane, its border held as told."""
    square = grid(cells, cells, flat(1.0, 1.0), **mesh)
    loads = [fea.EdgeForce(place, force) for place, force in edge_forces.items()]
    section = fea.ShellSection(MATERIAL, thickness=WALL)
    supports = [fea.Support("border", held), *LEVEL]
    return fea.Model(square, {"skin": section}, supports, {"load": loads})


def lowest(model, case="load", count=1):
    """Factors of a case; the count must prove that none was missed."""
    found = fea.buckle(model, case, count)
    assert found.proved is True
    return found.factors


@pytest.mark.parametrize("mesh", BOTH)
def test_compressed_supported_square(mesh):
    first, second, third = lowest(plate(20, COMPRESSION, BOTH[mesh]), count=3) / LINE_LOAD
    assert first == pytest.approx(4.0, rel=3e-3)
    assert second == pytest.approx(6.25, rel=5e-3)
    assert third == pytest.approx(11.111, rel=8e-3)


@pytest.mark.parametrize("mesh", BOTH)
def test_compressed_clamped_square(mesh):
    found = lowest(plate(24, COMPRESSION, BOTH[mesh], held="uz rx ry"))[0] / LINE_LOAD
    assert found == pytest.approx(10.07, rel=6e-3)


@pytest.mark.parametrize(
    "mesh",
    [{"diagonal": "rising"}, {"diagonal": "falling"}, {"diagonal": "alternate"}, JITTERED],
    ids=["rising", "falling", "alternate", "jittered"],
)
def test_sheared_supported_square(mesh):
    found = lowest(plate(20, SHEAR, mesh))[0] / LINE_LOAD
    assert found == pytest.approx(9.325, rel=8e-3)


@pytest.mark.parametrize(
    ("root", "tip", "length"),
    [
        pytest.param("ux uy uz rx", "uy uz", 1.0, id="pinned"),
        pytest.param(ALL, "", 2.0, id="cantilever"),
        pytest.param(ALL, "uy uz rx ry rz", 0.5, id="clamped"),
    ],
)
def test_strut(root, tip, length):
    mesh = chain([(x, 0.0, 0.0) for x in np.linspace(0.0, 100.0, 25)])
    bar = fea.StrutSection.rectangle(fea.Isotropic(200e3, 0.3), width=4, depth=2, up=(0, 0, 1))
    supports = [fea.Support("root", root)] + ([fea.Support("tip", tip)] if tip else [])
    model = fea.Model(
        mesh, {"bar": bar}, supports, {"load": [fea.PointForce("tip", (-1.0, 0, 0))]}
    )
    euler = np.pi**2 * 200e3 * bar.i_z / (length * 100.0) ** 2
    shear = 1.0 + euler / (200e3 / 2.6 * bar.shear_area_y)
    found = lowest(model)[0]
    assert found == pytest.approx(euler / shear, rel=5e-4)


@pytest.mark.parametrize("mesh", BOTH)
def test_strip_of_shell_as_a_strut(mesh):
    strip = grid(40, 2, flat(100.0, 4.0), **BOTH[mesh])
    section = fea.ShellSection(MATERIAL, thickness=0.5)
    supports = [fea.Support("u0", "uz"), fea.Support("u1", "uz"), *LEVEL]
    loads = [fea.EdgeForce("u0", (0.25, 0, 0)), fea.EdgeForce("u1", (-0.25, 0, 0))]
    found = lowest(fea.Model(strip, {"skin": section}, supports, {"load": loads}))[0]
    assert found == pytest.approx(np.pi**2 * YOUNG * (4.0 * 0.5**3 / 12) / 100.0**2, rel=5e-3)


RIB_STIFFNESS, RIB_AREA = 5.0, 0.05  # EI/(D b) and A/(b t) of the rib


def ribbed_series(terms=40):
    """k of the ribbed square: amplitudes of sin(πx) sin(nπy), n = 1, 3, 5 …"""
    n = np.arange(1, 2 * terms, 2)
    at_rib = np.sin(n * np.pi / 2)
    bending = np.diag((1.0 + n**2) ** 2.0) + 2.0 * RIB_STIFFNESS * np.outer(at_rib, at_rib)
    work = np.eye(terms) + 2.0 * RIB_AREA * np.outer(at_rib, at_rib)
    return eigh(bending, work, eigvals_only=True)[0]


@pytest.mark.source("double sine series after Timoshenko, Gere 1961")
def test_compressed_square_with_a_rib_of_struts():
    square = grid(24, 24, flat(1.0, 1.0))
    middle = np.flatnonzero(np.abs(square.points[:, 1] - 0.5) < 1e-9)
    lines = np.column_stack([middle[:-1], middle[1:]])
    mesh = fea.Mesh(
        square.points,
        {**square.cells, "line": lines},
        places={**square.places, "start": [middle[0]], "stop": [middle[-1]]},
        zones={**square.zones, "rib": ("line", np.arange(len(lines)))},
    )
    inertia = RIB_STIFFNESS * RIGIDITY / YOUNG
    rib = fea.StrutSection(
        MATERIAL, area=RIB_AREA * WALL, i_y=inertia, i_z=1e-3 * inertia, j=1e-6 * inertia,
        up=(0, 0, 1),
    )  # fmt: skip
    share = RIB_AREA  # of the plate's whole force
    loads = [fea.EdgeForce(place, force) for place, force in COMPRESSION.items()]
    loads += [fea.PointForce("start", (share, 0, 0)), fea.PointForce("stop", (-share, 0, 0))]
    sections = {"skin": fea.ShellSection(MATERIAL, thickness=WALL), "rib": rib}
    model = fea.Model(mesh, sections, [fea.Support("border", "uz"), *LEVEL], {"load": loads})
    found = lowest(model)[0] / LINE_LOAD
    assert found == pytest.approx(ribbed_series(), rel=1e-2)
