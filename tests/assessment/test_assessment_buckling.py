# SPDX-License-Identifier: MIT
"""Buckling in an assessment: every case judged, scaling as linear buckling must."""

import dataclasses

import numpy as np
import pytest

import fea
from fea.check.check import Check
from fea.limb import Limb

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
NAME, SIZE = "ribbed-polypropylene-child", 16.0


def judged(wearer=CHILD, wall=1.0):
    fitted_to = dataclasses.replace(CHILD, side=wearer.side)
    device = fea.read_device(NAME).fit(Limb.of(fitted_to), SIZE)
    walls = {
        zone: dataclasses.replace(item, thickness=item.thickness * wall)
        for zone, item in device.walls.items()
    }
    worn = dataclasses.replace(device, walls=walls)
    return fea.assess(worn, wearer, step=None, fall=None, large_from_deg=None)


@pytest.fixture(scope="module")
def child():
    return judged()


def factors(assessment):
    return np.array([item.factor for item in assessment.buckles])


def is_of_today(found):
    return isinstance(found, Check) and (found.topic, found.horizon) == ("buckling", "today")


def test_every_case_of_the_envelope_is_judged_and_the_worst_governs(child):
    cases = [case.name for case in child.cases]
    assert [item.case for item in child.buckles] == cases == list(child.run.modes)
    assert all(item.proved for item in child.buckles)
    found = [f for f in child.findings if is_of_today(f)]
    assert [f.case for f in found] == cases
    kept = [check for check in child.checks if is_of_today(check)]
    assert kept[0].utilisation == max(f.utilisation for f in found)
    assert {check.zone for check in kept} == {item.zone for item in child.buckles}
    assert "buckling" not in {gap.topic for gap in child.not_checked}


def test_the_place_lies_in_the_zone_that_is_named(child):
    mesh = child.device.mesh
    for item in child.buckles:
        centres = mesh.points[mesh.zone_cells(item.zone)].mean(axis=1)
        assert np.linalg.norm(centres - item.place, axis=1).min() < 1e-9
        assert item.slenderness > 1.0


def test_twice_the_mass_is_half_the_factor(child):
    double = judged(dataclasses.replace(CHILD, mass_kg=70))
    assert factors(double) == pytest.approx(factors(child) / 2.0, rel=1e-3)


def test_a_thicker_wall_buckles_later_in_every_case(child):
    """Bending goes with t³, membrane with t: a factor can gain no more than the cube."""
    gain = factors(judged(wall=1.25)) / factors(child)
    assert np.all(gain > 1.0) and np.all(gain < 1.25**3)
    # where walls of the ankle buckle, and not the whole foot tilts, the gain is near the cube
    assert gain[np.argmin(factors(child))] > 1.25**1.5


def test_the_mirrored_wearer_buckles_alike(child):
    mirrored = judged(dataclasses.replace(CHILD, side="right"))
    assert factors(mirrored) == pytest.approx(factors(child), rel=1e-3)
    for one, two in zip(child.buckles, mirrored.buckles, strict=True):
        assert one.zone == two.zone
        assert np.array(two.place) * [1, -1, 1] == pytest.approx(one.place, abs=1e-6)
