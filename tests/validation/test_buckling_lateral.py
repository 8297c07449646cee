# SPDX-License-Identifier: MIT
"""Beams that buckle sideways: Timoshenko S P, Gere J M, Theory of Elastic Stability, 1961, ch. 6.

Narrow rectangle, without warping: even moment M L = π √(B C), cantilever with a tip load
P L² = 4.013 √(B C), held against twist at both ends with a load at midspan P L² = 16.94 √(B C);
B = E I_z sideways, C = G J. I-section under an even moment, free to warp at its ends:
M = (π/L) √(B (C + π² E I_ω/L²)), I_ω = I_z h²/4, J = Σ b t³/3; its web is thick, since the form
takes the section to keep its shape (with half that web we find 1.8 % less). Struts know no
warping: they give the first three forms, an I-section needs shells.
"""

import numpy as np
import pytest
from jitter import BOTH
from small_models import ALL, chain, grid

import fea

YOUNG, LENGTH = 70e3, 400.0
MATERIAL = fea.Isotropic(YOUNG, 0.3)
SHEAR = YOUNG / 2.6
FORK = "uy uz rx"  # held against twist, free to turn sideways and to bend
BAR = fea.StrutSection.rectangle(MATERIAL, width=20.0, depth=1.0, up=(0, 0, 1))
ROOT = np.sqrt(YOUNG * BAR.i_z * SHEAR * BAR.j)


def lowest(model):
    found = fea.buckle(model, "load", 1)
    assert found.proved is True
    return found.factors[0]


@pytest.mark.parametrize(
    ("supports", "loads", "expected"),
    [
        pytest.param(
            [("root", "ux " + FORK), ("tip", FORK)],
            [fea.PointForce("root", (0, 0, 0), (0, 1.0, 0)),
             fea.PointForce("tip", (0, 0, 0), (0, -1.0, 0))],
            np.pi * ROOT / LENGTH, id="even moment"),
        pytest.param(
            [("root", ALL)], [fea.PointForce("tip", (0, 0, -1.0))],
            4.013 * ROOT / LENGTH**2, id="cantilever"),
        pytest.param(
            [("root", "ux " + FORK), ("tip", FORK)], [fea.PointForce("middle", (0, 0, -1.0))],
            16.94 * ROOT / LENGTH**2, id="load at midspan"),
    ],
)  # fmt: skip
def test_bar_of_struts(supports, loads, expected):
    mesh = chain([(x, 0.0, 0.0) for x in np.linspace(0.0, LENGTH, 33)])
    mesh = mesh.with_places({**mesh.places, "middle": [16]})
    held = [fea.Support(place, dofs) for place, dofs in supports]
    found = lowest(fea.Model(mesh, {"bar": BAR}, held, {"load": loads}))
    assert found == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("mesh", BOTH)
def test_upright_strip_of_shell_as_a_cantilever(mesh):
    strip = grid(60, 4, lambda u, v: (LENGTH * u, 0 * u, 20.0 * (v - 0.5)), **BOTH[mesh])
    model = fea.Model(
        strip, {"skin": fea.ShellSection(MATERIAL, thickness=1.0)}, [fea.Support("u0", ALL)],
        {"load": [fea.EdgeForce("u1", (0, 0, -1.0 / 20.0))]},
    )  # fmt: skip
    found = lowest(model)
    assert found == pytest.approx(4.013 * ROOT / LENGTH**2, rel=2e-2)


DEPTH, WIDTH, WEB, FLANGE, SPAN = 100.0, 60.0, 8.0, 6.0, 1500.0


def i_section(along=48, upright=8, across=4):
    """An I of shells along x: nodes by station and by place in the section; web z, flanges y."""
    web = [(0.0, z) for z in np.linspace(-DEPTH / 2, DEPTH / 2, upright + 1)]
    wings = [(y, z) for z in (-DEPTH / 2, DEPTH / 2)
             for y in np.linspace(-WIDTH / 2, WIDTH / 2, across + 1) if y != 0.0]  # fmt: skip
    section = np.array(web + wings)
    rows = [[k, k + 1] for k in range(upright)]
    for start, centre in ((upright + 1, 0), (upright + 1 + across, upright)):
        line = [*range(start, start + across // 2), centre,
                *range(start + across // 2, start + across)]  # fmt: skip
        rows += [list(pair) for pair in zip(line[:-1], line[1:], strict=True)]
    count = len(section)
    x = np.repeat(np.linspace(0.0, SPAN, along + 1), count)
    points = np.column_stack([x, np.tile(section, (along + 1, 1))])
    a = (np.array(rows)[None] + count * np.arange(along)[:, None, None]).reshape(-1, 2)
    quads = np.column_stack([a, a[:, ::-1] + count])
    triangles = quads[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3)
    is_web = np.tile(np.repeat(np.arange(len(rows)) < upright, 2), along)
    ends = {f"{name} {k}": [first + k] for name, first in (("start", 0), ("stop", len(x) - count))
            for k in range(count)}  # fmt: skip
    places = {"ends": [*range(count), *range(len(x) - count, len(x))],
              "middle of web": [upright // 2, len(x) - count + upright // 2],
              "anchor": [upright // 2], **ends}  # fmt: skip
    zones = {"web": ("triangle", np.flatnonzero(is_web)),
             "flange": ("triangle", np.flatnonzero(~is_web))}  # fmt: skip
    return fea.Mesh(points, {"triangle": triangles}, places=places, zones=zones), section


def end_forces(section, upright=8, across=4):
    """Consistent forces of the stress z, on the nodes of the section, and their moment."""
    force = np.zeros(len(section))
    size = DEPTH / upright
    z = section[: upright + 1, 1]
    force[:upright] += WEB * size * (2.0 * z[:-1] + z[1:]) / 6.0
    force[1 : upright + 1] += WEB * size * (z[:-1] + 2.0 * z[1:]) / 6.0
    tip = np.abs(section[:, 0]) == WIDTH / 2
    joint = (section[:, 0] == 0.0) & (np.abs(section[:, 1]) == DEPTH / 2)
    inner = (section[:, 0] != 0.0) & ~tip
    share = np.where(tip, 0.5, np.where(joint | inner, 1.0, 0.0))
    force += share * FLANGE * WIDTH / across * section[:, 1]
    return force, float(force @ section[:, 1])


def test_i_section_of_shells_with_warping():
    mesh, section = i_section()
    force, moment = end_forces(section)
    loads = [
        fea.PointForce(f"{name} {k}", (sign * value / moment, 0, 0))
        for name, sign in (("start", 1.0), ("stop", -1.0))
        for k, value in enumerate(force) if value
    ]  # fmt: skip
    supports = [fea.Support("ends", "uy rx"), fea.Support("middle of web", "uz"),
                fea.Support("anchor", "ux")]  # fmt: skip
    sections = {"web": fea.ShellSection(MATERIAL, thickness=WEB),
                "flange": fea.ShellSection(MATERIAL, thickness=FLANGE)}  # fmt: skip
    found = lowest(fea.Model(mesh, sections, supports, {"load": loads}))
    i_z = 2.0 * FLANGE * WIDTH**3 / 12.0
    torsion = (2.0 * WIDTH * FLANGE**3 + DEPTH * WEB**3) / 3.0
    warping = np.pi**2 * YOUNG * i_z * DEPTH**2 / 4.0 / SPAN**2
    expected = np.pi / SPAN * np.sqrt(YOUNG * i_z * (SHEAR * torsion + warping))
    assert found == pytest.approx(expected, rel=1e-2)
