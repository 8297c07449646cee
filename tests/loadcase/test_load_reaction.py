# SPDX-License-Identifier: MIT
"""Ground reaction on a device: frames, signs, sides and refusals, against hand calculations."""

import math

import numpy as np
import pytest

from fea.errors import LoadError
from fea.loadcase.frame import cop_ahead, dorsiflexing_moment, into_device_frame
from fea.loadcase.instant import LoadSet, Push, StanceInstant
from fea.loadcase.reaction import ground_reaction, ground_reactions
from fea.wearer import Wearer

CHILD = Wearer(mass_kg=40.0, height_mm=1439.0, side="left")
ANKLE, FOOT, SPAN = (0.0, 0.0, 58.0), 224.0, (-56.0, 168.0)


def react(wearer=CHILD, span=SPAN, ankle=ANKLE, shank_length=None, shank_to_vertical=None, **given):
    plain = {"name": "a push", "percent": 48, "fz_bw": 1.0, "fx_bw": 0.0}
    instant = StanceInstant(**{**plain, **given})
    return ground_reaction(
        instant, wearer=wearer, ankle=ankle, foot_length=FOOT, plate_span=span,
        shank_length=shank_length, shank_to_vertical=shank_to_vertical,
    )  # fmt: skip


def test_flat_foot_by_hand():
    # Fz = 40 kg * 9.80665 = 392.27 N at (0.75 - 0.25) * 224 = 112 mm;
    # Fx = 0.1 Fz = 39.23 N at 58 mm.
    reaction = react(fx_bw=0.1, cop=0.75)
    np.testing.assert_allclose(reaction.force, [39.2266, 0.0, 392.266])
    np.testing.assert_allclose(reaction.cop, [112.0, 0.0, 0.0])
    assert reaction.dorsiflexing_moment == pytest.approx(392.266 * 112.0 + 39.2266 * 58.0)


def test_moment_is_that_of_the_force_about_the_ankle_axis():
    reaction = react(fx_bw=-0.2, cop=0.9, pitch_deg=20.0)
    moment = np.cross(reaction.cop - np.array(ANKLE), reaction.force)
    assert reaction.dorsiflexing_moment == pytest.approx(-moment[1])  # dorsiflexing is -M_y


def test_a_given_moment_is_kept_in_a_pitched_frame():
    for pitch in (-15.0, 0.0, 14.0, 30.0):
        reaction = react(fz_bw=1.075, fx_bw=0.152, moment_nm_per_kg=1.0, pitch_deg=pitch)
        assert reaction.dorsiflexing_moment == pytest.approx(40.0e3)
        assert np.linalg.norm(reaction.force) == pytest.approx(math.hypot(1.075, 0.152) * 392.266)


def test_pitch_turns_a_vertical_force_rearward_along_the_sole():
    # Heel up by 30 deg: the floor's vertical is 0.866 across the sole and 0.5 rearward along it.
    fx, fz = into_device_frame(0.0, 1.0, math.radians(30.0))
    assert (float(fx), float(fz)) == pytest.approx((-0.5, math.sqrt(0.75)))


def test_cop_and_moment_undo_each_other():
    moment = dorsiflexing_moment(-40.0, 400.0, 90.0, 58.0)
    assert float(moment) == 400.0 * 90.0 - 40.0 * 58.0
    assert float(cop_ahead(moment, -40.0, 400.0, 58.0)) == pytest.approx(90.0)


@pytest.mark.parametrize(("side", "sign"), [("left", -1.0), ("right", 1.0)])
def test_medial_is_toward_the_other_leg(side, sign):
    # +y is the wearer's left, so medial of a left limb is -y.
    wearer = Wearer(mass_kg=40.0, height_mm=1439.0, side=side)
    reaction = react(wearer, fy_bw=0.1, cop=0.5, cop_medial_mm=10.0)
    assert reaction.force[1] == pytest.approx(sign * 39.2266)
    assert reaction.cop[1] == pytest.approx(sign * 10.0)


def test_ends_of_the_plate_are_inset_by_half_a_patch():
    # Half a patch is 0.06 * 224 = 13.44 mm.
    assert react(cop="heel-edge").cop[0] == pytest.approx(-56.0 + 13.44)
    assert react(cop="plate-end").cop[0] == pytest.approx(168.0 - 13.44)
    assert react(cop="plate-end").patch_half_length == pytest.approx(13.44)


def test_force_grows_in_proportion_to_mass():
    heavy = Wearer(mass_kg=60.0, height_mm=1439.0, side="left")
    light, strong = react(cop=0.8, fx_bw=0.1), react(heavy, cop=0.8, fx_bw=0.1)
    np.testing.assert_allclose(strong.force, 1.5 * light.force)
    assert strong.dorsiflexing_moment == pytest.approx(1.5 * light.dorsiflexing_moment)


def test_a_cop_farther_ahead_dorsiflexes_more():
    moments = [react(cop=cop).dorsiflexing_moment for cop in (0.1, 0.25, 0.5, 0.75, 0.95)]
    assert moments == sorted(moments) and moments[0] < 0.0 and moments[1] == 0.0


@pytest.mark.parametrize(
    ("given", "place"), [({"cop": 1.1}, "190"), ({"cop": -0.1}, "-78"),
                         ({"moment_nm_per_kg": 1.8}, "184")]
)
def test_a_cop_beyond_the_plate_is_refused(given, place):
    with pytest.raises(LoadError) as caught:
        react(**given)
    message = str(caught.value)
    for word in ("a push", f"{place} mm", "-56 to 168 mm", "lengthen the plate"):
        assert word in message


