# SPDX-License-Identifier: MIT
"""Struts, shells and both together: the same meshes in OpenSees and pyfe3d as in ours.

Struts are exact in all three. Triangles differ from package to package, so on one mesh they differ
by their errors: each test states by how much at most, as the largest distance of two displacements
over the largest displacement. Where that is much, a closed form decides.
"""

import numpy as np
import pytest
from jitter import BOTH
from peers import ask, describe
from small_models import ALL, STEEL, chain, flat, grid

import fea

OPENSEES, PYFE3D = "ask_opensees.py", "ask_pyfe3d.py"
TRIANGLES = {
    "ShellDKGT": (OPENSEES, {"triangle": "ShellDKGT"}),
    "ASDShellT3": (OPENSEES, {"triangle": "ASDShellT3"}),
    "Tria3DSG": (PYFE3D, {}),
}
SLENDER = {"shear_area_y": None, "shear_area_z": None}  # OpenSees has offsets without shear only
PLY = fea.Ply(e1=140e3, e2=9e3, nu12=0.3, g12=5e3, g13=5e3, g23=3e3)


def solved(model):
    return fea.solve(model)["case"].displacement


def displacement(model, script, more=None):
    return np.array(ask(script, {**describe(model), **(more or {})})["displacement"])


def distance(theirs, ours, columns=slice(0, 3)):
    """Largest distance between two displacements (or rotations) over the largest of ours."""
    apart = np.linalg.norm((theirs - ours)[:, columns], axis=1).max()
    return apart / np.linalg.norm(ours[:, columns], axis=1).max()


def one_case(mesh, sections, supports, loads):
    return fea.Model(mesh, sections, supports, {"case": loads})


def bar(width, depth, up, **offsets):
    section = fea.StrutSection.rectangle(STEEL, width=width, depth=depth, up=up)
    return fea.StrutSection(**{**vars(section), **offsets})


def frame(**offsets):
    """A bent frame in space; its load acts 60 aside of the tip, its foot is clamped."""
    points = [(0, 0, 0), (20, 10, 150), (60, -30, 320), (180, 40, 340), (200, 160, 300)]
    force = np.array([120.0, -80.0, -300.0])
    arm = np.array([40.0, 25.0, -35.0])
    load = fea.PointForce("tip", tuple(force), tuple(np.cross(arm, force)))
    section = bar(25.0, 4.0, (1.0, 0.3, -0.2), **offsets)
    return one_case(chain(points), {"bar": section}, [fea.Support("root", ALL)], [load])


@pytest.mark.parametrize("script", [OPENSEES, PYFE3D])
def test_frame_in_space_with_a_load_aside(script):
    model = frame()
    theirs, ours = displacement(model, script), solved(model)
    assert distance(theirs, ours) < 1e-9
    assert distance(theirs, ours, slice(3, 6)) < 1e-9


def test_frame_with_rigid_offsets_and_its_end_forces():
    """The struts run beside their nodes; only OpenSees of the two has offsets."""
    model = frame(**SLENDER, offset_start=(0.0, 12.0, 5.0), offset_end=(0.0, 12.0, 5.0))
    answer, solution = ask(OPENSEES, describe(model)), fea.solve(model)["case"]
    theirs, ours = np.array(answer["displacement"]), solution.displacement
    assert distance(theirs, ours) < 1e-9
    assert distance(theirs, ours, slice(3, 6)) < 1e-9
    # OpenSees gives the forces on the two ends of a strut, ours are those of a section
    ends = np.array(answer["strut_ends"]).reshape(-1, 2, 6) * np.array([-1.0, 1.0])[:, None]
    forces = solution.strut_forces("bar")
    np.testing.assert_allclose(ends, forces, atol=1e-8 * np.abs(forces).max())


def roof(n, kind):
    """A quarter of Scordelis and Lo's roof (ACI J 1964;61:539-561): free edge sinks by 0.3024."""

    def surface(u, v):
        angle = np.radians(40.0) * u
        return 25 * np.sin(angle), 25 * v, 25 * np.cos(angle)

    mesh = grid(n, n, surface, **BOTH[kind])
    section = fea.ShellSection(fea.Isotropic(youngs_modulus=4.32e8, poisson_ratio=0.0), 0.25)
    held = [fea.Support("u0", "ux ry rz"), fea.Support("v0", "uy rx rz"),
            fea.Support("v1", "ux uz")]  # fmt: skip
    return one_case(mesh, {"skin": section}, held, [fea.SurfaceForce("skin", (0, 0, -90.0))])


def blade(load, kind="structured", cells=1, wall=None):
    """A cantilever plate 240 × 60 × 3, loaded at its end."""
    mesh = grid(24 * cells, 6 * cells, flat(240.0, 60.0), **BOTH[kind])
    section = fea.ShellSection(STEEL, thickness=3.0)
    if wall is not None:
        section = fea.ShellSection(wall, direction=(1, 0, 0))
    return one_case(mesh, {"skin": section}, [fea.Support("u0", ALL)], [load])


