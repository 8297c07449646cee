# SPDX-License-Identifier: MIT
"""The ground reaction on the plate, and pushes on the device: kept whole."""

import numpy as np
import pytest

from fea.device.facing import landmark
from fea.device.reader import read_device
from fea.loadcase.applied import applied_push
from fea.loadcase.instant import Push, StanceInstant
from fea.loadcase.reaction import ground_reaction
from fea.structure.loads import nodal_forces
from fea.structure.realise import ground_load, plate_span, push_loads
from fea.wearer import read_wearer

DEVICE = read_device("ribbed-polypropylene-child-surface")
CHILD = read_wearer("demo-child")  # 35 kg, left
FOOT = 219.0


def resultant(loads, about):
    """Force and moment (6,) about a point of all loads on the device."""
    nodal = sum(nodal_forces(load, DEVICE.mesh) for load in loads)
    arm = DEVICE.mesh.points - about
    moment = nodal[:, 3:] + np.cross(arm, nodal[:, :3])
    return np.concatenate([nodal[:, :3].sum(axis=0), moment.sum(axis=0)])


def test_force_and_twist_of_the_ground_arrive_whole():
    reaction = ground_reaction(
        StanceInstant(name="pivot", percent=None, fz_bw=1.0, fx_bw=0.1, cop=0.5,
                      free_moment_nm_per_kg=0.3),
        wearer=CHILD, ankle=landmark(DEVICE, "ankle_axis"), foot_length=FOOT,
        plate_span=plate_span(DEVICE),
    )  # fmt: skip
    # 35 kg x 9.80665 m/s2; 0.3 N·m/kg x 35 kg, toes in on a left foot: clockwise from above.
    wanted = [34.323, 0.0, 343.233, 0.0, 0.0, -10500.0]
    found = resultant([ground_load(DEVICE, reaction)], reaction.cop)
    np.testing.assert_allclose(found, wanted, atol=1e-3)


def push(**given):
    return applied_push(
        Push(name="pressed", zones=("front piece",), fx_bw=-0.5, fy_bw=0.1, **given),
        wearer=CHILD, foot_length=FOOT, zones=DEVICE.mesh.zones, landmarks=DEVICE.landmarks,
    )  # fmt: skip


def test_a_push_at_a_landmark_passes_through_it():
    crest = np.asarray(DEVICE.landmarks["tibial_crest"])
    found = resultant(push_loads(DEVICE, push(landmark="tibial_crest")), crest)
    # Half of the weight backward, a tenth medially, which is to the right on a left leg.
    np.testing.assert_allclose(found, [-171.617, -34.323, 0, 0, 0, 0], atol=1e-3)


def test_a_push_on_a_zone_is_even():
    (load,) = push_loads(DEVICE, push())
    assert resultant([load], np.zeros(3))[:3] == pytest.approx([-171.617, -34.323, 0], abs=1e-3)
    assert load.zone == "front piece" and load.traction[0] == pytest.approx(5 * load.traction[1])