def test_an_envelope_may_run_to_the_end_of_a_short_plate_and_says_so():
    short = (-56.0, 110.0)
    reaction = react(span=short, cop=0.8, beyond_plate="plate-end")
    assert reaction.cop[0] == pytest.approx(110.0 - 13.44)
    assert "moved to the end of the plate" in reaction.description
    assert "moved" not in react(cop=0.8, beyond_plate="plate-end").description


def test_a_force_that_pulls_on_the_sole_is_refused():
    with pytest.raises(LoadError, match="pulls on the sole"):
        react(fz_bw=0.1, fx_bw=-0.5, cop=0.5, pitch_deg=30.0)


def test_neither_place_nor_moment_is_refused():
    with pytest.raises(LoadError, match="neither cop nor moment_nm_per_kg"):
        react()


def test_ankle_axis_off_the_origin():
    reaction = react(cop=0.5, ankle=(5.0, 2.0, 70.0), fx_bw=0.1)
    assert reaction.cop.tolist() == pytest.approx([5.0 + 56.0, 2.0, 0.0])
    assert reaction.dorsiflexing_moment == pytest.approx(392.266 * 56.0 + 39.2266 * 70.0)


def test_a_free_moment_turns_the_toes_inward_on_either_side():
    # Seen from above, toes in is clockwise (-z) on a left limb, counter-clockwise on a right one.
    right = Wearer(mass_kg=40.0, height_mm=1439.0, side="right")
    for wearer, sign in ((CHILD, -1.0), (right, 1.0)):
        reaction = react(wearer, cop=0.5, free_moment_nm_per_kg=0.3)
        assert reaction.free_moment == pytest.approx(sign * 0.3 * 40.0 * 1e3)
        assert reaction.cop[1] == 0.0
    assert react(cop=0.5).free_moment == 0.0


@pytest.mark.parametrize("pitch_deg", [-12.0, 20.0])
def test_a_free_moment_of_the_floor_is_kept_on_a_pitched_sole(pitch_deg):
    """Force, place and moment about the sole's normal are the same wrench, about any point."""
    given = {"cop": 0.8, "fx_bw": 0.1, "fy_bw": 0.05, "pitch_deg": pitch_deg}
    plain, twisted = react(**given), react(**given, free_moment_nm_per_kg=0.3)
    pitch = math.radians(pitch_deg)
    vertical = np.array([-math.sin(pitch), 0.0, math.cos(pitch)])  # of the floor, device frame
    wanted = np.cross(plain.cop, plain.force) - 0.3 * 40.0e3 * vertical
    found = np.cross(twisted.cop, twisted.force) + [0.0, 0.0, twisted.free_moment]
    np.testing.assert_allclose(found, wanted, atol=1e-6)
    np.testing.assert_allclose(twisted.force, plain.force)


@pytest.mark.parametrize("pitch_deg", [0.0, 12.0])
def test_the_place_that_unloads_the_knee_leaves_it_no_moment(pitch_deg):
    """Moment about the knee by position vectors in the device frame."""
    reaction = react(cop="unload-knee", fx_bw=-0.05, pitch_deg=pitch_deg, shank_angle_deg=20.0,
                     shank_length=340.0)  # fmt: skip
    lean = math.radians(20.0 - pitch_deg)  # of the shank against the sole's normal
    knee = np.array(ANKLE) + 340.0 * np.array([math.sin(lean), 0.0, math.cos(lean)])
    assert np.cross(reaction.cop - knee, reaction.force)[1] == pytest.approx(0.0, abs=1e-6)
    assert reaction.shank_angle == pytest.approx(math.radians(20.0))
    assert reaction.moved_back == 0.0


def test_a_knee_that_no_plate_unloads_is_refused_or_held_to_the_plate():
    crouched = {"cop": "unload-knee", "shank_angle_deg": 30.0, "shank_length": 340.0}
    with pytest.raises(LoadError, match="no plate of this length can take this load"):
        react(**crouched)
    # By hand: 340 sin 30 deg = 170 mm ahead of the ankle; the plate ends at 168, less 13.44.
    held = react(**crouched, beyond_plate="plate-end")
    assert held.cop[0] == pytest.approx(168.0 - 13.44)
    assert held.moved_back == pytest.approx(170.0 - 154.56)


def test_a_shank_that_stands_as_the_device_holds_it():
    held = react(cop=0.5, shank_angle_deg="device", pitch_deg=5.0, shank_to_vertical=0.1)
    assert held.shank_angle == pytest.approx(0.1 + math.radians(5.0))
    assert react(cop=0.5).shank_angle is None
    with pytest.raises(LoadError, match="give shank_to_vertical"):
        react(cop=0.5, shank_angle_deg="device")
    with pytest.raises(LoadError, match="give shank_angle_deg and shank_length"):
        react(cop="unload-knee", shank_angle_deg=20.0)


def test_a_push_is_no_ground_reaction():
    push = Push(name="a knee on the shell", zones=("front piece",), fx_bw=-0.5)
    load_set = LoadSet(name="sit", title="", purpose="verdict", note="", pushes=(push,))
    assert ground_reactions(
        load_set, wearer=CHILD, ankle=ANKLE, foot_length=FOOT, plate_span=SPAN
    ) == ()  # fmt: skip
