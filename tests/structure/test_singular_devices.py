# SPDX-License-Identifier: MIT
"""The shipped devices: smooth trim lines are no corners, and the corners there are are found."""

import numpy as np
import pytest

import fea
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.shipped import shipped_names
from fea.structure.realise import realise
from fea.structure.singular import singular_places
from fea.wearer import read_wearer

WITH_BARS = "aluminium-bars-adult"
SIZES = [None, pytest.param(4.0, marks=pytest.mark.slow)]


def fitted(root, name, size):
    wearer = "demo-child" if "child" in name else "demo-adult"
    limb = Limb.of(read_wearer(root / "meshes" / "wearers" / f"{wearer}.toml"))
    return fea.read_device(name).fit(limb, size)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", [name for name in shipped_names("meshes") if name != WITH_BARS])
def test_the_trim_line_of_a_moulded_device_is_smooth(root, name, size):
    assert singular_places(realise(fitted(root, name, size))) == ()


@pytest.mark.parametrize("size", SIZES)
def test_the_device_with_bars_has_its_washers_and_no_corner(root, size):
    device = fitted(root, WITH_BARS, size)
    places = singular_places(realise(device))
    reasons = [place.reason for place in places]
    assert reasons.count("under a washer") == len(device.fastenings) == 12
    assert len(places) == 12
    area, _ = triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])
    left_out = np.any([place.cells for place in places], axis=0)
    assert area[left_out].sum() < 0.15 * area.sum()
