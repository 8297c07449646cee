# SPDX-License-Identifier: MIT
"""Every mistake in a model gets one readable sentence: value, place, cure."""

import re

import numpy as np
import pytest
from small_models import ALL, STEEL, flat, grid, solve_one

import fea
import fea.errors

BASE = grid(2, 2, flat(10.0, 10.0))
WALL = fea.ShellSection(STEEL, thickness=1.0)
BAR = fea.StrutSection(STEEL, area=1.0, i_y=1.0, i_z=1.0, j=1.0, up=(0, 0, 1))
MIXED = fea.Mesh(
    np.concatenate([BASE.points, [[0, 0, 5], [10, 0, 5.0]]]),
    {"triangle": BASE.cells["triangle"], "line": [[9, 10]]},
    places={**BASE.places, "pin": [9], "two": [9, 10]},
    zones={**BASE.zones, "bar": ("line", [0]), "half": ("triangle", [0, 1, 2])},
)
BOTH = {"skin": WALL, "bar": BAR}
LAMINATE = fea.Laminate(fea.Ply(e1=9e4, e2=8e3, nu12=0.3, g12=4e3), [0, 90], 0.5)


def model(sections=BOTH, supports=(), cases=None, **more):
    return fea.Model(MIXED, sections, supports, {"c": []} if cases is None else cases, **more)


MODEL_ERRORS = {
    "unknown dof": (
        lambda: fea.Support("u0", "ux uw"),
        "support of 'u0': unknown degree of freedom 'uw'; use some of ux uy uz rx ry rz",
    ),
    "no dof": (lambda: fea.Support("u0", " "), "support of 'u0' names no degree of freedom"),
    "support value": (
        lambda: fea.Support("u0", "ux", float("nan")),
        "support of 'u0': value nan is not finite",
    ),
    "tie rule": (
        lambda: fea.Tie("pin", "u0", "glue"),
        "tie of 'pin': rule 'glue' is neither mean nor rigid",
    ),
    "bed sign": (lambda: fea.Bed("skin", None, -1.0), "bed of 'skin': stiffness -1.0 must not be"),
    "bed nan": (lambda: fea.Bed("skin", None, float("nan")), "bed of 'skin': stiffness nan"),
    "bed empty": (lambda: fea.Bed("skin", None, 0.0), "bed of 'skin' has no stiffness; leave it"),
    "hinge axis": (
        lambda: fea.Body("shank", (0, 0, 0), joined_to="foot", axis=(0, 0, 0)),
        "body 'shank': the hinge axis has no direction",
    ),
    "own hinge": (
        lambda: fea.Body("shank", (0, 0, 0), joined_to="shank"),
        "body 'shank' cannot be joined to itself",
    ),
    "no wall": (lambda: fea.ShellSection(STEEL), "an isotropic shell section needs its thickness"),
    "negative wall": (
        lambda: fea.ShellSection(STEEL, thickness=[2.0, -1.0]),
        "wall thickness must be positive everywhere; got -1.0",
    ),
    "nan wall": (
        lambda: fea.ShellSection(STEEL, thickness=float("nan")),
        "wall thickness must be positive everywhere; got not finite",
    ),
    "wall of a laminate": (
        lambda: fea.ShellSection(LAMINATE, thickness=1.0),
        "a laminate brings its own thickness; leave thickness out",
    ),
    "strut area": (
        lambda: fea.StrutSection(STEEL, area=0.0, i_y=1, i_z=1, j=1, up=(0, 0, 1)),
        "strut area must be positive and finite; got 0.0",
    ),
    "strut up": (
        lambda: fea.StrutSection(STEEL, area=1.0, i_y=1, i_z=1, j=1, up=(0, 0, 0)),
        "strut up must be a vector with a length; got (0, 0, 0)",
    ),
    "fibre points": (
        lambda: fea.StrutSection(
            STEEL, area=1.0, i_y=1, i_z=1, j=1, up=(0, 0, 1), fibre_points=[1.0, 2.0]
        ),
        "fibre_points must have shape (p, 2); got (2,)",
    ),
    "no case": (lambda: model(cases={}), "a model needs at least one load case"),
    "uncovered": (
        lambda: model({"skin": WALL}),
        "1 line cells have no section, the first is cell 0; the zones named in sections must "
        "cover each cell once",
    ),
    "covered twice": (
        lambda: model({**BOTH, "half": WALL}),
        "3 triangle cells have more than one section, the first is cell 0",
    ),
    "wrong kind": (
        lambda: model({"skin": BAR, "bar": BAR}),
        "zone 'skin' is made of triangle cells and has a StrutSection; triangles take a "
        "ShellSection, lines a StrutSection",
    ),
    "tie of two nodes": (
        lambda: model(ties=[fea.Tie("two", "u0")]),
        "tie: place 'two' must hold one node",
    ),
    "tie to itself": (
        lambda: model(ties=[fea.Tie("pin", "two")]),
        "tie: 'pin' lies in its own patch 'two'",
    ),
    "bed on struts": (
        lambda: model(beds=[fea.Bed("bar", None, 1.0)]),
        "bed: zone 'bar' must be made of triangles",
    ),
    "bed without body": (
        lambda: model(beds=[fea.Bed("skin", "shank", 1.0)]),
        "bed of 'skin': there is no body 'shank'",
    ),
    "twin bodies": (
        lambda: model(bodies=[fea.Body("foot", (0, 0, 0))] * 2),
        "two bodies have the same name",
    ),
    "body like a place": (
        lambda: model(bodies=[fea.Body("u0", (0, 0, 0))]),
        "body 'u0' has the name of a place; rename one of them",
    ),
    "joined to nobody": (
        lambda: model(bodies=[fea.Body("shank", (0, 0, 0), joined_to="foot")]),
        "body 'shank': there is no body 'foot'",
    ),
}


