# SPDX-License-Identifier: MIT
"""Ground reaction on a device: frames, signs, sides and refusals, against hand calculations."""

import math

import numpy as np
import pytest

from fea.errors import LoadError
from fea.loadcase.frame import cop_ahead, dorsiflexing_moment, into_device_frame
from fea.loadcase.instant import StanceInstant
from fea.loadcase.reaction import ground_reaction
from fea.wearer import Wearer

CHILD = Wearer(mass_kg=40.0, height_mm=1439.0, side="left")
ANKLE, FOOT, SPAN = (0.0, 0.0, 58.0), 224.0, (-56.0, 168.0)


def react(wearer=CHILD, span=SPAN, ankle=ANKLE, **given):
    plain = {"name": "a push", "percent": 48, "fz_bw": 1.0, "fx_bw": 0.0}
    instant = StanceInstant(**{**plain, **given})
    return ground_reaction(
        instant, wearer=wearer, ankle=ankle, foot_length=FOOT, plate_span=span
    )


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
