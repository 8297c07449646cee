# SPDX-License-Identifier: MIT
"""What the rivets of the shipped device with bars carry and leave of its walls, on finer meshes."""

import pytest

import fea
from fea.check.check import governing
from fea.check.factors import read_factors
from fea.check.judgement import judge
from fea.judging import loads_on, worn_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.wearer import read_wearer

CASE = "under the forefoot, pushed laterally"
JOINTS = {"lateral foot rivet 3", "medial foot rivet 1"}


def asked(root, size):
    """Demand without its error by joint and topic."""
    wearer = read_wearer(root / "meshes/wearers/demo-adult.toml")
    limb = Limb.of(wearer)
    device = fea.read_device("aluminium-bars-adult").fit(limb, size)
    loads = loads_on(read_load_set("walking-envelope"), wearer=wearer, limb=limb, device=device)
    loads = loads.only(CASE)
    worn = worn_on(device, limb, loads)[0]
    checks, _ = governing(judge(device, worn.solve(loads.reactions), read_factors()).findings)
    return {(c.zone, c.topic): c.computed for c in checks if c.zone in JOINTS}


@pytest.mark.slow
def test_forces_of_rivets_and_the_stress_under_their_washers_settle(root):
    coarse, fine = asked(root, 12.0), asked(root, 4.0)
    topics = {topic for _, topic in fine}
    assert topics == {"bearing", "shear-out", "pull-through", "net section", "fastener"}
    for key, value in fine.items():
        allowed = 0.12 if key[1] == "net section" else 0.04
        assert coarse[key] == pytest.approx(value, rel=allowed), key
