# SPDX-License-Identifier: MIT
"""The search for the lightest layout against all layouts, and where there is none."""

import itertools

import numpy as np
import pytest

from fea.study.layout import Trial, search

SIZES = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0)


def problem(parts, seed):
    """Shares that fall with the sizes by different powers, some of them rising with one."""
    rng = np.random.default_rng(seed)
    powers = -rng.uniform(0.0, 0.6, (2 * parts, parts))
    powers[np.arange(parts), np.arange(parts)] = -rng.uniform(1.0, 2.5, parts)
    powers[0, -1] = 0.3
    scale = rng.uniform(3.0, 5.0, (2 * parts, parts))
    weight = rng.uniform(0.5, 2.0, parts)

    def attempt(layout, slopes):
        size = np.array([SIZES[number] for number in layout])
        share = np.prod((size / scale) ** powers, axis=1) * (1.0 + 0.05 * np.sin(size).sum())
        keys = [(f"check {k}", "zone", "today") for k in range(len(share))]
        rates = dict(zip(keys[:parts], powers, strict=False)) if slopes else {}
        return Trial(layout, float(weight @ size), dict(zip(keys, share.tolist(), strict=True)),
                     rates, weight * size)  # fmt: skip

    return attempt


@pytest.mark.parametrize("seed", range(6))
def test_it_finds_what_trying_everything_finds(seed):
    parts = 4
    attempt = problem(parts, seed)
    every = [attempt(layout, False) for layout in itertools.product(range(6), repeat=parts)]
    holding = [each for each in every if each.holds]
    found = search([SIZES] * parts, attempt, (4,) * parts, most=60)
    if not holding:
        assert found.best is None
        return
    lightest = min(holding, key=lambda each: each.mass)
    assert found.best is not None and found.complete
    assert found.best.mass <= 1.03 * lightest.mass
    assert len(found.trials) <= 40 < len(every)
    assert not any(each is not None and each.holds for each in found.thinner)


def test_a_start_that_does_not_hold_is_left():
    found = search([SIZES] * 4, problem(4, 1), (0,) * 4, most=60)
    assert not found.trials[0].holds and found.best is not None


def test_none_holds():
    def attempt(layout, slopes):
        return Trial(layout, 1.0 + sum(layout), {("skin", "foot", "today"): 1.2 + 0.01 * layout[0]})

    found = search([SIZES, SIZES], attempt, (2, 2), most=60)
    assert found.best is None and not found.exhausted and not found.complete
    assert found.trials[-1].layout == (5, 5) or (5, 5) in [each.layout for each in found.trials]
    everything = search([SIZES[:2], SIZES[:2]], attempt, (0, 0), most=60)
    assert everything.exhausted and len(everything.trials) == 4


def test_what_is_left_open_or_fails_is_no_pass():
    def attempt(layout, slopes):
        if layout[0] < 2:
            return Trial(layout, failure="cuts into the limb")
        extra = ("joint not checked",) if layout[0] < 4 else ()
        return Trial(layout, 1.0 + layout[0], {("yield", "wall", "today"): 0.5}, extra=extra,
                     masses=np.array([1.0 + layout[0]]))  # fmt: skip

    found = search([SIZES], attempt, (5,), most=60)
    assert found.best.layout == (4,) and found.thinner[0].extra == ("joint not checked",)


def test_trials_are_counted():
    found = search([SIZES] * 6, problem(6, 3), (5,) * 6, most=3)
    assert len(found.trials) == 3 and not found.complete
