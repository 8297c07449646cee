# SPDX-License-Identifier: MIT
"""The whole path, wearer and device in and checks out: what must hold whatever the numbers are.

Known-bad device: two bare uprights of polypropylene. By Euler-Bernoulli, two uprights 4 x 25 mm
under 49 N·m (Schwartz M H, Rozumalski A, Trost J P. J Biomech 2008;41:1639-1650, 40 kg at the peak
ankle moment) are at 59 MPa, polypropylene yields at 31 to 37 MPa. The rest are properties: linear
statics on one fixed mesh scales with the load, falls with the wall and is the same in a mirror. The
meshes are coarse, because none of this depends on convergence.
"""

import dataclasses
import math
from functools import partial

import numpy as np
import pytest

import fea
from fea.check.check import NotChecked
from fea.errors import DeviceError, LoadError
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.tensors import von_mises

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
BARE, RIBBED = "bare-two-upright-polypropylene-child", "ribbed-polypropylene-child"
SIZE = 16.0
assess = partial(fea.assess, large_from_deg=None)  # these devices turn far; see test_far_turn.py
PEAK = "peak ankle moment"

LOADS = """
name = "one"
title = "One instant"
purpose = "verdict"
note = "For a test."
patch_half_length = 0.06

[provenance]
patch_half_length = { source = "assumed", status = "assumed" }

[[instants]]
name = "too far"
fz_bw = 1.0
fx_bw = 0.0
cop = 1.10

[instants.provenance]
fz_bw = { source = "assumed", status = "assumed" }
fx_bw = { source = "assumed", status = "assumed" }
cop = { source = "assumed", status = "assumed" }
"""


def fitted(name, wearer=CHILD):
    """The shipped device on this wearer's limb, as fixed geometry."""
    return fea.read_device(name).fit(Limb.of(wearer), SIZE)


def with_walls(device, factor):
    """The device with every wall thicker by a factor."""
    walls = {
        zone: dataclasses.replace(wall, thickness=wall.thickness * factor)
        for zone, wall in device.walls.items()
    }
    return dataclasses.replace(device, walls=walls)


def weighing(mass_kg):
    return dataclasses.replace(CHILD, mass_kg=mass_kg)


@pytest.fixture(scope="module")
def bare():
    return fitted(BARE)


@pytest.fixture(scope="module")
def judged(bare):
    return assess(bare, CHILD)


def shares(assessment):
    """Utilisation (case, zone) of envelope and step."""
    cases = (*assessment.cases, *assessment.step)
    return {(case.name, zone): u for case in cases for zone, u in case.utilisation.items()}


def numbers(value):
    """Every plain number in nested results, arrays apart."""
    if isinstance(value, bool | str) or value is None:
        return
    if isinstance(value, int | float):
        yield float(value)
    elif dataclasses.is_dataclass(value):
        for item in dataclasses.fields(value):
            yield from numbers(getattr(value, item.name))
    elif hasattr(value, "values"):
        for entry in value.values():
            yield from numbers(entry)
    else:
        for entry in value:
            yield from numbers(entry)


def test_the_known_bad_device_fails_by_strength_in_the_mean_step(bare, judged):
    assert judged.verdict == "not met"
    worst = next(check for check in judged.checks if check.horizon == "today")
    assert not worst.met and worst.topic == "yield"
    peak = next(case for case in judged.step if case.name == PEAK)
    for zone in ("ankle medial", "ankle lateral"):
        assert peak.utilisation[zone] > 1.0
        # without any partial factor too: more than the highest yield polypropylene is given
        solution = judged.run.step[PEAK]
        stress = max(von_mises(solution.stress(zone, at)).max() for at in ("top", "bottom"))
        strength = bare.walls[zone].material.property("yield_strength")
        assert stress > max(strength.value, strength.high or 0.0)


