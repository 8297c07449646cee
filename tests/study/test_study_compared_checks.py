# SPDX-License-Identifier: MIT
"""Checks of two devices side by side, on checks made by hand: what is told, and what never is."""

from dataclasses import replace

import pytest

from fea.check.check import Check, NotChecked
from fea.study.comparedchecks import (
    CREDIT,
    UNKNOWN_SHARE,
    Coarser,
    Side,
    compare_checks,
    compare_gaps,
    losses,
    share,
    share_error,
    unresolved,
)


def check(demand, *, topic="yield", zone="upright", error=1.0, place=(0, 0, 100), **others):
    """Capacity 30 MPa and required 1.5, so that a computed 20 MPa uses all that is allowed."""
    given = {"case": "push", "capacity": 30.0, "unit": "MPa", "required": 1.5, "basis": "",
             "sources": ()}  # fmt: skip
    return Check(topic=topic, zone=zone, demand=demand, error=error, place=place,
                 **(given | others))  # fmt: skip


def side(*checks, gaps=(), parts=None, size=6.0):
    return Side(checks, gaps, {"upright": "plastic"} if parts is None else parts, size)


def gap(topic="yield", zone="upright", because="no strength is known", horizon=None):
    return NotChecked(topic=topic, zone=zone, because=because, horizon=horizon)


def row(before, after, coarser=None):
    (only,) = compare_checks(before, after, coarser)
    return only


def test_the_share_is_that_of_the_computed_value():
    assert share(check(21.0)) == pytest.approx(20.0 * 1.5 / 30.0)
    assert share_error(check(21.0)) == pytest.approx(1.0 * 1.5 / 30.0)
    assert share_error(check(20.0, error=None)) == pytest.approx(UNKNOWN_SHARE)


@pytest.mark.parametrize(("demand", "outcome"), [
    (18.8, "better"),  # computed 17.8 against 20: 2.2 MPa less, where the errors sum to 2
    (19.2, "no difference"),  # 1.8 MPa less
    (22.8, "no difference"),  # 1.8 MPa more
    (23.2, "worse"),
])  # fmt: skip
def test_a_change_is_told_beyond_the_sum_of_both_errors(demand, outcome):
    found = row(side(check(21.0)), side(check(demand)))
    assert found.unresolved == pytest.approx(2.0 * 1.5 / 30.0)
    assert found.outcome == outcome


def test_a_device_against_itself_has_no_difference_even_without_error():
    assert row(side(check(20.0, error=0.0)), side(check(20.0, error=0.0))).outcome == (
        "no difference")  # fmt: skip


def test_the_capacity_counts_as_the_demand_does():
    found = row(side(check(21.0)), side(check(21.0, capacity=60.0)))
    assert found.change == pytest.approx(-0.5)
    assert found.outcome == "better"


def test_a_check_without_estimate_has_an_assumed_error():
    before = side(check(20.0, topic="skin pressure", error=None))
    inside, outside = (side(check(20.0 * f, topic="skin pressure", error=None))
                       for f in (0.83, 0.81))  # 0.1 of both: 0.183 and 0.181  # fmt: skip
    assert row(before, inside).outcome == "no difference"
    assert row(before, outside).outcome == "better"
    assert not row(before, inside).estimated


def test_coarser_cells_that_agree_narrow_the_bound():
    """−12 % here and −11 % on cells 1.5 times as large: 3 · 0.01 / 0.5 = 6 %."""
    fine = side(check(21.0)), side(check(18.6))
    coarse = side(check(20.0), size=9.0), side(check(1.0 + 19.0 * 0.89), size=9.0)
    assert row(*fine).outcome == "better"
    wide = side(check(23.0, error=3.0)), side(check(20.6, error=3.0))  # 20 and 17.6, sum 6
    assert row(*wide).outcome == "no difference"
    found = row(*wide, coarse)
    assert found.unresolved == pytest.approx(max(0.06, CREDIT * 0.3))
    assert found.outcome == "better"


def test_coarser_cells_that_disagree_leave_the_plain_bound():
    assert unresolved(1.0, 0.9, 0.15, Coarser(1.0, 1.1, 1.4)) == pytest.approx(0.15)
    assert unresolved(1.0, 0.9, 0.15, Coarser(1.0, 0.9, 1.4)) == pytest.approx(CREDIT * 0.15)


def test_an_assumed_error_caps_nothing():
    """3 · 0.2 / 0.5 = 1.2, which an estimate would cap and an assumption may not."""
    coarse = Coarser(1.0, 1.1, 1.5)
    assert unresolved(1.0, 0.9, 0.2, coarse, estimated=False) == pytest.approx(1.2)
    assert unresolved(1.0, 0.9, 0.2, coarse) == pytest.approx(0.2)


