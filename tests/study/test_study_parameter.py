# SPDX-License-Identifier: MIT
"""One dotted path reaches every value of device, wearer, loads and materials, or says why not."""

from dataclasses import replace

import pytest

import fea
from fea.device.changefile import Change
from fea.errors import InputError
from fea.study.parameter import Design

CHILD = fea.read_wearer("demo-child")
LOADS = fea.read_load_set("walking-envelope")
MOULDED = Design(fea.read_device("ribbed-polypropylene-child"), CHILD, LOADS)
MESH = Design(fea.read_device("ribbed-polypropylene-child-surface"), CHILD, LOADS)
STRIP = Change.model_validate({
    "title": "Strip behind the ankle", "set": {"walls.heel.sheet_mm": 7.0},
    "overlays": [{"name": "strip", "zones": ["upright medial"], "face": "outer", "width_mm": 25.0,
                  "material": "polypropylene-homopolymer", "thickness_mm": 3.0}],
})  # fmt: skip
CHANGED = replace(MOULDED, change=STRIP)
PLASTIC = "material.polypropylene-homopolymer"


def refusal(values, design=MOULDED):
    with pytest.raises(InputError) as caught:
        design.changed(values)
    return str(caught.value)


def test_every_room_is_reached_and_the_base_stays():
    other = MOULDED.changed({
        "device.ribs.0.height_mm": {"add": 1.0},
        "wearer.mass_kg": {"times": 1.1},
        "loads.fz_bw": {"times": 1.2},
        f"{PLASTIC}.youngs_modulus_mpa": 1000.0,
    })
    assert other.device.content.ribs[0].height_mm == 8.0
    assert other.wearer.mass_kg == pytest.approx(38.5)
    for case, before in zip(other.loads.instants, LOADS.instants, strict=True):
        assert case.fz_bw == pytest.approx(1.2 * before.fz_bw)
    assert other.library["polypropylene-homopolymer"].elastic.youngs_modulus == 1000.0
    assert other.device.library is other.library
    assert (MOULDED.device.content.ribs[0].height_mm, MOULDED.wearer.mass_kg) == (7.0, 35.0)


def test_adding_to_a_number_of_loads_adds_in_every_case_that_has_it():
    other = MOULDED.changed({"loads.pitch_deg": {"add": 2.0}}).loads
    assert [c.pitch_deg for c in other.instants] == [c.pitch_deg + 2.0 for c in LOADS.instants]


def test_adding_to_one_case_leaves_the_others():
    name = LOADS.instants[0].name
    other = MOULDED.changed({f"loads.{name}.fx_bw": {"add": 0.01}}).loads
    assert other.instants[0].fx_bw == pytest.approx(LOADS.instants[0].fx_bw + 0.01)
    assert other.instants[1].fx_bw == LOADS.instants[1].fx_bw


def test_an_estimated_measure_is_multiplied_from_its_estimate():
    estimate = CHILD.measures["foot_length_mm"].value
    other = MOULDED.changed({"wearer.foot_length_mm": {"times": 1.02}}).wearer
    assert other.foot_length_mm == pytest.approx(1.02 * estimate)


def test_a_factor_on_a_property_moves_its_range_too():
    before = MOULDED.library["polypropylene-homopolymer"].property("yield_strength")
    found = MOULDED.changed({f"{PLASTIC}.yield_strength_mpa": {"times": 0.5}}).library
    now = found["polypropylene-homopolymer"].property("yield_strength")
    assert (now.value, now.low, now.high) == (17.0, 0.5 * before.low, 0.5 * before.high)
    assert now.status == "assumed" and "from 34 MPa" in now.note


def test_units_of_a_property_are_those_of_its_key():
    found = MOULDED.changed({f"{PLASTIC}.density_g_cm3": 1.0}).library
    density = found["polypropylene-homopolymer"].property("density").value
    assert density == pytest.approx(1e-6)  # kg/mm³


def test_a_mesh_device_is_made_of_the_material_that_was_changed():
    other = MESH.changed({f"{PLASTIC}.youngs_modulus_mpa": {"times": 0.5}}).device
    assert {wall.material.elastic.youngs_modulus for wall in other.walls.values()} == {700.0}


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("walls.ankle.sheet_mm", 5.0, "begin with one of device., wearer., loads., material."),
        ("device.walls.ancle.sheet_mm", 5.0, "there is no 'ancle'; the file has here ankle"),
        ("wearer.weight_kg", 5.0, "a wearer has no 'weight_kg'"),
        ("wearer.mass", 5.0, "perhaps 'mass_kg'"),
        ("wearer.side", {"times": 2.0}, "no number to change"),
        ("loads.fz", 1.0, "no number 'fz'"),
        ("loads.nowhere.fz_bw", {"add": 1.0}, "no case 'nowhere'"),
        ("material.wood.youngs_modulus_mpa", 1.0, "unknown material 'wood'"),
        (f"{PLASTIC}.youngs_modulus_mm", 1.0, "must end in _mpa or _gpa or _kpa"),
        (f"{PLASTIC}.hardness", 1.0, "has no number 'hardness' to change; it has youngs_modulus"),
        (f"{PLASTIC}.youngs_modulus_mpa", "stiff", "is no number"),
        ("material.youngs_modulus_mpa", 1.0, "give material and property"),
        ("wearer.mass_kg", {"times": "2"}, "times = '2' is no number"),
    ],
)
def test_what_leads_nowhere_is_told_with_the_cure(path, value, told):
    assert told in refusal({path: value})


def test_a_change_is_made_of_the_device_that_was_varied():
    other = CHANGED.changed({
        "device.walls.ankle.sheet_mm": 5.0, "overlay.strip.width_mm": {"add": 5.0},
    })  # fmt: skip
    judged = other.device_as_changed()
    assert judged.recipe.content.walls.ankle.sheet_mm == 5.0
    assert judged.recipe.content.walls.heel.sheet_mm == 7.0  # by the change
    assert judged.change.overlays[0].width_mm == 30.0
    assert STRIP.overlays[0].width_mm == 25.0


@pytest.mark.parametrize("path", ["device.walls.heel.sheet_mm", "device.walls.heel"])
def test_what_the_change_sets_afterwards_cannot_be_varied(path):
    assert "is set by the change 'Strip behind the ankle'" in refusal({path: 4.0}, CHANGED)


def test_an_overlay_needs_a_change_that_has_it():
    assert "needs a change with that overlay" in refusal({"overlay.strip.width_mm": 20.0})
    assert "the list has strip" in refusal({"overlay.band.width_mm": 20.0}, CHANGED)
