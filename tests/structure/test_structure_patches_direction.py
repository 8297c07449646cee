# SPDX-License-Identifier: MIT
"""Plies directed cell by cell: a patch goes as far as they turn little from cell to cell."""

import numpy as np
import pytest
from small_models import flat, grid

import fea
from fea.errors import ModelError
from fea.structure.patches import smooth_patches

PLY = fea.Ply(e1=120e3, e2=9e3, nu12=0.3, g12=5e3)
MESH = grid(12, 2, flat(120.0, 20.0))
X = MESH.points[MESH.cells["triangle"]].mean(axis=1)[:, 0]


def patches(angle_deg):
    angle = np.radians(angle_deg)
    along = np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)
    section = fea.ShellSection(fea.Laminate(PLY, [0.0], 2.0), direction=along)
    return smooth_patches(fea.Structure(MESH, {"skin": section}))


def test_plies_that_turn_slowly_are_one_patch():
    assert np.ptp(patches(X)) == 0  # 10 degrees from square to square


def test_plies_that_turn_at_once_are_two():
    found = patches(np.where(X < 60.0, 0.0, 40.0))
    assert len(set(found)) == 2 and set(found[X < 60.0]).isdisjoint(found[X > 60.0])


def test_a_line_has_no_sense():
    assert np.ptp(patches(np.where(X < 60.0, 0.0, 180.0))) == 0


def test_directions_must_fit_the_cells():
    wall = fea.Laminate(PLY, [0.0], 2.0)
    with pytest.raises(ModelError, match=r"shape \(2,\); give \(3,\) or \(c, 3\)"):
        fea.ShellSection(wall, direction=(1.0, 0.0))
    short = fea.ShellSection(wall, direction=np.ones((5, 3)))
    with pytest.raises(ModelError, match="direction has 5 rows for 48 cells"):
        short.directions(48)
