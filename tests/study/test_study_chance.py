# SPDX-License-Identifier: MIT
"""Chances of failure against closed forms, and first order against sampling."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

import fea
from fea.errors import InputError
from fea.study.chance import Scatter, below, chance, chance_text

WALK = fea.read_load_set("walking-envelope")
FOREFOOT = [each for each in WALK.instants if each.name.startswith("under the forefoot")]
LOADS = replace(WALK, instants=FOREFOOT[:1])
SOME = Scatter(body_weight=0.05, load=0.10, wall=0.08, modulus=0.10, strength=0.07)


@pytest.fixture(scope="module")
def result():
    return fea.assess(fea.read_device("ribbed-polypropylene-child"), fea.read_wearer("demo-child"),
                      loads=LOADS, fall=None, step=None, size=20.0)  # fmt: skip


@pytest.fixture(scope="module")
def found(result):
    return chance(result, SOME, samples=24, hardest=1)


def test_interference_of_lognormal_stress_and_strength():
    """z = -ln((mS/ms) √((1+Cs²)/(1+CS²))) / √(ln(1+CS²) + ln(1+Cs²)); shigley-2011."""
    strength, stress, c_strength, c_stress = 32.0, 24.0, 0.08, 0.12
    ratio = strength / stress * math.sqrt((1.0 + c_stress**2) / (1.0 + c_strength**2))
    spread = math.sqrt(math.log1p(c_strength**2) + math.log1p(c_stress**2))
    assert below(1.0, ratio, spread) == pytest.approx(norm.cdf(-math.log(ratio) / spread))
    drawn = np.random.default_rng(3)
    s = math.sqrt(math.log1p(c_strength**2))
    t = math.sqrt(math.log1p(c_stress**2))
    hold = drawn.lognormal(math.log(strength) - s**2 / 2, s, 400_000)
    load = drawn.lognormal(math.log(stress) - t**2 / 2, t, 400_000)
    failed = np.mean(hold < load)
    band = 3.0 * math.sqrt(failed * (1.0 - failed) / 400_000)
    assert below(1.0, ratio, spread) == pytest.approx(failed, abs=band)


def test_normal_stress_and_strength_are_near_where_scatter_is_small():
    """P = Φ(-(mS - ms) / √(σS² + σs²)): the closed form for normal ones."""
    strength, stress, c = 30.0, 28.5, 0.02
    normal = norm.cdf(-(strength - stress) / (c * math.hypot(strength, stress)))
    lognormal = below(1.0, strength / stress, math.sqrt(2.0 * math.log1p(c**2)))
    assert lognormal == pytest.approx(normal, abs=0.001)


def test_loads_and_strength_alone_are_the_closed_form(result):
    only = Scatter(body_weight=0.0, load=0.12, wall=0.0, modulus=0.0, strength=0.08)
    spread = math.sqrt(math.log1p(0.12**2) + math.log1p(0.08**2))
    for one in chance(result, only).chances:
        if one.check.topic != "yield":
            continue
        assert one.deviation == pytest.approx(spread, rel=1e-12)
        assert one.breaks == pytest.approx(norm.cdf(-math.log(one.check.factor) / spread))
        required = one.check.factor / one.check.required
        assert one.misses == pytest.approx(norm.cdf(-math.log(required) / spread))
        assert one.shares["load"] + one.shares["strength"] == pytest.approx(1.0)


def test_first_order_lies_within_what_sampling_says(found):
    one = found.chances[0]
    assert one.sampled is not None and one.sampled.count == 24
    low, high = one.sampled.misses_band
    assert low <= one.sampled.misses <= high and low < high
    slack = 0.25 * (high - low) + 0.1 * one.misses  # curvature is no sampling error
    assert low - slack <= one.misses <= high + slack
    assert all(each.sampled is None for each in found.chances[1:])


def test_more_scatter_of_a_device_that_holds_is_never_safer(result, found):
    more = chance(result, replace(SOME, load=0.2, strength=0.14))
    before = {id(one.check): one for one in found.chances}
    for one in more.chances:
        assert one.deviation > before[id(one.check)].deviation
        if one.check.factor > 1.0:
            assert one.breaks > before[id(one.check)].breaks


def test_every_check_has_a_chance_or_a_reason(result, found):
    known = {id(one.check) for one in found.chances} | {id(one) for one, _ in found.missing}
    assert known == {id(one) for one in result.checks}
    low, high = found.any_breaks
    assert 0.0 <= low <= high <= 1.0
    assert "Not known" in str(found) and "scatters most by" in str(found)


def test_no_scatter_is_certainty():
    assert below(1.0, 1.01, 0.0) == 0.0 and below(1.0, 0.99, 0.0) == 1.0


def test_scatter_and_samples_that_cannot_be_are_refused(result):
    with pytest.raises(InputError, match="scatter of wall is -0.1"):
        replace(SOME, wall=-0.1)
    with pytest.raises(InputError, match="3 samples say nothing"):
        chance(result, SOME, samples=3)


def test_chances_read_as_words():
    assert chance_text(0.5) == "50 %" and chance_text(0.001) == "1 in 1000"