@pytest.mark.parametrize("mistake", MODEL_ERRORS)
def test_model_errors(mistake):
    make, message = MODEL_ERRORS[mistake]
    with pytest.raises(fea.errors.ModelError, match=re.escape(message)):
        make()


TRIANGLE = [[0, 0, 0], [1, 0, 0], [0, 1, 0]]
MESH_ERRORS = {
    "shape": (lambda: fea.Mesh([[0, 0]], {}), "points must have shape (n, 3); got (1, 2)"),
    "coordinate": (
        lambda: fea.Mesh([[0, 0, 0], [0, float("nan"), 0]], {}),
        "point 1 has a coordinate that is not finite",
    ),
    "quadrilaterals": (
        lambda: fea.Mesh(TRIANGLE, {"quad": [[0, 1, 2, 2]]}),
        "cell kind 'quad' is not supported; split each quadrilateral into two triangles",
    ),
    "linear tetrahedra": (
        lambda: fea.Mesh(TRIANGLE, {"tetra": [[0, 1, 2, 2]]}),
        "cell kind 'tetra' is not supported; add mid-side nodes",
    ),
    "unknown kind": (
        lambda: fea.Mesh(TRIANGLE, {"pentagon": [[0]]}),
        "cell kind 'pentagon' is not supported; use one of triangle, line, tetra10",
    ),
    "node out of range": (
        lambda: fea.Mesh(TRIANGLE, {"triangle": [[0, 1, 3]]}),
        "triangle cell 0 uses node [0, 1, 3], but there are 3 points",
    ),
    "empty place": (
        lambda: fea.Mesh(TRIANGLE, {}, places={"root": []}),
        "place 'root' is empty; give it at least one node, or leave it out",
    ),
    "place out of range": (
        lambda: fea.Mesh(TRIANGLE, {}, places={"root": [7]}),
        "place 'root' names node 7, but there are 3 of them",
    ),
    "zone without cells": (
        lambda: fea.Mesh(TRIANGLE, {}, zones={"skin": ("triangle", [0])}),
        "zone 'skin' is made of triangle cells, but the mesh has none",
    ),
    "zone with a twin": (
        lambda: fea.Mesh(TRIANGLE, {"line": [[0, 1]]}, zones={"bar": ("line", [0, 0])}),
        "zone 'bar' names a cell twice",
    ),
    "unknown place": (
        lambda: model(supports=[fea.Support("heel", "ux")]),
        "unknown place 'heel'; this mesh has 'u0', 'u1'",
    ),
    "unknown zone": (
        lambda: model({"sole": WALL}),
        "unknown zone 'sole'; this mesh has 'skin', 'bar', 'half'",
    ),
    "load on no place": (
        lambda: model(cases={"c": [fea.PointForce("heel", (1, 0, 0))]}),
        "unknown place 'heel'",
    ),
    "load on no edge": (
        lambda: model(cases={"c": [fea.EdgeForce("heel", (1, 0, 0))]}),
        "unknown place 'heel'",
    ),
    "load on no zone": (
        lambda: model(cases={"c": [fea.Pressure("sole", 1.0)]}),
        "unknown zone 'sole'",
    ),
    "patch on no zone": (
        lambda: model(cases={"c": [fea.PatchForce(("sole",), (0, 0, 1), (0, 0, 0), 1.0)]}),
        "unknown zone 'sole'",
    ),
}


@pytest.mark.parametrize("mistake", MESH_ERRORS)
def test_mesh_errors(mistake):
    make, message = MESH_ERRORS[mistake]
    with pytest.raises(fea.errors.MeshError, match=re.escape(message)):
        make()


def refuse(message, mesh, sections, supports=(), loads=()):
    with pytest.raises(fea.errors.ModelError, match=message):
        solve_one(mesh, sections, supports, loads)


def test_thickness_of_another_count():
    refuse(
        "thickness has 3 values for 8 cells",
        BASE,
        {"skin": fea.ShellSection(STEEL, thickness=[1, 2, 3])},
        [fea.Support("u0", ALL)],
    )


