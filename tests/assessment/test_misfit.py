# SPDX-License-Identifier: MIT
"""What does not fit between device and limb is said, not judged."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

import fea
from fea.device.facing import FOOT_BODY
from fea.limb import Limb
from fea.misfit import misfits
from fea.shipped import shipped_names

LOADS = SimpleNamespace(reactions=())


def fitted(name):
    wearer = fea.read_wearer("demo-adult" if name.endswith("adult") else "demo-child")
    limb = Limb.of(wearer)
    return fea.read_device(name).fit(limb, 16.0), limb


@pytest.mark.parametrize("name", shipped_names("meshes"))
def test_every_shipped_device_holds_the_foot(name):
    assert [each.topic for each in misfits(*fitted(name), LOADS)] == []


def test_a_foot_that_nothing_holds_is_not_checked():
    device, limb = fitted("ribbed-polypropylene-child")
    bare = replace(device, foot_zones=("foot plate", "foot walls"))
    (gap,) = misfits(bare, limb, LOADS)
    assert gap.topic == "hold of the foot"
    assert "comes off; give it a heel or a strap" in gap.because
    (strap,) = device.straps
    assert misfits(replace(bare, straps=(replace(strap, body=FOOT_BODY),)), limb, LOADS) == []