def test_a_peak_that_moves_with_the_mesh_gets_no_credit():
    fine = side(check(23.0, error=3.0)), side(check(20.6, error=3.0))
    coarse = [side(check(19.0 + 1.0, place=(0, 0, z)), size=9.0) for z in (100, 160)]
    assert row(*fine, tuple(coarse)).unresolved == pytest.approx(0.3)


def test_buckling_belongs_to_the_whole_device():
    common = {"topic": "buckling", "error": None, "capacity": 1.0, "required": 1.0, "unit": "1"}
    before = side(check(0.9, zone="upright", **common), check(0.2, zone="heel", **common))
    found = row(before, side(check(0.5, zone="front", **common)))
    assert (found.zone, found.before.zone, found.after.zone) == ("device", "upright", "front")
    assert found.outcome == "better"


@pytest.mark.parametrize(("lacking", "why", "because"), [
    (side(gaps=[gap()]), "gap", "no strength is known"),
    (side(gaps=[gap(horizon="first fall")]), "gap", "no such check was made"),
    (side(parts={}), "part", "no part “upright” "),
    (side(check(1.0, topic="ply failure"), parts={"upright": "carbon"}), "material",
     "made of carbon, which is judged by other checks"),
    (side(parts={"upright": "carbon"}), "gap", "no such check was made"),
])  # fmt: skip
def test_a_check_of_one_side_says_why_and_is_never_better(lacking, why, because):
    before = next(r for r in compare_checks(lacking, side(check(40.0))) if r.topic == "yield")
    after = next(r for r in compare_checks(side(check(40.0)), lacking) if r.topic == "yield")
    assert (before.outcome, after.outcome) == ("not checked before", "not checked now")
    assert (before.why, after.why) == (why, why)
    assert because in before.because and because in after.because
    assert before.change is None and after.unresolved is None
    assert after.lost == (why == "gap") and not before.lost


def test_what_a_part_within_a_zone_bears_counts_for_the_zone():
    """A strip takes over the hardest place of the upright: the rest of it has not become better."""
    before = side(check(40.0))
    parts = {"upright": "plastic", "strip": "plastic"}
    strip = [check(20.0), check(44.0, zone="strip"), check(9.0, topic="bond", zone="strip")]
    alone = side(*strip, parts=parts)
    within = replace(alone, within={"strip": ("upright",)})
    assert {r.zone: r.outcome for r in compare_checks(before, alone)}["upright"] == "better"
    found = {(r.topic, r.zone): r for r in compare_checks(before, within)}
    assert found["yield", "upright"].outcome == "worse"
    assert found["yield", "upright"].after.zone == "strip"
    assert found["bond", "strip"].why == "part"
    assert ("bond", "upright") not in found
    removed = {r.zone: r for r in compare_checks(within, before)}
    assert removed["upright"].outcome == "better"


def test_a_plastic_that_fails_its_published_life_is_no_new_question():
    """Such a check is named after how it ends: “early cracks” where met, “life” where not."""
    cracks = check(14.0, topic="early cracks", horizon="service life")
    life = check(24.0, topic="life", horizon="service life")
    found = row(side(cracks), side(life))
    assert (found.topic, found.outcome, found.broken) == ("life", "worse", True)
    assert row(side(life), side(cracks)).mended
    other = compare_checks(side(cracks), side(life, parts={"upright": "carbon"}))
    assert {each.topic: each.why for each in other} == {
        "early cracks": "material", "life": "material"}  # fmt: skip


def test_what_is_left_out_of_a_check_that_stays_is_a_loss_too():
    before, after = side(check(19.0)), side(check(10.0), gaps=[gap()])
    gaps = compare_gaps(before, after)
    assert [(one.before, one.after) for one in gaps] == [("", "no strength is known")]
    assert losses(compare_checks(before, after), gaps) == (("yield", "upright"),)


def test_what_is_open_beyond_a_check_that_is_met_at_last_is_no_loss():
    before, after = side(check(90.0)), side(check(10.0), gaps=[gap()])
    assert not before.checks[0].met and after.checks[0].met
    assert losses(compare_checks(before, after), compare_gaps(before, after)) == ()


def test_what_never_was_checked_is_no_loss():
    gaps = compare_gaps(side(gaps=[gap("life")]), side(gaps=[gap("life"), gap("bond", "strip")]))
    assert [bool(one.before) for one in gaps] == [True, False]
    assert losses(compare_checks(side(check(21.0)), side(check(21.0))), gaps) == ()


def test_rows_of_both_stand_first_and_the_hardest_leads():
    before = side(check(10.0), check(25.0, zone="heel"), check(90.0, zone="gone"))
    after = side(check(11.0), check(24.0, zone="heel"), check(80.0, zone="new"))
    zones = [each.zone for each in compare_checks(before, after)]
    assert zones == ["heel", "upright", "gone", "new"]
