# SPDX-License-Identifier: MIT
"""Sensitivities of the checks of whole devices, contact included, against whole solves."""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.check.buckling import read_buckle
from fea.check.check import Check
from fea.check.judgement import judge
from fea.check.stability import knock_down
from fea.device.facing import FOOT_BODY
from fea.judging import Acting
from fea.solver.buckling import buckle_all
from fea.study.asking import Asking
from fea.study.gradient import gradient, total_rates
from fea.study.response import reading_value
from fea.study.thickening import stiffened, thickened

SHARE = 5e-5
DEVICES = {
    "ribbed-polypropylene-child": ("demo-child", 20.0),
    "aluminium-bars-adult": ("demo-adult", 20.0),
}
LOADS = fea.read_load_set("walking-envelope")
FOREFOOT = replace(
    LOADS, instants=[each for each in LOADS.instants if each.name.endswith("pushed laterally")]
)


@pytest.fixture(scope="module", params=[
    "ribbed-polypropylene-child", pytest.param("aluminium-bars-adult", marks=pytest.mark.slow),
])  # fmt: skip
def found(request):
    wearer, size = DEVICES[request.param]
    result = fea.assess(fea.read_device(request.param), fea.read_wearer(wearer), loads=FOREFOOT,
                        fall=None, step=None, size=size)  # fmt: skip
    return gradient(result)


def asked(result, check, zone, times):
    """The demand of a check with a zone ``times`` as thick, and how many springs let go."""
    device = result.device
    if zone in device.bars:
        deeper = replace(device.bars[zone], depth=times * device.bars[zone].depth)
        device = replace(device, bars={**device.bars, zone: deeper})
    acting = Acting.on(FOREFOOT, wearer=result.wearer, limb=result.limb, device=result.device)
    worn, name = next(
        (each, each.instants(acting.loads.reactions)[check.case])
        for each in result.run.worn
        if check.case in each.instants(acting.loads.reactions)
    )
    section = thickened(worn.system.structure.sections[zone], times)
    system = worn.system.with_sections({zone: section})
    solution = replace(worn, system=system).solve(acting.loads.only(name).reactions)[check.case]
    judged = judge(device, {check.case: solution}, result.factors)
    idle = np.flatnonzero(system.springs.stretch(solution.vector) <= 0.0)
    return next(
        one.demand for one in judged.findings
        if isinstance(one, Check) and (one.topic, one.zone) == (check.topic, check.zone)
    ), idle  # fmt: skip


def test_every_demand_answers_as_whole_solves_say(found):
    """In the two zones that it hangs on most, while many springs have let go."""
    seen = 0
    for one in found.gradients[:6]:
        if one.check.zone == "device" or one.check.topic == "buckling":
            continue
        zones = sorted(found.zones, key=lambda zone: -abs(found.exponent(one, zone)))[:2]
        for zone in zones:
            (high, above), (low, below) = (
                asked(found.result, one.check, zone, 1.0 + sign * SHARE) for sign in (1.0, -1.0)
            )
            assert len(above) > 50
            if not np.array_equal(above, below):
                continue  # a spring lets go between both: there is no one slope
            whole = (high - low) / (2.0 * SHARE * one.check.demand)
            assert found.exponent(one, zone) == pytest.approx(whole, rel=1e-4, abs=1e-6), zone
            seen += 1
    assert seen >= 6


def test_the_rotation_is_that_of_the_warm_device(found):
    turned = [one for one in found.gradients if one.check.topic == "ankle rotation"]
    if not turned:
        assert any(check.topic == "ankle rotation" for check, _ in found.missing) or not any(
            check.topic == "ankle rotation" for check in found.result.checks
        )
        pytest.skip("the device turns too far for this check")
    (one,) = turned
    solution = Asking(found.result).response(one.check).solution
    zone = max(found.zones, key=lambda zone: abs(found.exponent(one, zone)))
    turns = []
    for sign in (1.0, -1.0):
        section = thickened(solution.system.structure.sections[zone], 1.0 + sign * SHARE)
        system = solution.system.with_sections({zone: section})
        loads = _loads(found.result, solution)
        turns.append(abs(system.solve(loads)[solution.case].body(FOOT_BODY)[4]))
    whole = (turns[0] - turns[1]) / (2.0 * SHARE * np.radians(one.check.demand))
    assert found.exponent(one, zone) == pytest.approx(whole, rel=1e-4)


def _loads(result, solution):
    acting = Acting.on(FOREFOOT, wearer=result.wearer, limb=result.limb, device=result.device)
    asking = Asking(result)
    check = next(one for one in result.checks if one.topic == "ankle rotation")
    asking.response(check)
    worn = next(
        each for each in asking._softer.values()
        if solution.case in each.instants(acting.loads.reactions)
    )  # fmt: skip
    return {
        case: loads for case, loads in worn.instant_loads(acting.loads.reactions).items()
        if case == solution.case
    }  # fmt: skip


