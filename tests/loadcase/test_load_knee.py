# SPDX-License-Identifier: MIT
"""The knee: signs, identities, and the published knee moments by another way round."""

import math

import numpy as np
import pytest

import fea.errors
from fea.loadcase.gait import (
    ANKLE_HEIGHT,
    FOOT_LENGTH,
    LEAST_LOAD,
    SAMPLE_HEIGHT,
    SHANK_LENGTH,
    children_gait,
    shank_angle,
)
from fea.loadcase.knee import KneeDemand, cop_to_unload, knee_demand
from fea.units import STANDARD_GRAVITY

CROUCH = {"shank_length": SHANK_LENGTH, "ankle_height": ANKLE_HEIGHT, "foot_length": FOOT_LENGTH}


@pytest.mark.parametrize(
    ("angle_deg", "place"),
    [(25, 0.914), (30, 1.036)],  # by hand: 0.25 + (0.246 / 0.1565) sin s, at 0.1565 of the height
)
def test_crouch_that_a_plate_can_and_cannot_unload(angle_deg, place):
    found = cop_to_unload(
        (0.0, 1.05), shank_angle=math.radians(angle_deg), shank_length=0.246, ankle_height=0.040,
        foot_length=0.1565,
    )  # fmt: skip
    assert found == pytest.approx(place, abs=1e-3)
    assert (found > 1.0) == (angle_deg == 30)  # beyond the toes no device helps, however strong


@pytest.mark.parametrize("pitch_deg", [0.0, 10.0, 25.0])
def test_a_force_at_that_place_leaves_nothing_to_the_knee(pitch_deg):
    """Moment about the knee by position vectors alone, in the floor frame."""
    lean, pitch, force = math.radians(20), math.radians(pitch_deg), np.array([-40.0, 0.0, 350.0])
    length, height, foot = 340.0, 56.0, 220.0
    place = cop_to_unload((force[0], force[2]), shank_angle=lean, shank_length=length,
                          ankle_height=height, foot_length=foot, pitch=pitch)  # fmt: skip
    ahead = (place - 0.25) * foot
    turn = np.array([[math.cos(pitch), 0, math.sin(pitch)], [0, 1, 0],
                     [-math.sin(pitch), 0, math.cos(pitch)]])  # fmt: skip
    cop = turn @ [ahead, 0.0, -height]  # from the ankle
    knee = np.array([length * math.sin(lean), 0.0, length * math.cos(lean)])
    assert np.cross(cop - knee, force)[1] == pytest.approx(0.0, abs=1e-6)


def test_by_position_vectors_the_knee_is_flexed_by_what_is_left():
    lean, force, cop = math.radians(15), np.array([20.0, 0, 400.0]), np.array([90.0, 0, -56.0])
    knee = 330.0 * np.array([math.sin(lean), 0, math.cos(lean)])
    ankle_moment = -np.cross(cop, force)[1]
    demand = knee_demand((20.0, 400.0), shank_angle=lean, shank_length=330.0,
                         ankle_moment=ankle_moment)  # fmt: skip
    assert demand.at_knee == pytest.approx(np.cross(cop - knee, force)[1])


@pytest.mark.parametrize("speed", ["very slow", "slow", "free", "fast", "very fast"])
def test_published_knee_moments_at_five_speeds(speed):
    """Published forces, ankle moments and the shank angle give back the published knee moments.

    Source: schwartz-2008; the shank angle itself was recovered from them, so this holds the two
    formulas against each other, not the data.
    """
    curve = children_gait()[speed]
    loaded = curve.fz_bw > LEAST_LOAD
    lean = shank_angle(curve)
    weight = STANDARD_GRAVITY  # N per kg
    for k in np.flatnonzero(loaded):
        demand = knee_demand(
            (curve.fx_bw[k] * weight, curve.fz_bw[k] * weight), shank_angle=lean[k],
            shank_length=SHANK_LENGTH * SAMPLE_HEIGHT,
            ankle_moment=1e3 * curve.ankle_moment_nm_per_kg[k],
        )  # fmt: skip
        assert demand.at_knee / 1e3 == pytest.approx(curve.knee_moment_nm_per_kg[k], abs=1e-9)


def test_shares():
    demand = KneeDemand(through_ankle=50e3, ankle_moment=40e3, device_share=0.75)
    assert demand.at_knee == 10e3
    assert demand.by_device == 30e3
    assert demand.without_device == 40e3
    assert demand.for_quadriceps == 10e3
    straight = KneeDemand(through_ankle=10e3, ankle_moment=40e3)
    assert straight.at_knee == -30e3 and straight.for_quadriceps == 0.0


def test_more_ankle_moment_leaves_less_to_the_knee():
    left = [
        knee_demand((0.0, 350.0), shank_angle=0.4, shank_length=340.0, ankle_moment=m).at_knee
        for m in (0.0, 2e4, 4e4)
    ]
    assert left == sorted(left, reverse=True)


def test_refusals():
    with pytest.raises(fea.errors.LoadError, match="a share of 1.2 of the ankle moment"):
        knee_demand((0, 1), shank_angle=0, shank_length=1, ankle_moment=0, device_share=1.2)
    with pytest.raises(fea.errors.LoadError, match="pulls on the sole with 1 N"):
        cop_to_unload((0.0, -1.0), shank_angle=0.3, **CROUCH)
