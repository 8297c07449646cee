# SPDX-License-Identifier: MIT
"""The largest body mass: the search by itself, and on a device, where loads scale."""

import math
from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.check.check import Check, NotChecked
from fea.errors import InputError
from fea.judging import loads_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.study.mass import (
    HEAVIEST,
    LIGHTEST,
    STEP,
    TRIALS,
    LargestMass,
    Trial,
    bracket,
    largest_mass,
    next_mass,
)

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
GAP = NotChecked(topic="life", zone="device", because="not computed")


def trial(mass, utilisation, refused=""):
    check = Check(topic="yield", zone="upright", case="push-off", place=(1.0, 2.0, 3.0),
                  demand=utilisation, capacity=1.0, unit="1", required=1.0, basis="", sources=())
    return Trial(mass, () if refused else (check,), (GAP,), refused)


def search(share, start):
    """Run the search on a utilisation that is a function of the mass."""
    trials = [trial(start, share(start))]
    while len(trials) <= TRIALS and (mass := next_mass(trials)) is not None:
        assert mass == STEP * round(mass / STEP) and LIGHTEST <= mass <= HEAVIEST
        trials.append(trial(mass, share(mass)))
    return trials


@pytest.mark.parametrize("start", [35.0, 33.3, 90.0])
@pytest.mark.parametrize("limit", [12.3, 41.7, 60.0, 120.2])
def test_where_loads_scale_three_trials_prove_the_answer(start, limit):
    trials = search(lambda mass: mass / limit, start)
    lower, upper = bracket(trials)
    assert lower.met and not upper.met and upper.mass_kg - lower.mass_kg <= STEP
    assert lower.mass_kg <= limit < upper.mass_kg
    assert len(trials) <= 4  # the wearer's own, the answer, the next heavier; a tie costs one


def test_a_share_that_stops_growing_is_followed_down():
    # A plate bent by an angle: the ground's moment limits it below 20 kg only.
    trials = search(lambda mass: min(2.5, 2.5 * mass / 20.0), 35.0)
    lower, upper = bracket(trials)
    assert (lower.mass_kg, upper.mass_kg) == (8.0, 8.5) and len(trials) <= 7


def test_a_share_that_never_falls_below_one():
    lower, upper = bracket(search(lambda mass: 1.5, 35.0))
    assert lower is None and upper.mass_kg == LIGHTEST
    said = LargestMass("walk", 35.0, lower, upper, ()).sentence
    assert said.startswith(
        "Under this load set only (walk), every check is met at no body mass down to 2 kg: ")


def test_a_share_that_never_reaches_one():
    for share in (lambda mass: 0.4, lambda mass: 0.0):
        lower, upper = bracket(search(share, 35.0))
        assert upper is None and lower.mass_kg == HEAVIEST


def test_a_refused_trial_is_not_met_and_the_search_goes_lighter():
    trials = [trial(35.0, 0.1), trial(200.0, 0.0, refused="would turn the ankle by 73°")]
    assert not trials[-1].met and math.isinf(trials[-1].utilisation)
    assert 35.0 < next_mass(trials) < 200.0


def test_the_lightest_failure_counts():
    trials = [trial(30.0, 0.9), trial(40.0, 1.1), trial(50.0, 0.8)]
    lower, upper = bracket(trials)
    assert (lower.mass_kg, upper.mass_kg) == (30.0, 40.0)


def test_the_sentence_never_says_that_the_device_holds():
    said = LargestMass("walk", 35.0, trial(40.0, 0.99), trial(40.5, 1.003), ()).sentence
    assert said == (
        "Under this load set only (walk), every check that was made is met up to a body mass of "
        "40 kg; at 40.5 kg yield of the upright at (1, 2, 3) mm is at 100.3 % of what is allowed, "
        "factor 0.99 where 1.00 is required (push-off); 1 thing was not checked, so this is no "
        "proof that the device holds."
    )


@pytest.fixture(scope="module")
def ribbed():
    """The ribbed device, coarse, under three cases of the envelope."""
    load_set = read_load_set("walking-envelope")
    load_set = replace(load_set, instants=load_set.instants[-3:])
    device = fea.read_device("ribbed-polypropylene-child")
    return fea.assess(device, CHILD, loads=load_set, step=None, size=16.0)


