# SPDX-License-Identifier: MIT
"""Failure of plies: Kaw A K, Mechanics of Composite Materials, 2nd ed., 2006, sections 2.8 and 5.3.

Graphite/epoxy, E1 = 181, E2 = 10.3, G12 = 7.17 GPa, ν12 = 0.28; strengths 1500, 1500, 40, 246 and
68 MPa. A ply at 60° under σx = 2 S, σy = -3 S, τxy = 4 S; and the first ply of [0/90/0], plies of
5 mm, to fail under Nx. The printed numbers are given from memory; each follows by hand from the
stress in the ply. His Tsai-Hill is the one with different strengths in tension and compression.
"""

import numpy as np
import pytest

import fea
from fea.material.criteria import PlyStrength, maximum_stress, tsai_hill, tsai_wu
from fea.material.laminate import Laminate

pytestmark = pytest.mark.source("Kaw 2006")

T300 = fea.Ply(e1=181e3, e2=10.3e3, nu12=0.28, g12=7.17e3)
STRENGTH = PlyStrength(1500.0, 1500.0, 40.0, 246.0, 68.0)


def turned(stress, angle_deg):
    """Stress x, y, xy in the axes of a ply at that angle."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    turn = np.array([[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s],
                     [-c * s, c * s, c * c - s * s]])  # fmt: skip
    return turn @ stress


@pytest.mark.parametrize(
    ("criterion", "published"), [(maximum_stress, 16.33), (tsai_hill, 16.06), (tsai_wu, 22.39)]
)
def test_a_ply_at_60_degrees(criterion, published):
    """Largest S, MPa: one over the exposure at S = 1 is a factor on the load."""
    stress = turned(np.array([2.0, -3.0, 4.0]), 60.0)
    np.testing.assert_allclose(stress, [1.714, -2.714, -4.165], atol=5e-4)
    assert 1.0 / criterion(stress, STRENGTH) == pytest.approx(published, rel=4e-4)


def cross_ply():
    """Stress (3, 3, 3) in the plies of [0/90/0] under Nx = 1 N/mm, and the strain along x."""
    wall = Laminate(T300, [0.0, 90.0, 0.0], 5.0)
    strain = np.linalg.solve(wall.abd, [1.0, 0, 0, 0, 0, 0])
    return wall.ply_stresses(strain[:3], strain[3:]), strain[0]


def test_the_strain_of_the_cross_ply():
    """Per N/m."""
    assert cross_ply()[1] * 1e-3 == pytest.approx(5.353e-10, rel=2e-4)


@pytest.mark.parametrize(("ply", "published"), [(0, 1.339e7), (1, 7.277e6)])
def test_first_ply_failure_of_the_cross_ply(ply, published):
    """Nx at which a ply fails by Tsai-Wu, N/m: the 90° ply first."""
    stress = cross_ply()[0][ply, 1]
    assert 1e3 / tsai_wu(stress, STRENGTH) == pytest.approx(published, rel=5e-4)
