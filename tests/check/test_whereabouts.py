# SPDX-License-Identifier: MIT
"""Places in words: the same words for mirrored places of mirrored legs."""

from dataclasses import replace

import pytest

import fea
from fea.check.whereabouts import Whereabouts
from fea.device.device import Hole
from fea.limb import Limb

# A child's foot of 220 mm, its ankle axis 80 mm above the floor and 55 mm ahead of the heel.
CHILD = Limb.of(fea.Wearer(mass_kg=35, height_mm=1410, side="left"))
LEFT = Whereabouts("left", ankle_height=80.0, heel=-55.0, foot_length=220.0, shank_length=330.0)


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((0.0, 40.0, 85.0), "outer side of the ankle"),
        ((0.0, -40.0, 85.0), "inner side of the ankle"),
        ((30.0, -30.0, 115.0), "front inner side of the ankle"),
        ((-50.0, 2.0, 60.0), "back of the ankle"),
        ((-45.0, 0.0, 200.0), "back of the lower shank"),  # (200 - 80) / 330 = 0.36
        ((40.0, 0.0, 300.0), "front of the calf"),  # 0.67
        ((40.0, 5.0, 370.0), "front of the shank below the knee"),  # 0.88
        ((40.0, 5.0, 420.0), "front of the knee"),  # 1.03
        ((-50.0, 0.0, 10.0), "middle under the heel"),
        ((30.0, -30.0, 10.0), "inner edge under the arch"),  # (30 + 55) / 220 = 0.39
        ((100.0, 50.0, 10.0), "outer edge under the ball of the foot"),  # 0.70
        ((150.0, 0.0, 10.0), "middle under the toes"),  # 0.93
        ((100.0, 50.0, 50.0), "outer side of the ball of the foot"),
    ],
)
def test_a_place_is_named_by_flank_and_part(place, words):
    assert LEFT.region(place) == words
    x, y, z = place
    assert replace(LEFT, side="right").region((x, -y or 0.0, z)) == words


def test_words_find_the_place_again():
    assert LEFT.words((-20.4, -30.0, 85.2)) == (
        "back inner side of the ankle, 20 mm behind the ankle axis, 30 mm to the inner side, "
        "85 mm above the floor")
    assert LEFT.distances((-20.4, 30.0, 85.2)).split(", ")[1] == "30 mm to the outer side"


def test_joints_strap_ends_and_holes_have_words():
    device = fea.read_device("ribbed-polypropylene-child").fit(CHILD, 16.0)
    hole = Hole("drain", "heel", "drain hole", 5.0)
    where = Whereabouts.of(replace(device, holes=(hole,)), CHILD)
    assert where.joints == {"calf strap left": "the strap end “calf strap left”",
                            "calf strap right": "the strap end “calf strap right”",
                            "drain": "the hole “drain”"}
