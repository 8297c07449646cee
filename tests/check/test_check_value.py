# SPDX-License-Identifier: MIT
"""The Check value: what it stores, what follows, and what it refuses."""

import math
from dataclasses import FrozenInstanceError, replace

import pytest

from fea.check.check import Check, NotChecked, governing
from fea.errors import InputError

CHECK = Check(
    topic="yield",
    zone="upright",
    case="push-off",
    place=(1.0, 2.0, 3.0),
    demand=12.0,
    capacity=24.0,
    unit="MPa",
    required=1.5,
    basis="by hand",
    sources=("practice",),
)


def test_factor_utilisation_and_verdict_follow_from_demand_and_capacity():
    assert CHECK.factor == 2.0
    assert CHECK.utilisation == 0.75  # 12 · 1.5 / 24
    assert CHECK.met
    assert not replace(CHECK, demand=16.1).met
    assert replace(CHECK, demand=16.0).met  # exactly the required factor
    assert replace(CHECK, demand=0.0).factor == math.inf
    assert replace(CHECK, demand=0.0).met


@pytest.mark.parametrize("name", ["demand", "capacity", "required"])
@pytest.mark.parametrize("value", [math.nan, math.inf, -1.0])
def test_a_number_that_is_none_is_refused(name, value):
    with pytest.raises(InputError, match=f"'yield' of 'upright' in 'push-off'.*{name} is"):
        replace(CHECK, **{name: value})


@pytest.mark.parametrize("error", [math.nan, -0.1, 12.1])
def test_an_error_is_a_part_of_the_demand(error):
    assert replace(CHECK, error=12.0).utilisation == CHECK.utilisation
    with pytest.raises(InputError, match="error is"):
        replace(CHECK, error=error)


def test_an_error_that_is_not_estimated_is_none_and_never_nought():
    assert CHECK.error is None and CHECK.computed == CHECK.demand
    assert replace(CHECK, error=2.0).computed == 10.0


def test_nothing_can_be_borne_by_no_capacity():
    with pytest.raises(InputError, match="capacity is 0"):
        replace(CHECK, capacity=0.0)


@pytest.mark.parametrize("place", [(1.0, 2.0), (1.0, 2.0, math.nan)])
def test_a_place_is_three_finite_coordinates(place):
    with pytest.raises(InputError, match="place"):
        replace(CHECK, place=place)


def test_demand_has_no_default_and_the_verdict_cannot_be_given():
    with pytest.raises(TypeError, match="demand"):
        Check(topic="t", zone="z", case="c", place=None, capacity=1.0, unit="1", required=1.0,
              basis="", sources=())
    with pytest.raises(FrozenInstanceError):
        CHECK.demand = 0.0
    assert not hasattr(NotChecked(topic="t", zone="z", because="b"), "met")


def test_governing_keeps_the_worst_of_each_topic_and_zone():
    worse = replace(CHECK, case="landing", demand=20.0)
    other = replace(CHECK, zone="plate", demand=1.0)
    hole = NotChecked(topic="fastening", zone="upright", because="hole")
    checks, missing = governing([other, CHECK, hole, worse, hole])
    assert checks == (worse, other)
    assert missing == (hole,)
