# SPDX-License-Identifier: MIT
"""A push moved aside on a narrow heel: as far as the plate carries it, and said to be so."""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.assessment import find
from fea.check.factors import read_factors
from fea.errors import LoadError
from fea.judging import Acting, Loads, loads_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.shipped import shipped_names
from fea.structure.limbmodel import bounds
from fea.structure.realise import ground_load
from fea.wearer import read_wearer
from fea.worn import SIDES, Worn, push_aside, pushes

MEDIAL = "loading response, pushed medially"


@pytest.fixture(scope="module")
def adult():
    return read_wearer("demo-adult")


@pytest.fixture(scope="module")
def narrow(adult):
    return fea.read_device("aluminium-bars-adult").fit(Limb.of(adult), 12.0)


@pytest.fixture(scope="module")
def loads(adult, narrow):
    return {
        name: loads_on(read_load_set(name), wearer=adult, limb=Limb.of(adult), device=narrow)
        for name in shipped_names("loadcases")
    }


@pytest.fixture(scope="module")
def loose(adult, narrow):
    return Worn.on(narrow, bounds(Limb.of(adult))[2])


def medial(loads):
    return next(one for one in loads["heel-strike-rigid"].reactions if one.name == MEDIAL)


def test_no_shipped_set_is_refused_for_a_narrow_heel(loads, loose):
    for name, each in loads.items():
        for reaction in each.reactions:
            for case, pushed in pushes(loose.model, reaction, loose.carries).items():
                assert loose.carries(pushed), (name, case)


def test_the_push_stands_as_far_aside_as_the_plate_carries_it(loads, loose):
    """This heel carries no push 20 mm to the left; each further millimetre is tried."""
    reaction = medial(loads)
    asides = {
        side: push_aside(loose.model, reaction, sign, loose.carries)
        for side, sign in SIDES.items()
    }
    assert asides["right"] == 10.0  # back over the middle of the plate
    assert 0.0 < asides["left"] < 10.0
    with pytest.raises(LoadError, match="cannot be carried"):
        loose.system.solve({"wide": [ground_load(loose.device, moved(reaction, 10.0))]})
    assert loose.carries(moved(reaction, asides["left"]))
    assert not loose.carries(moved(reaction, asides["left"] + 1.0))
    assert loose.kept_aside([reaction]) == {MEDIAL: asides["left"]}


def moved(reaction, left):
    return replace(reaction, cop=reaction.cop + np.array([0.0, left, 0.0]))


def test_the_case_names_its_millimetres_and_carries_its_force(loads, loose):
    reaction = medial(loads)
    kept = loose.kept_aside([reaction])[MEDIAL]
    solved = loose.solve([reaction])
    left, right = solved
    assert f"push {kept:g} mm left" in left and "push 10 mm right" in right
    assert loose.instants([reaction]) == dict.fromkeys(solved, MEDIAL)
    twist = {case: one.reaction("shank")[3] for case, one in solved.items()}
    # The frontal moment about the held shank grows by the vertical force times the way apart.
    apart = twist[right] - twist[left]
    assert abs(apart) == pytest.approx(reaction.force[2] * (kept + 10.0), rel=1e-6)


def test_a_narrow_plate_is_said_and_never_a_pass(adult, narrow, loads, loose):
    limb, load_set = Limb.of(adult), read_load_set("heel-strike-rigid")
    worn = [*(Worn.on(narrow, model) for model in bounds(limb)[:1]), loose]
    found = find(worn, limb, Acting(load_set, Loads((medial(loads),))), read_factors())
    (gap,) = [one for one in found.findings if one.topic == "push beside the plate"]
    assert MEDIAL in gap.because and "10 mm aside" in gap.because
    first = Loads(loads["heel-strike-rigid"].reactions[:1])
    wide = find(worn, limb, Acting(load_set, first), read_factors())
    assert not [one for one in wide.findings if one.topic == "push beside the plate"]
