# SPDX-License-Identifier: MIT
"""Skin pressure against pain: either side of each level.

Levels: Kermavnar T et al. Ergonomics 2020;63:618-628, cuff round the knee: discomfort 13.7 to
30.4 kPa, pain 52.9 to 60.6 kPa (pressure that stays; that comes and goes).
"""

import pytest

from fea.check.pressure import bone_flag, check_pad, hardest_pads
from fea.check.touch import PadReading


def pad(kpa, kind="wall", part="front piece", case="push-off"):
    return PadReading(part, kind, case, kpa / 1000.0, 1.3 * kpa / 1000.0, (30.0, 0.0, 380.0))


@pytest.mark.parametrize(("kpa", "met"), [(52.8, True), (53.0, False), (60.0, False), (0.0, True)])
@pytest.mark.parametrize("kind", ["wall", "bone", "strap"])
def test_required_is_the_lower_level_of_pain(kpa, met, kind):
    check = check_pad(pad(kpa, kind))
    assert (check.topic, check.unit, check.capacity) == ("skin pressure", "kPa", 52.9)
    assert check.met is met
    assert check.factor == pytest.approx(52.9 / kpa if kpa else float("inf"))


def test_discomfort_is_a_flag_and_no_requirement():
    low, high = check_pad(pad(30.3)), check_pad(pad(30.5))
    assert low.met and high.met
    assert low.flag == "" and "flagged" not in low.remarks
    assert "flagged: above 30.4 kPa" in high.remarks


def test_a_held_posture_is_uncomfortable_at_the_lower_level():
    """13.7 kPa of pressure that stays, against 30.4 of pressure that comes and goes; read."""
    low, high = (check_pad(pad(kpa), held=True) for kpa in (13.6, 13.8))
    assert low.flag == "" and "above 13.7 kPa" in high.flag
    assert low.capacity == 52.9 and "the posture is held" in low.basis
    assert check_pad(pad(13.8)).flag == "" and "held" not in check_pad(pad(13.8)).basis


def test_every_check_leaves_the_skin_to_the_eye_and_the_clinician():
    note = check_pad(pad(5.0)).note
    assert "no proof that skin stays whole" in note
    assert "look at the skin" in note
    assert "clinician decides" in note


@pytest.mark.parametrize(("kpa", "flagged"), [(26.4, False), (26.5, True), (60.0, True)])
def test_bone_beyond_half_the_level_is_not_checked(kpa, flagged):
    flag = bone_flag(pad(kpa, "bone", "tibial crest"))
    assert (flag is not None) is flagged
    if flag:
        assert flag.zone == "tibial crest"
        assert "no source" in flag.because
    assert bone_flag(pad(kpa)) is None  # a wall off bone has no such flag


def test_the_hardest_pad_of_each_part_is_kept():
    pads = [pad(10.0, case="a"), pad(12.0, case="b"), pad(3.0, part="strap", kind="strap")]
    assert {part: one.case for part, one in hardest_pads(pads).items()} == {
        "front piece": "b", "strap": "push-off"
    }  # fmt: skip
