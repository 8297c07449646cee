# SPDX-License-Identifier: MIT
"""Chances of failure against closed forms, and first order against sampling."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm, qmc

import fea
from fea.errors import InputError, SolveError
from fea.study.asking import NoResponseError
from fea.study.chance import Chances, chance, chance_text, sampled_text
from fea.study.sampling import band
from fea.study.scatter import Scatter, below, read_scatter

WALK = fea.read_load_set("walking-envelope")
FOREFOOT = [each for each in WALK.instants if each.name.startswith("under the forefoot")]
LOADS = replace(WALK, instants=FOREFOOT[:1])
SOME = Scatter(body_weight=0.05, load=0.10, wall=0.08, modulus=0.10, strength=0.07)


@pytest.fixture(scope="module")
def result():
    return fea.assess(fea.read_device("ribbed-polypropylene-child"), fea.read_wearer("demo-child"),
                      loads=LOADS, fall=None, step=None, size=24.0)  # fmt: skip


@pytest.fixture(scope="module")
def found(result):
    return chance(result, SOME, samples=12, hardest=1)


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
    assert one.sampled is not None and one.sampled.count == 12
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
    one = found.any_of("today")
    assert 0.0 < one.breaks[0] <= one.breaks[1] <= 1.0
    assert one.breaks[0] == max(each.breaks for each in found.chances)
    assert one.count == len(found.chances) and found.any_of("service life") is None
    assert "Not estimated" in str(found) and "scatters most by" in str(found)


def test_no_scatter_is_certainty():
    assert below(1.0, 1.01, 0.0) == 0.0 and below(1.0, 0.99, 0.0) == 1.0


def test_scatter_and_samples_that_cannot_be_are_refused(result):
    with pytest.raises(InputError, match="scatter of wall is -0.1"):
        replace(SOME, wall=-0.1)
    for samples in (3, -8):
        with pytest.raises(InputError, match=f"{samples} samples say nothing"):
            chance(result, SOME, samples=samples)
    with pytest.raises(InputError, match="seed -1 is below 0"):
        chance(result, SOME, seed=-1)
    with pytest.raises(InputError, match="scatter is a tuple; give a fea.Scatter, such as"):
        chance(result, read_scatter())
    with pytest.raises(InputError, match="0 checks to sample"):
        chance(result, SOME, samples=8, hardest=0)


def test_nothing_known_is_no_chance_and_never_nil(result):
    none = Chances(result, SOME, (), tuple((check, "why") for check in result.checks))
    assert none.any_of("today") is None
    assert "No check has a chance" in str(none) and "Not estimated" in str(none)


def test_equations_that_do_not_settle_leave_a_check_without_a_chance(result, monkeypatch):
    def refuse(*_):
        raise SolveError("they do not settle")

    monkeypatch.setattr("fea.study.gradient.adjoint", refuse)
    found = chance(result, SOME)
    assert found.chances == () and len(found.missing) == len(result.checks)


def test_what_cannot_be_sampled_keeps_its_first_order_and_says_why(result, monkeypatch):
    def refuse(*_):
        raise NoResponseError("it is not checked for some samples")

    monkeypatch.setattr("fea.study.sampling._demand", refuse)
    one = chance(result, SOME, samples=8, hardest=1).chances[0]
    assert one.sampled is None and one.misses > 0.0
    assert sampled_text(one) == "not sampled: it is not checked for some samples"


def test_intervals_of_samples_hold_what_they_say():
    """Walls that scatter, and the rest in closed form: P = Φ(-m / √(a² + r²)).

    95 % of the intervals should hold it; of 400 at least 92 % (binomial, one in 200). Even draws
    make them hold it more often.
    """
    slopes, rest, mean = np.array([0.08, -0.05, 0.11]), 0.12, 0.2
    exact = norm.cdf(-mean / math.sqrt(float(slopes @ slopes) + rest**2))
    held = 0
    for seed in range(400):
        drawn = norm.ppf(qmc.LatinHypercube(3, rng=np.random.default_rng(seed)).random(24))
        chances = np.array([below(1.0, math.exp(mean + row @ slopes), rest) for row in drawn])
        low, high = band(chances)
        held += low <= exact <= high
    assert held >= 0.92 * 400


def test_a_scatter_file_lays_over_the_shipped_numbers(tmp_path):
    shipped, origins = read_scatter()
    assert {one.status for one in origins.values()} == {"assumed"}
    path = tmp_path / "scatter.toml"
    path.write_text("wall = 0.05\nstrength = { value = 0.04, source = 'ten coupons', "
                    "status = 'measured' }\n", encoding="utf-8")  # fmt: skip
    own, origins = read_scatter(path)
    assert own == replace(shipped, wall=0.05, strength=0.04)
    assert origins["wall"].status == "given" and origins["load"].status == "assumed"
    assert (origins["strength"].source, origins["strength"].status) == ("ten coupons", "measured")


def test_every_mistake_of_a_scatter_file_is_told_at_once(tmp_path):
    path = tmp_path / "scatter.toml"
    path.write_text("wall = -0.1\nload = 1.5\nwalls = 0.1\nmodulus = 'much'\n"
                    "strength = { value = 0.04 }\n", encoding="utf-8")  # fmt: skip
    with pytest.raises(InputError) as caught:
        read_scatter(path)
    text = str(caught.value)
    for words in ("wall", "at least 0", "load", "at most 1", "walls", "modulus", "must be a number",
                  "strength.source", "missing"):  # fmt: skip
        assert words in text, words


def test_chances_read_as_words():
    assert chance_text(0.5) == "50 %" and chance_text(0.001) == "1 in 1000"
    assert chance_text(1.0) == chance_text(0.992) == "more than 99 %"