def test_direction_along_the_normal_names_zone_and_cell():
    wall = fea.ShellSection(STEEL, thickness=1.0, direction=(0, 0, 2.0))
    refuse(
        r"zone 'skin', cell 0: the material direction \[0.0, 0.0, 2.0\] is normal to the",
        BASE,
        {"skin": wall},
        [fea.Support("u0", ALL)],
    )


def test_a_triangle_without_area_names_its_place():
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [5, 5, 0], [6, 6, 0], [7, 7.0, 0]])
    mesh = fea.Mesh(
        points,
        {"triangle": [[0, 1, 2], [3, 4, 5]]},
        places={"u0": range(6)},
        zones={"skin": ("triangle", [0, 1])},
    )
    refuse(
        r"zone 'skin', cell 1 at \(5, 5, 0\) has no area; remove the cell or merge",
        mesh,
        {"skin": WALL},
        [fea.Support("u0", ALL)],
    )


def test_an_up_vector_along_the_strut_names_zone_and_cell():
    mesh = fea.Mesh(
        [[0, 0, 0], [0, 0, 5]],
        {"line": [[0, 1]]},
        places={"root": [0]},
        zones={"bar": ("line", [0])},
    )
    refuse(
        "zone 'bar', cell 0: the strut has no length, or its up vector",
        mesh,
        {"bar": BAR},
        [fea.Support("root", ALL)],
    )


def test_supports_on_one_node_unite():
    """u0v0 is held by two supports: by both sets of components, once where they agree."""
    supports = [fea.Support("u0", "ux uz ry"), fea.Support("v0", "uy uz rx", 0.0)]
    supports += [fea.Support("u0v0", "rz")]
    solution = solve_one(BASE, {"skin": WALL}, supports, [fea.PointForce("u1v1", (3, 2, 1))])
    corner = BASE.places["u0v0"][0]
    np.testing.assert_array_equal(solution.displacement[corner], 0.0)
    np.testing.assert_array_equal(solution.displacement[BASE.places["u0"]][:, [0, 2, 4]], 0.0)
    np.testing.assert_array_equal(solution.displacement[BASE.places["v0"]][:, [1, 2, 3]], 0.0)
    assert np.abs(solution.displacement[BASE.places["u0"][1], [1, 3]]).min() > 0


def test_supports_that_conflict_name_the_node():
    refuse(
        r"ux of node 0 of zone 'skin' at \(0, 0, 0\) is supported at 0.0 and at 0.1 "
        r"\(support of 'u0v0'\); give one value",
        BASE, {"skin": WALL}, [fea.Support("u0", ALL), fea.Support("u0v0", "ux", 0.1)],
    )  # fmt: skip


def test_a_prescribed_displacement_is_kept_and_has_its_reaction():
    """Stretching a strip of ν = 0 by 0.01: force E A ΔL/L."""
    plain = fea.ShellSection(fea.Isotropic(1000.0, 0.0), thickness=2.0)
    held = [fea.Support("u0", ALL), fea.Support("u1", "ux", 0.01)]
    held += [fea.Support("border", "rz")]  # a pulled edge leaves couples at its corners
    solution = solve_one(BASE, {"skin": plain}, held, [])
    np.testing.assert_allclose(solution.displacement[BASE.places["u1"], 0], 0.01, rtol=1e-14)
    assert solution.reaction("u1")[0] == pytest.approx(1000.0 * 2.0 * 10.0 * 0.001, rel=1e-10)
    assert solution.work == pytest.approx(2 * solution.strain_energy, rel=1e-10)


def read():
    held = [fea.Support("u0", ALL), fea.Support("two", ALL)]
    return solve_one(MIXED, BOTH, held, [fea.PointForce("u1", (1, 1, 1))])


READING = {
    "stress of struts": (
        lambda s: s.stress("bar", "top"),
        "zone 'bar' is made of struts; use strut_forces or fibre_stress there",
    ),
    "strut forces of a shell": (
        lambda s: s.strut_forces("skin"),
        "zone 'skin' is a shell; use stress or section_forces there",
    ),
    "unknown height": (
        lambda s: s.stress("skin", "inside"),
        'at="inside" is unknown; use "top", "middle" or "bottom"',
    ),
    "no fibres": (
        lambda s: s.fibre_stress("bar"),
        "zone 'bar': its section has no fibre_points to report stress at",
    ),
    "plies of a plain wall": (
        lambda s: s.ply_stress("skin"),
        "zone 'skin' is no laminate; use stress(zone, at)",
    ),
}


@pytest.mark.parametrize("mistake", READING)
def test_reading_errors(mistake):
    ask, message = READING[mistake]
    with pytest.raises(fea.errors.ModelError, match=re.escape(message)):
        ask(read())


def test_a_node_without_cells_has_no_displacement():
    mesh = fea.Mesh(
        np.concatenate([BASE.points, [[9, 9, 9.0]]]), BASE.cells, BASE.places, BASE.zones
    )
    solution = solve_one(mesh, {"skin": WALL}, [fea.Support("u0", ALL)], [])
    assert np.isnan(solution.displacement[-1]).all()
    assert np.isfinite(solution.displacement[:-1]).all()