def panel(eccentric):
    """A plate 200 × 120 × 2 with two ribs on its cell edges, pressed sideways, clamped at u0."""
    mesh = grid(20, 12, flat(200.0, 120.0), **BOTH["structured"])
    nodes = np.arange(21 * 13).reshape(21, 13)
    ribs = np.concatenate([np.stack([nodes[:-1, j], nodes[1:, j]], 1) for j in (3, 9)])
    zones = {**mesh.zones, "ribs": ("line", np.arange(len(ribs)))}
    mesh = fea.Mesh(mesh.points, {**mesh.cells, "line": ribs}, places=mesh.places, zones=zones)
    shift = {"offset_start": (0, 0, 6.0), "offset_end": (0, 0, 6.0)} if eccentric else {}
    shift |= SLENDER if eccentric else {}
    sections = {"skin": fea.ShellSection(STEEL, thickness=2.0),
                "ribs": bar(10.0, 3.0, (0, 0, 1.0), **shift)}  # fmt: skip
    return one_case(mesh, sections, [fea.Support("u0", ALL)], [fea.Pressure("skin", 0.01)])


ACROSS, ALONG = fea.EdgeForce("u1", (0, 0, 0.1)), fea.EdgeForce("u1", (10.0, 0, 0))
IN_PLANE, TWIST = fea.EdgeForce("u1", (0, 10.0, 0)), fea.PointForce("u1", (0,) * 3, (5e3, 0, 0))


@pytest.mark.parametrize("kind", BOTH)
@pytest.mark.parametrize(
    ("load", "spread"),
    [
        (ACROSS, {"ShellDKGT": 0.002, "ASDShellT3": 0.002, "Tria3DSG": 0.004}),
        (ALONG, {"ShellDKGT": 0.035, "ASDShellT3": 0.002, "Tria3DSG": 0.03}),
        (IN_PLANE, {"ShellDKGT": 0.015, "ASDShellT3": 0.01, "Tria3DSG": 0.11}),
        (TWIST, {"ShellDKGT": 0.005, "ASDShellT3": 0.025, "Tria3DSG": 0.01}),
    ],
    ids=["across", "along", "in plane", "twist"],
)
def test_cantilever_plate(load, spread, kind):
    model = blade(load, kind)
    ours = solved(model)
    found = {name: distance(displacement(model, *peer), ours) for name, peer in TRIANGLES.items()}
    assert {name: found[name] for name in spread if found[name] > spread[name]} == {}


def test_in_plane_bending_by_the_closed_form():
    """F L³/(3EI) + F L/(κGA) = 0.2685. Ours is within 1 % on the coarse mesh; pyfe3d's triangle is
    7 % stiffer than ours there, and comes to ours when refined."""
    exact = 600 * 240**3 / (3 * 200e3 * 54000) + 600 * 240 * 1.2 * 2.6 / (200e3 * 180)
    for cells, apart in ((1, 0.072), (3, 0.009)):
        model = blade(IN_PLANE, cells=cells)
        tip = model.mesh.place("u1")
        ours, theirs = (u[tip, 1].mean() for u in (solved(model), displacement(model, PYFE3D)))
        assert ours == pytest.approx(exact, rel=0.01)
        assert 1 - theirs / ours == pytest.approx(apart, abs=0.004)


@pytest.mark.parametrize("kind", BOTH)
def test_tension_by_the_closed_form(kind):
    """F L/(EA) = 0.004, less what the clamp holds back of the contraction across (0.4 %). The mean
    of the end agrees in all; what differs beside it are the corners, where the edge load's couples
    meet other drilling freedoms."""
    model = blade(ALONG, kind)
    tip = model.mesh.place("u1")
    ours = solved(model)[tip, 0].mean()
    assert ours == pytest.approx(0.004, rel=0.005)
    for peer in TRIANGLES.values():
        assert displacement(model, *peer)[tip, 0].mean() == pytest.approx(ours, rel=0.006)


@pytest.mark.parametrize("kind", BOTH)
def test_scordelis_lo_roof(kind):
    """Published 0.3024; converged with shear deformation 0.3009."""
    model = roof(24, kind)
    corner = model.mesh.place("u1v0")[0]
    ours = solved(model)
    assert -ours[corner, 2] == pytest.approx(0.3024, rel=0.008)
    spread = {"ShellDKGT": 0.006, "ASDShellT3": 0.006, "Tria3DSG": 0.03}
    found = {name: distance(displacement(model, *peer), ours) for name, peer in TRIANGLES.items()}
    assert {name: found[name] for name in spread if found[name] > spread[name]} == {}


def test_panel_with_ribs():
    model = panel(eccentric=False)
    ours = solved(model)
    spread = {"ShellDKGT": 0.002, "ASDShellT3": 0.002, "Tria3DSG": 0.004}
    found = {name: distance(displacement(model, *peer), ours) for name, peer in TRIANGLES.items()}
    assert {name: found[name] for name in spread if found[name] > spread[name]} == {}


@pytest.mark.parametrize("triangle", ["ShellDKGT", "ASDShellT3"])
def test_panel_with_eccentric_ribs(triangle):
    """Ribs that stand on one side of the plate; they make it four times as stiff."""
    model = panel(eccentric=True)
    assert distance(displacement(model, *TRIANGLES[triangle]), solved(model)) < 0.005


@pytest.mark.parametrize("load", [ACROSS, ALONG], ids=["across", "along"])
@pytest.mark.parametrize("angles", [(0, 90), (30, -45, 0), (45, -45)])
def test_laminated_plate_that_couples(angles, load):
    """Unsymmetric laminates in pyfe3d: stretching bends, bending twists."""
    wall = fea.Laminate(PLY, angles, 3.0 / len(angles))
    model = blade(load, cells=2, wall=wall)
    assert distance(displacement(model, PYFE3D), solved(model)) < 0.006
