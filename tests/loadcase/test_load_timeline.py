# SPDX-License-Identifier: MIT
"""Instants between those of a set: true to the published curves, and never where they would not be.

Schwartz M H, Rozumalski A, Trost J P. J Biomech 2008;41:1639-1650: mean curves of children at free
speed, every 2 % of the cycle. The shipped step holds nine instants of them.
"""

from dataclasses import replace

import numpy as np
import pytest

from fea.loadcase.gait import children_gait, foot_cop, foot_pitch, shank_angle
from fea.loadcase.instant import StanceInstant
from fea.loadcase.reader import read_load_set
from fea.loadcase.timeline import INSTANTS, through_stance, timed


@pytest.fixture(scope="module")
def step():
    return through_stance(read_load_set("typical-step"))


def test_stance_has_25_instants_and_keeps_those_of_the_set(step):
    own = read_load_set("typical-step").instants
    assert len(timed(step.instants)) >= INSTANTS
    assert all(instant in step.instants for instant in own)
    times = [instant.percent for instant in step.instants]
    assert times == sorted(times)
    assert len({instant.name for instant in step.instants}) == len(step.instants)


def test_interpolated_instants_follow_the_published_curves(step):
    """Largest gaps measured: 0.045 body weights and 0.012 foot lengths at 16 %, for the first peak,
    at 14 %, lies between two instants of the set; 0.011 body weights; 0.30 and 0.26 degrees.
    """
    curve = timed(step.instants)
    true = children_gait()["free"].at([instant.percent for instant in curve])

    def gap(name, values):
        return np.abs([getattr(instant, name) for instant in curve] - values).max()

    assert gap("fz_bw", true.fz_bw) < 0.05
    assert gap("fx_bw", true.fx_bw) < 0.015
    assert gap("cop", foot_cop(true)) < 0.015
    assert gap("pitch_deg", np.degrees(foot_pitch(true))) < 0.4
    assert gap("shank_angle_deg", np.degrees(shank_angle(true))) < 0.4


def test_the_shank_angles_of_the_shipped_step_are_those_recovered_from_the_curves():
    own = timed(read_load_set("typical-step").instants)
    recovered = np.degrees(shank_angle(children_gait()["free"].at([i.percent for i in own])))
    assert [i.shank_angle_deg for i in own] == pytest.approx(recovered, abs=0.06)


def test_a_curve_never_swings_beyond_its_neighbours(step):
    own = timed(read_load_set("typical-step").instants)
    for instant in timed(step.instants):
        before = max((i for i in own if i.percent <= instant.percent), key=lambda i: i.percent)
        after = min((i for i in own if i.percent >= instant.percent), key=lambda i: i.percent)
        for name in ("fz_bw", "fx_bw", "cop", "pitch_deg"):
            low, high = sorted((getattr(before, name), getattr(after, name)))
            assert low - 1e-12 <= getattr(instant, name) <= high + 1e-12


def test_what_was_interpolated_says_so(step):
    own = read_load_set("typical-step").instants
    between = [instant for instant in step.instants if instant not in own]
    assert f"{len(between)} of the {len(step.instants)} instants" in step.note
    for instant in between:
        assert all(origin.status == "derived" for origin in instant.provenance.values())
        assert "interpolated" in instant.provenance["cop"].note


def test_an_instant_beside_the_curve_stays_beside_it(step):
    held = [instant for instant in step.instants if instant.cop == "heel-edge"]
    assert len(held) == 1
    assert held[0] not in timed(step.instants)


@pytest.mark.parametrize("name", ["typical-step-adult", "walking-envelope", "crouch"])
def test_no_curve_is_drawn_where_instants_lie_far_apart_or_have_no_time(name):
    load_set = read_load_set(name)
    assert through_stance(load_set) is load_set


def test_a_measured_step_has_its_25_instants_already():
    load_set = read_load_set("example-laboratory")
    assert through_stance(load_set) is load_set


def test_a_step_given_by_moments_is_interpolated_in_moments():
    loads = {"fz_bw": 1.0, "fx_bw": 0.0, "shank_angle_deg": "device"}
    instants = tuple(
        StanceInstant(name=f"{t}", percent=float(t), moment_nm_per_kg=t / 10.0, **loads)
        for t in (10, 20, 30)
    )
    load_set = replace(read_load_set("typical-step"), instants=instants)
    found = through_stance(load_set).instants
    assert len(found) >= INSTANTS
    assert [i.moment_nm_per_kg for i in found] == pytest.approx([i.percent / 10.0 for i in found])
    assert {i.cop for i in found} == {None}
    assert {i.shank_angle_deg for i in found} == {"device"}
