# SPDX-License-Identifier: MIT
"""How far the ankle turns as the device warms and flesh is soft: the upper end is judged.

Rotation is linear in compliance where contact does not change. With every stiffness that holds the
ankle (walls, flesh, strap) times one share, the ankle turns by one over it; that is the hand
calculation here. Meshes are coarse: the rules hold on any.
"""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.readings import dorsiflexion
from fea.check.stability import warm_share
from fea.errors import GateError
from fea.judging import Loads, loads_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.material.library import read_library
from fea.structure.limbmodel import RIGID_FOOT, bounds
from fea.turning import judge_turning
from fea.worn import Worn

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
LIMB = Limb.of(CHILD)
PUSH = "end of the plate, flat, driving"
FACTORS = read_factors()


@pytest.fixture(scope="module")
def device():
    return fea.read_device("ribbed-polypropylene-child").fit(LIMB, 18.0)


@pytest.fixture(scope="module")
def loads(device):
    every = loads_on(read_load_set("walking-envelope"), wearer=CHILD, limb=LIMB, device=device)
    return every.only(PUSH)


@pytest.fixture(scope="module")
def worn(device):
    return Worn.on(device, RIGID_FOOT)


@pytest.fixture(scope="module")
def turning(worn, loads):
    return judge_turning([worn], loads, worn.solve(loads.reactions), FACTORS)


def rotation(device, model, loads):
    (solution,) = Worn.on(device, model).solve(loads.reactions).values()
    return dorsiflexion(solution)


def test_the_upper_end_is_the_instant_solved_in_a_warm_device_on_soft_flesh(
    device, loads, turning
):
    warm = device.softened(lambda material: 0.70)  # polypropylene keeps 0.70 at 37 °C
    assert turning.soft == pytest.approx(
        rotation(warm, replace(RIGID_FOOT, tissue_share=0.5), loads), rel=1e-9
    )
    assert turning.usual == pytest.approx(rotation(device, RIGID_FOOT, loads), rel=1e-9)
    # Between the two shares by which stiffness fell: 1/0.70 and 1/0.5.
    assert 1.0 / 0.70 < turning.soft / turning.usual < 1.0 / 0.5


def test_all_of_the_stiffness_halved_turns_the_ankle_twice_as_far(device, loads, turning):
    soft = replace(
        device.softened(lambda material: 0.5),
        straps=tuple(replace(one, stiffness=0.5 * one.stiffness) for one in device.straps),
    )
    turned = rotation(soft, replace(RIGID_FOOT, tissue_share=0.5), loads)
    assert turned == pytest.approx(2.0 * turning.usual, rel=1e-6)


def test_the_upper_end_is_judged_and_both_are_said(turning):
    check = next(found for found in turning.findings if isinstance(found, Check))
    assert check.demand == pytest.approx(57.29577951308232 * abs(turning.soft))
    assert check.case == f"{PUSH} (device at 37 °C, flesh half as stiff)"
    assert "creep and a batch of lower modulus turn it further and are not counted" in check.basis
    for end in (turning.usual, turning.soft):
        assert f"{57.29577951308232 * abs(end):.1f}°" in check.basis


@pytest.mark.parametrize(
    ("name", "kept"), [("aluminium-bars-adult", 1.0), ("carbon-laminate-adult", 1.0 / 1.37)]
)
def test_metal_keeps_its_stiffness_and_a_laminate_what_its_partial_factor_leaves(name, kept):
    """The environment factors: none for metal, 1.37 for a laminate; of the hardest loaded part."""
    adult = fea.Wearer(mass_kg=75, height_mm=1750, side="left")
    cool = fea.read_device(name).fit(Limb.of(adult), 25.0)
    warm = cool.softened(lambda material: warm_share(material, FACTORS).value)
    for zone, bar in cool.bars.items():
        modulus = warm.bars[zone].material.elastic.youngs_modulus
        assert modulus == pytest.approx(kept * bar.material.elastic.youngs_modulus)
    laminated = {zone: wall.layup for zone, wall in cool.walls.items() if wall.layup is not None}
    assert laminated or cool.bars
    for zone, layup in laminated.items():
        of_ply = warm_share(cool.walls[zone].material, FACTORS).value
        np.testing.assert_allclose(warm.walls[zone].layup.abd, of_ply * layup.abd, atol=1e-6)
        assert of_ply == pytest.approx(kept)


def test_a_case_with_the_push_aside_is_solved_again_on_both_sides(device, loads):
    ball = Worn.on(device, bounds(LIMB)[2])
    found = judge_turning([ball], loads, ball.solve(loads.reactions), FACTORS)
    check = next(one for one in found.findings if isinstance(one, Check))
    assert "device at 37 °C, flesh half as stiff, push 10 mm" in check.case


def test_nothing_solved_says_nothing(worn):
    assert judge_turning([worn], Loads(()), {}, FACTORS).findings == ()


def test_beyond_all_numbers_when_warm_the_lower_end_stands_and_the_upper_is_not_checked(
    worn, loads, turning
):
    heavy = loads.times(1.1 * 1.0471975511965976 / abs(turning.soft))  # 60° and a tenth more
    found = judge_turning([worn], heavy, worn.solve(heavy.reactions), FACTORS)
    assert found.soft is None
    lower, upper = found.findings  # 37° cool: beyond 8° nothing is judged, and nothing met
    assert isinstance(lower, NotChecked) and "too far for a linear analysis" in lower.because
    assert isinstance(upper, NotChecked) and "warm" in upper.because
    absurd = loads.times(1.1 * 1.0471975511965976 / abs(turning.usual))
    with pytest.raises(GateError, match="wrong unit"):
        judge_turning([worn], absurd, worn.solve(absurd.reactions), FACTORS)


def test_warmth_from_memory_stands_with_the_rotation(turning):
    (check,) = turning.findings
    assert isinstance(check, Check)
    share = warm_share(read_library()["polypropylene-homopolymer"], FACTORS)
    assert "memory-" in share.note and share.note in check.from_memory
    assert any(part.startswith("limit of 8°") for part in check.from_memory)
    assert set(share.sources) <= set(check.sources)
