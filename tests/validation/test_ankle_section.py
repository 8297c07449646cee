# SPDX-License-Identifier: MIT
"""Two uprights at the ankle by hand (Euler–Bernoulli): what a bench calculation gives.

Two bars of 4 x 25 mm, edgewise, carry M = 49.04 N·m (a 40 kg child): Z = 2 · 4 · 25²/6 = 833 mm³,
so σ = M/Z = 58.8 MPa. Over L = 100 mm they turn by M L/(E I), I = 2 · 4 · 25³/12 = 10417 mm⁴:
127 N·m/deg at E = 70 GPa and 2.55 N·m/deg at 1.4 GPa.
"""

import numpy as np
import pytest
from small_models import ALL, at, solve_one

import fea

MOMENT = 49040.0
LENGTH, WIDTH, WALL = 100.0, 25.0, 4.0
LOAD = [fea.PointForce("top", (0, 0, 0), (0, -MOMENT, 0))]  # dorsiflexing, external


def per_degree(solution):
    return MOMENT / 1000 / np.degrees(-at(solution, "top")[4])


@pytest.mark.parametrize(("modulus", "stiffness"), [(70e3, 127.0), (1400.0, 2.55)])
def test_bars(modulus, stiffness):
    mesh = fea.Mesh(
        [[0, -30, 0], [0, -30, LENGTH], [0, 30, 0], [0, 30, LENGTH]],
        {"line": [[0, 1], [2, 3]]},
        places={"sole": [0, 2], "top": [1, 3]},
        zones={"uprights": ("line", [0, 1])},
    )
    material = fea.Isotropic(youngs_modulus=modulus, poisson_ratio=0.33)
    bar = fea.StrutSection.rectangle(material, width=WIDTH, depth=WALL, up=(1, 0, 0))
    solution = solve_one(mesh, {"uprights": bar}, [fea.Support("sole", ALL)], LOAD)
    assert np.abs(solution.fibre_stress("uprights")).max() == pytest.approx(58.8, rel=0.01)
    assert per_degree(solution) == pytest.approx(stiffness, rel=0.01)
    # dorsiflexion leans the top forward and stretches the back of the bars
    assert at(solution, "top")[0] < 0


@pytest.mark.parametrize(("modulus", "stiffness"), [(70e3, 127.0), (1400.0, 2.55)])
def test_shells(modulus, stiffness):
    """The ends are clamped to rigid blocks by ties, so stress is read at half height."""
    across, up = 10, 40
    x, z = np.meshgrid(
        np.linspace(-WIDTH / 2, WIDTH / 2, across + 1),
        np.linspace(0, LENGTH, up + 1),
        indexing="ij",
    )
    one = np.column_stack([x.ravel(), 0 * x.ravel(), z.ravel()])
    i, j = (k.ravel() for k in np.meshgrid(range(across), range(up), indexing="ij"))
    a = i * (up + 1) + j
    b, c, d = a + up + 1, a + up + 2, a + 1
    half = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    points = np.concatenate([one + [0, -30, 0], one + [0, 30, 0], [[0, 0, LENGTH]]])
    mesh = fea.Mesh(
        points,
        {"triangle": np.concatenate([half, half + len(one)])},
        places={
            "sole": np.flatnonzero(points[:, 2] == 0),
            "rim": np.flatnonzero(points[:-1, 2] == LENGTH),
            "top": [len(points) - 1],
        },
        zones={"uprights": ("triangle", np.arange(2 * len(half)))},
    )
    material = fea.Isotropic(youngs_modulus=modulus, poisson_ratio=0.33)
    solution = solve_one(
        mesh,
        {"uprights": fea.ShellSection(material, thickness=WALL)},
        [fea.Support("sole", ALL)],
        LOAD,
        ties=[fea.Tie("top", "rim", "rigid")],
    )
    assert per_degree(solution) == pytest.approx(stiffness, rel=0.03)
    middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    stress = solution.stress("uprights", "middle")[:, 0]  # along z
    row = np.abs(middle[:, 2] - LENGTH / 2) < LENGTH / up
    slope, mean = np.polyfit(middle[row, 0], stress[row], 1)
    assert abs(slope) * WIDTH / 2 == pytest.approx(58.8, rel=0.03)
    assert abs(mean) < 0.5
    largest = np.abs(stress[row]).max()  # the outermost cell means lie inside the edge
    assert 0.9 * 58.8 < largest < 1.03 * 58.8