def test_a_heavier_wearer_uses_more_of_every_zone(bare, judged):
    light, heavy = shares(judged), shares(assess(bare, weighing(42)))
    assert set(light) == set(heavy)
    assert {key for key in light if not heavy[key] > light[key]} == set()


def test_less_load_is_less_stress_in_proportion(bare, judged):
    """Forces go with body mass at one centre of pressure, and contact without gaps scales."""
    share, lighter = 0.8, assess(bare, weighing(28))
    for case, light in zip(judged.cases, lighter.cases, strict=True):
        assert light.cop == pytest.approx(case.cop, rel=1e-12)
        assert light.force == pytest.approx([share * part for part in case.force], rel=1e-12)
        assert light.ankle_rotation == pytest.approx(share * case.ankle_rotation, rel=1e-6)
    for reading, light in zip(judged.zones, lighter.zones, strict=True):
        assert (reading.zone, reading.case) == (light.zone, light.case)
        assert light.mises_top == pytest.approx(share * reading.mises_top, rel=1e-6)
        assert light.mises_bottom == pytest.approx(share * reading.mises_bottom, rel=1e-6)
    one, two = shares(judged), shares(lighter)
    assert [two[key] for key in one] == pytest.approx([share * u for u in one.values()], rel=1e-6)


def test_a_thicker_wall_uses_less_of_the_governing_zone(bare, judged):
    worst = judged.checks[0]
    thicker = assess(with_walls(bare, 1.25), CHILD)
    same = next(c for c in thicker.checks if (c.topic, c.zone) == (worst.topic, worst.zone))
    # membrane stress goes with 1/t, bending with 1/t²; nothing can gain more than that
    assert 1.25**-2 < same.utilisation / worst.utilisation < 1.25**-0.9


def test_the_mirrored_wearer_gets_the_same_numbers(bare, judged):
    other = dataclasses.replace(CHILD, side="right")
    mirrored = fitted(BARE, other)
    np.testing.assert_array_equal(mirrored.mesh.points * [1, -1, 1], bare.mesh.points)
    right = assess(mirrored, other)
    assert right.device_mass_kg == pytest.approx(judged.device_mass_kg, rel=1e-12)
    left, right_shares = shares(judged), shares(right)
    ends = {"calf strap left": "calf strap right", "calf strap right": "calf strap left"}
    mirrored_shares = [right_shares[case, ends.get(zone, zone)] for case, zone in left]
    assert mirrored_shares == pytest.approx(list(left.values()), rel=1e-9)
    for one, two in zip(judged.cases, right.cases, strict=True):
        assert np.array(two.force) * [1, -1, 1] == pytest.approx(np.array(one.force), rel=1e-12)
        assert two.ankle_rotation == pytest.approx(one.ankle_rotation, rel=1e-9)
        assert two.max_deflection == pytest.approx(one.max_deflection, rel=1e-9)


def test_a_device_of_the_other_side_is_refused(bare):
    with pytest.raises(DeviceError, match="for the left side, the wearer's is the right"):
        assess(bare, dataclasses.replace(CHILD, side="right"))


@pytest.mark.parametrize("name", [BARE, RIBBED])
@pytest.mark.parametrize("factor", [1.0, 3.0])
def test_what_is_not_checked_is_listed_and_nothing_is_called_met(name, factor):
    assessment = assess(with_walls(fitted(name), factor), CHILD)
    beyond = [gap for gap in assessment.not_checked if "published tests reach" in gap.because]
    early = {row.zone for row in assessment.life if row.state == "cracks expected early"}
    assert {gap.zone for gap in beyond} | early == set(assessment.device.walls)
    all_met = all(check.met for check in assessment.checks)
    assert assessment.verdict == ("not fully checked" if all_met else "not met")
    if (name, factor) == (RIBBED, 3.0):
        assert all_met  # three times the wall holds, and still nothing is called met
    text = str(assessment)
    for gap in assessment.not_checked:
        assert gap.because in text
    assert "All requirements are met" not in text