def test_loads_of_a_heavier_wearer_on_the_same_limb(ribbed):
    for name in ("walking-envelope", "turning", "sitting", "toe-bend"):
        load_set = read_load_set(name)
        light, heavy = (
            loads_on(load_set, wearer=replace(CHILD, mass_kg=mass), limb=ribbed.limb,
                     device=ribbed.device)
            for mass in (30.0, 42.0)
        )  # fmt: skip
        scaled = light.times(42.0 / 30.0)
        for mine, theirs in zip(scaled.reactions, heavy.reactions, strict=True):
            np.testing.assert_allclose(mine.force, theirs.force, rtol=1e-12)
            np.testing.assert_allclose(mine.cop, theirs.cop, atol=1e-9)
            assert mine.dorsiflexing_moment == pytest.approx(theirs.dorsiflexing_moment)
            assert mine.free_moment == pytest.approx(theirs.free_moment)
        for mine, theirs in zip(scaled.pushes, heavy.pushes, strict=True):
            np.testing.assert_allclose(mine.force, theirs.force, rtol=1e-12)
        for mine, theirs in zip(scaled.bends, heavy.bends, strict=True):
            assert mine.largest_moment == pytest.approx(theirs.largest_moment)
            assert mine.angle == theirs.angle


def test_every_factor_of_a_device_falls_with_one_over_the_mass(ribbed):
    found = largest_mass(ribbed)
    assert len(found.trials) <= 4 and found.lower.met and not found.upper.met
    assert found.upper.mass_kg - found.lower.mass_kg <= STEP
    own = {(c.topic, c.zone, c.horizon): c for c in found.trials[0].checks}
    for other in found.trials[1:]:
        ratio = other.mass_kg / CHILD.mass_kg
        for check in other.checks:
            mine = own[check.topic, check.zone, check.horizon].utilisation
            # Contact is without gaps and straps without slack, so all is in proportion.
            assert check.utilisation == pytest.approx(ratio * mine, rel=2e-4), check.topic
    assert {gap.topic for gap in found.not_checked} >= {"life at another body mass"}
    assert "no proof that the device holds" in str(found)


def test_a_soft_plate_bent_by_an_angle_asks_for_a_much_lighter_wearer():
    device = fea.read_device("bare-two-upright-polypropylene-child")
    bent = fea.assess(device, CHILD, loads="toe-bend", fall=None, step=None, size=16.0)
    found = largest_mass(bent)
    heavy, light = found.trials[0], found.lower
    assert heavy.utilisation > 3.0 and light.mass_kg < CHILD.mass_kg / 3.0
    same = fea.sensitivity(bent).responses[0]
    assert same.factor == pytest.approx(heavy.checks[0].factor)  # the whole angle is reached


def test_cycles_give_no_largest_mass(ribbed):
    cyclic = replace(ribbed, load_set=read_load_set("borrowed-cyclic"))
    with pytest.raises(InputError, match="is not judged for strength"):
        largest_mass(cyclic)


def responses(result, quantity):
    found = fea.sensitivity(result)
    return [each for each in found.responses if each.quantity == quantity]


def test_the_factor_answers_to_the_loads(ribbed):
    more, less = responses(ribbed, "load factor")
    assert more.relative == pytest.approx(1.0 / 1.05 - 1.0, abs=1e-6)
    assert less.relative == pytest.approx(1.0 / 0.95 - 1.0, abs=1e-6)
    ahead, behind = responses(ribbed, "centre of pressure")
    assert ahead.factor is None or ahead.relative < 0.0
    assert behind.relative > 0.0  # a forefoot case: the lever falls
    for each in responses(ribbed, "heel-sole difference"):
        assert each.relative == 0.0 and "no stress does" in each.note
        assert "left to the knee" in each.note


def test_a_shoe_changes_stress_only_where_a_case_asks_how_the_shank_stands():
    crouch = read_load_set("crouch")
    crouch = replace(crouch, instants=crouch.instants[:1])
    held = crouch.changed({"shank_angle_deg": "device"})
    device = fea.read_device("ribbed-polypropylene-child").fit(Limb.of(CHILD), 16.0)
    device = replace(device, sole=replace(device.sole, ankle_set_deg=12.0))
    higher, lower = responses(
        fea.assess(device, CHILD, loads=held, step=None), "heel-sole difference"
    )
    # A higher heel leans the shank: the push that unloads the knee moves ahead, the device works.
    assert higher.relative < -0.01 < 0.01 < lower.relative
    assert "in this case, the loads" in higher.note
