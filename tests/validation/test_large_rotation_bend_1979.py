# SPDX-License-Identifier: MIT
"""A 45-degree bend under a force across its plane: Bathe K J, Bolourchi S, Int J Numer Methods Eng
1979;14:961-986.

Radius 100, square section of side 1, E = 1e7, ν = 0, eight straight struts, 600 at the tip. The tip
goes to (15.9, 47.2, 53.4) there; Simo J C, Vu-Quoc L, Comput Methods Appl Mech Eng 1986;58:79-116
give 15.79, 47.23, 53.37 with eight elements. Both from memory (confidence high).
"""

import numpy as np
import pytest
from small_models import ALL, chain

import fea


def test_tip_of_the_bend():
    angle = np.linspace(0.0, np.pi / 4, 9)
    points = np.stack([100 * (1 - np.cos(angle)), 100 * np.sin(angle), 0 * angle], axis=1)
    material = fea.Isotropic(youngs_modulus=1e7, poisson_ratio=0.0)
    bar = fea.StrutSection(
        material, area=1.0, i_y=1 / 12, i_z=1 / 12, j=1 / 6, up=(0, 0, 1),
        shear_area_y=5 / 6, shear_area_z=5 / 6,
    )  # fmt: skip
    model = fea.Model(
        chain(points), {"bar": bar}, [fea.Support("root", ALL)],
        {"a": [fea.PointForce("tip", (0.0, 0.0, 600.0))]},
    )  # fmt: skip
    x, y, z = fea.solve_large(model)["a"].points[-1]
    assert x == pytest.approx(15.79, rel=0.01)
    assert y == pytest.approx(47.23, rel=0.005)
    assert z == pytest.approx(53.37, rel=0.005)