def buckled(asking, check, device, sections):
    """What a check of buckling asks with other sections, and the springs that let go."""
    worn, alone = asking._made[check.horizon, check.case]
    system = worn.system.with_sections(sections)
    again = replace(worn, system=system).solve(alone.reactions, alone.pushes)[check.case]
    mode = buckle_all({check.case: again}, 1, tolerance=1e-11)[check.case]
    down = knock_down(read_buckle(device, system, mode).slenderness).value
    idle = np.flatnonzero(system.springs.stretch(again.vector) <= 0.0)
    return 1.0 / (down * mode.factors[0]), idle


def test_buckling_answers_as_whole_solves_say(found):
    """In the zone that buckles, whose imperfections count too, and in the one beside it."""
    one = next(each for each in found.gradients if each.check.topic == "buckling")
    asking, device = Asking(found.result), found.result.device
    asking.response(one.check)
    worn, _ = asking._made[one.check.horizon, one.check.case]
    for zone in sorted(found.zones, key=lambda zone: -abs(found.exponent(one, zone)))[:2]:
        asked = []
        for sign in (1.0, -1.0):
            times = 1.0 + sign * SHARE
            section = thickened(worn.system.structure.sections[zone], times)
            other = device
            if zone in device.walls:
                wall = device.walls[zone]
                wall = replace(wall, thickness=times * wall.thickness)
                other = replace(device, walls={**device.walls, zone: wall})
            asked.append(buckled(asking, one.check, other, {zone: section}))
        (high, above), (low, below) = asked
        assert np.array_equal(above, below)
        whole = (np.log(high) - np.log(low)) / (2.0 * SHARE)
        assert found.exponent(one, zone) == pytest.approx(whole, rel=1e-4), zone


@pytest.mark.slow
def test_buckling_answers_to_moduli_as_whole_solves_say(found):
    """All walls and bars stiffer; flesh stays, so that the factor grows by less."""
    check = next(each.check for each in found.gradients if each.check.topic == "buckling")
    asking, device = Asking(found.result), found.result.device
    response = asking.response(check, stiffened)
    system = response.solution.system
    rates = total_rates(response, asking.thickening(system, stiffened))
    mine = sum(each.sum() for each in rates) / response.value
    (high, above), (low, below) = (
        buckled(asking, check, device, {
            zone: stiffened(each, 1.0 + sign * SHARE)
            for zone, each in system.structure.sections.items()
        })
        for sign in (1.0, -1.0)
    )  # fmt: skip
    assert np.array_equal(above, below)
    assert mine == pytest.approx((np.log(high) - np.log(low)) / (2.0 * SHARE), rel=1e-4)
    assert -1.0 < mine < 0.0


def test_the_map_of_a_device_says_what_each_cell_does(found):
    """The cells that count most for a check of the walls, each made thicker by itself."""
    device = found.result.device
    one = next(each for each in found.gradients if each.check.zone in device.walls
               and each.check.topic == "yield")  # fmt: skip
    numbers = device.mesh.zone(one.check.zone)[1]
    asking = Asking(found.result)
    response = asking.response(one.check)
    section = response.solution.system.structure.sections[one.check.zone]
    solution = response.solution
    recovered = solution.system.recovery([solution])
    reading = asking._place(one.check, recovered)
    for row in np.argsort(-np.abs(one.triangles[numbers]))[:3]:
        asked, idle = [], []
        for sign in (1.0, -1.0):
            walls = np.array(section.walls(len(numbers)))
            walls[row] *= 1.0 + sign * SHARE
            again = asking.solved_with(
                one.check, {one.check.zone: replace(section, thickness=walls)}
            )
            asked.append(reading_value(again.system.recovery([again]), reading))
            idle.append(np.flatnonzero(again.system.springs.stretch(again.vector) <= 0.0))
        assert np.array_equal(*idle)
        whole = (np.log(asked[0]) - np.log(asked[1])) / (2.0 * SHARE)
        assert one.triangles[numbers[row]] == pytest.approx(whole, rel=1e-4)


def test_every_check_has_a_gradient_or_a_reason(found):
    checks = {id(one.check) for one in found.gradients} | {id(one) for one, _ in found.missing}
    assert checks == {id(one) for one in found.result.checks}
    assert all(reason for _, reason in found.missing)
    missing = {check.topic for check, _ in found.missing}
    assert not missing & {"yield", "bar stress", "buckling"}


def test_what_is_per_gram_adds_up(found):
    one = found.gradients[0]
    cells, masses = found.cells_per_gram(one), 1e3 * found.triangle_mass
    for zone in found.result.device.walls:
        numbers = found.result.device.mesh.zone(zone)[1]
        lost = np.nansum((cells * masses)[numbers])
        gained = found.per_gram(one, zone) * 1e3 * found.masses[zone]
        assert lost == pytest.approx(gained, rel=1e-9)
    assert sum(found.masses.values()) == pytest.approx(found.result.device_mass_kg, rel=1e-12)
    assert "thicker here first" in str(found)
