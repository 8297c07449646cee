# SPDX-License-Identifier: MIT
"""Pushes, toe bends and the angle in which a device holds the shank, by hand."""

import math

import numpy as np
import pytest

from fea.device.device import Sole
from fea.errors import LoadError
from fea.loadcase.applied import applied_push, plate_bend
from fea.loadcase.instant import Push, ToeBend
from fea.loadcase.shank import shank_to_vertical
from fea.wearer import Wearer

CHILD = Wearer(mass_kg=40.0, height_mm=1439.0, side="left")
ADULT = Wearer(mass_kg=80.0, height_mm=1700.0, side="right")
LANDMARKS = {"tibial_crest": (27.0, 0.0, 320.0)}
BEND = ToeBend(name="toes", angle_deg=30.0, held_to=0.65, turned_from=0.85, fz_bw=1.0)


def push(wearer=CHILD, **given):
    case = Push(**{"name": "a push", "zones": ("front piece",), "fx_bw": -0.5, **given})
    return applied_push(case, wearer=wearer, foot_length=220.0, zones=("heel", "front piece"),
                        landmarks=LANDMARKS)  # fmt: skip


def bend(case=BEND, end=165.0):
    return plate_bend(case, wearer=CHILD, ankle=(0.0, 0.0, 57.0), foot_length=220.0,
                      plate_span=(-55.0, end))  # fmt: skip


def test_a_push_is_scaled_by_body_weight_and_medial_by_side():
    # 40 kg weigh 392.266 N. Medial is -y on a left limb and +y on a right one.
    np.testing.assert_allclose(push(fy_bw=0.1, fz_bw=-0.2).force, [-196.133, -39.2266, -78.4532])
    np.testing.assert_allclose(push(ADULT, fy_bw=0.1).force, [-392.266, 78.4532, 0.0])
    assert push().at is None
    assert "196 N on front piece (-196 N forward, +0 N medial, +0 N up)" in push().description


def test_a_push_at_a_landmark_passes_it():
    found = push(landmark="tibial_crest", patch_half_length=0.06)
    np.testing.assert_allclose(found.at, LANDMARKS["tibial_crest"])
    assert found.patch_half_length == pytest.approx(13.2)
    assert "at tibial_crest" in found.description


@pytest.mark.parametrize(("given", "words"), [
    ({"zones": ("shell",)}, "no zone 'shell'; it has heel, front piece: name one"),
    ({"landmark": "knee"}, "no landmark 'knee'; it has tibial_crest: name one"),
])  # fmt: skip
def test_a_push_on_what_the_device_has_not_is_refused(given, words):
    with pytest.raises(LoadError, match=words):
        push(**given)


def test_a_bend_by_hand():
    # Heel edge at -55 mm: held to -55 + 0.65 * 220 = 88 mm, turned from 132 mm, crease at 110 mm.
    found = bend()
    assert (found.held_to, found.turned_from) == pytest.approx((88.0, 132.0))
    # The ground's push at the end: 392.266 N * (165 - 110) mm.
    assert found.largest_moment == pytest.approx(392.266 * 55.0)
    assert found.angle == pytest.approx(math.radians(30.0))


def test_the_front_of_the_plate_turns_toes_up_about_the_crease():
    x, z = (0.0, 88.0, 110.0, 132.0, 160.0), (20.0, 20.0, 22.0, 22.0, 27.0)
    points = np.column_stack([x, (0.0, 5.0, -5.0, 0.0, 9.0), z])
    motion = bend().motion(points)
    assert motion.held.tolist() == [True, True, False, False, False]
    assert motion.turned.tolist() == [False, False, False, True, True]
    np.testing.assert_allclose(motion.crease, [110.0, 0.0, 22.0])
    turn = math.radians(30.0)
    # The tip, 50 mm ahead of the crease and 5 mm above it: up by 50 turn, back by 5 turn.
    np.testing.assert_allclose(motion.displacement[4], [-5 * turn, 0, 50 * turn, 0, -turn, 0])
    np.testing.assert_allclose(motion.displacement[3], [0, 0, 22 * turn, 0, -turn, 0], atol=1e-12)
    assert not motion.displacement[:3].any()


def test_the_motion_is_the_end_of_an_evenly_bent_strip():
    """Deflection and slope of a cantilever under a moment only: θ L / 2 and θ at its end."""
    found = bend()
    tip = found.motion([[80.0, 0, 20], [100.0, 0, 20], [132.0, 0, 20]]).displacement[2]
    length = found.turned_from - found.held_to
    assert tip[2] == pytest.approx(0.5 * found.angle * length)
    assert tip[4] == pytest.approx(-found.angle)


def test_a_stiff_plate_bends_only_as_far_as_the_ground_presses():
    found = bend()
    assert found.share(2.0 * found.largest_moment) == pytest.approx(0.5)
    assert found.share(-4.0 * found.largest_moment) == pytest.approx(0.25)
    assert found.share(0.1 * found.largest_moment) == found.share(0.0) == 1.0


def test_a_plate_without_toes_or_nodes_is_refused():
    with pytest.raises(LoadError, match="plate ends at x = 130 mm.*lengthen the plate"):
        bend(end=130.0)
    with pytest.raises(LoadError, match="no node of the plate is left.*mesh the plate finer"):
        bend().motion([[0.0, 0, 20], [150.0, 0, 20]])
    with pytest.raises(LoadError, match="no node of the plate is turned"):
        bend().motion([[0.0, 0, 20], [100.0, 0, 20]])


@pytest.mark.parametrize(("difference", "set_deg", "angle"), [
    (0.0, 0.0, 0.0),
    (0.0, -6.0, -6.0),  # equinus in a flat shoe leans the shank back
    (15.0, 0.0, 4.764),  # arctan(15 / 180)
    (15.0, -5.0, -0.236),  # what seems equinus stands nearly upright in this shoe
    (20.0, 5.0, 11.340),
])  # fmt: skip
def test_shank_to_vertical_by_hand(difference, set_deg, angle):
    sole = Sole(height=14.0, heel_sole_difference=difference, ankle_set_deg=set_deg)
    assert math.degrees(shank_to_vertical(sole, 180.0)) == pytest.approx(angle, abs=1e-3)


def test_a_foot_without_length_is_refused():
    with pytest.raises(LoadError, match="length of 0 mm is no length"):
        shank_to_vertical(Sole(14.0, 8.0, -3.0), 0.0)