def test_every_zone_is_judged_in_every_case(bare, judged):
    assert {check.zone for check in judged.checks if check.topic == "yield"} == set(bare.walls)
    ends = {place for strap in bare.straps for place in strap.places}
    for case in (*judged.cases, *judged.step):
        assert set(case.utilisation) == set(bare.walls) | ends
    assert set(judged.run.solutions) == {case.name for case in judged.cases}
    assert set(judged.run.solutions) == {i.name for i in judged.load_set.instants}


def test_every_number_is_finite(judged):
    results = (judged.checks, judged.cases, judged.step, judged.zones, judged.device_mass_kg)
    found = list(numbers(results))
    assert len(found) > 1000
    assert all(math.isfinite(number) for number in found)
    assert np.isfinite(judged.cell_utilisation).all()  # no washers here: every cell is judged
    for solution in (*judged.run.solutions.values(), *judged.run.step.values()):
        assert np.isfinite(solution.displacement).all()


def test_the_governing_check_is_the_worst_of_all_cases_and_cells(judged):
    worst = max(max(case.utilisation.values()) for case in judged.cases)
    strength = [check for check in judged.checks if check.topic == "yield"]
    assert strength[0].utilisation == worst
    assert judged.cell_utilisation.max() == pytest.approx(worst, rel=1e-12)
    assert [c.utilisation for c in judged.checks] == sorted(
        (c.utilisation for c in judged.checks), reverse=True
    )


def test_the_hash_of_the_inputs_tells_inputs_apart(bare, judged):
    def digest(device, wearer, **more):
        return assess(device, wearer, **more).provenance["inputs_sha256"]

    first = judged.provenance["inputs_sha256"]
    assert digest(fitted(BARE), fea.Wearer(mass_kg=35, height_mm=1410, side="left")) == first
    others = [
        digest(bare, weighing(35.1)),
        digest(with_walls(bare, 1.01), CHILD),
        digest(bare, CHILD, loads="typical-step"),
    ]
    assert len({first, *others}) == 4


def test_a_load_beyond_the_plate_is_refused_with_the_cure(bare, tmp_path):
    path = tmp_path / "far.toml"
    path.write_text(LOADS)
    with pytest.raises(LoadError) as refused:
        assess(bare, CHILD, loads=path)
    sentence = str(refused.value)
    assert sentence.startswith("'too far': the centre of pressure at x = ")
    assert "no plate of this length can take this load" in sentence
    assert "lengthen the plate" in sentence
    # (1.10 − 0.25) foot lengths ahead of the axis
    assert f"x = {0.85 * Limb.of(CHILD).foot_length:.0f} mm" in sentence


def test_a_change_that_tips_the_force_off_the_plate_is_refused_before_any_solve(bare):
    said = []
    loads = read_load_set("walking-envelope").changed({"fz_bw*": 0.3})
    with pytest.raises(LoadError) as refused:
        assess(bare, CHILD, loads=loads, progress=said.append)
    assert said == ["fitting the device to the limb"]
    sentence = str(refused.value)
    # 0.3 x 1.099 and 0.232 body weights of 35 kg: 113 and 80 N, atan(0.232 / 0.330) = 35 deg
    assert "113 N across the sole and 80 N along it lean 35 deg" in sentence
    assert "raise fz_bw" in sentence
    assert sentence.endswith("changed by hand: fz_bw times 0.3 in every case")


def test_a_step_that_does_not_fit_is_not_checked_and_leaves_the_verdict_alone(bare, tmp_path):
    path = tmp_path / "far.toml"
    path.write_text(LOADS)
    assessment = assess(bare, CHILD, step=path)
    missing = next(gap for gap in assessment.not_checked if gap.topic == "typical step")
    assert isinstance(missing, NotChecked)
    assert "lies beyond the plate" in missing.because
    assert assessment.step == ()
    assert dict(assessment.run.step) == {}
    assert assessment.verdict == "not met"
    assert assessment.verdict_sentence in str(assessment)
