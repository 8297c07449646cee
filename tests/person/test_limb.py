# SPDX-License-Identifier: MIT
"""The limb: landmarks where anatomy puts them, girths as measured, left and right mirrored."""

import numpy as np
import pytest

from fea.limb import Limb
from fea.wearer import Wearer

CHILD = {"mass_kg": 35.0, "height_mm": 1410.0}
ADULT = {"mass_kg": 75.0, "height_mm": 1720.0}


@pytest.fixture(params=[(CHILD, "left"), (ADULT, "right")], ids=["child", "adult"])
def limb(request):
    measures, side = request.param
    return Limb.of(Wearer(**measures, side=side))


def girth(limb, height):
    loop = limb.shank_point(np.linspace(-np.pi, np.pi, 721), height)
    return np.linalg.norm(np.diff(loop, axis=0), axis=1).sum()


def test_the_heel_lies_a_quarter_of_the_foot_behind_the_ankle_axis(limb):
    assert limb.landmarks["heel"] == pytest.approx([-0.25 * limb.foot_length, 0, 0])
    assert limb.landmarks["toe"] - limb.landmarks["heel"] == pytest.approx([limb.foot_length, 0, 0])
    ball = limb.landmarks["ball"] - limb.landmarks["heel"]
    assert ball[0] == pytest.approx(limb.measures["ball_length_mm"])


def test_measured_girths_are_met_within_two_percent(limb):
    ankle = min(girth(limb, height) for height in limb.shank_height(np.linspace(0.08, 0.3, 12)))
    calf = max(girth(limb, height) for height in limb.shank_height(np.linspace(0.5, 0.9, 21)))
    assert ankle == pytest.approx(limb.measures["ankle_circumference_mm"], rel=0.02)
    assert calf == pytest.approx(limb.measures["calf_circumference_mm"], rel=0.02)


def test_the_malleoli_stand_as_far_apart_as_measured(limb):
    for part, turn in (("medial", limb.sign("medial")), ("lateral", limb.sign("lateral"))):
        tip = limb.landmarks[f"{part}_malleolus"]
        turns = turn * np.linspace(0.0, np.pi, 361)
        skin = limb.shank_point(turns, tip[2])
        reach = np.abs(skin[:, 1]).max()
        assert reach == pytest.approx(0.5 * limb.measures["ankle_breadth_mm"], abs=0.8)


def test_the_crest_is_in_front_and_the_calf_behind(limb):
    crest = limb.landmarks["tibial_crest"]
    assert crest[0] > 0.0
    assert crest[1] == pytest.approx(0.0, abs=1e-9)
    assert limb.posterior(limb.shank_height(0.7)) < limb.posterior(limb.shank_height(0.2))


def test_clearance_is_a_distance_from_the_skin(limb):
    height = limb.shank_height(0.6)
    turns = np.linspace(-np.pi, np.pi, 73)
    away = limb.shank_point(turns, height, clearance=5.0)
    skin = limb.shank_point(np.linspace(-np.pi, np.pi, 2001), height)
    nearest = np.linalg.norm(away[:, None] - skin[None], axis=2).min(axis=1)
    assert nearest == pytest.approx(np.full(73, 5.0), abs=0.05)


def test_the_right_limb_mirrors_the_left():
    left, right = (Limb.of(Wearer(**CHILD, side=side)) for side in ("left", "right"))
    for name, point in left.landmarks.items():
        assert right.landmarks[name] == pytest.approx(point * [1, -1, 1])
    assert left.landmarks["lateral_malleolus"][1] > 0.0


def test_the_pose_turns_the_shank_about_the_ankle_axis_and_leaves_the_sole(limb):
    knee = limb.landmarks["knee_centre"]
    posed = limb.pose(knee, lift=12.0, ankle_set_deg=-10.0)
    length = limb.shank_length
    expected = [
        -length * np.sin(np.radians(10)),
        0,
        limb.ankle_height + 12.0 + length * np.cos(np.radians(10)),
    ]
    assert posed == pytest.approx(expected)
    assert limb.pose(limb.landmarks["ball"], 12.0, -10.0) == pytest.approx(
        limb.landmarks["ball"] + [0, 0, 12.0]
    )


def test_a_sprung_measure_moves_what_it_measures():
    wide = Limb.of(Wearer(**CHILD, side="left", calf_circumference_mm=330.0))
    assert girth(wide, wide.shank_height(0.7)) == pytest.approx(330.0, rel=0.02)
