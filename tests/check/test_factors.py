# SPDX-License-Identifier: MIT
"""Partial factors: each effect once, in the range of the trade, replaceable, never below 1."""

import math
from dataclasses import replace
from typing import get_args

import pytest

from fea.check.capacity import capacity_of
from fea.check.factors import read_factors
from fea.check.purpose import factors_for
from fea.errors import FileError
from fea.material.library import Kind, read_library
from fea.sources import cite

FACTORS = read_factors()
LIBRARY = read_library()
PARTS = [part for rows in FACTORS.table.values() for part in rows.values()]


def total_factor(name, strength):
    """Typical strength over the stress that the factors allow."""
    material = LIBRARY[name]
    capacity = capacity_of(material, strength, FACTORS)
    allowed = capacity.value / FACTORS.required(material.kind).value
    return material.property(strength).value / allowed


@pytest.mark.parametrize("part", PARTS, ids=lambda part: f"{part.effect}-{part.kind}")
def test_every_factor_has_a_source_and_no_factor_strengthens(part):
    assert part.value >= 1.0
    assert cite(part.source) and part.meaning
    if part.applies == "elsewhere":
        assert part.value == 1.0


def test_every_effect_covers_every_kind():
    assert all(set(rows) == set(get_args(Kind)) for rows in FACTORS.table.values())
    assert set(FACTORS.table) >= {
        "material_scatter", "environment", "creep", "model", "consequence", "brittleness",
        "instability", "notch", "thinning", "load_scatter",
    }


@pytest.mark.parametrize(
    ("material", "strength", "low", "high"),
    [
        # common practice on a characteristic walking load, first yield or first ply
        ("aluminium-7075-t6", "yield_strength", 1.5, 2.0),
        ("titanium-6al-4v", "yield_strength", 1.5, 2.0),
        ("stainless-steel-316l", "yield_strength", 1.5, 2.0),
        ("polypropylene-homopolymer", "yield_strength", 2.0, 3.0),
        ("polypropylene-copolymer", "yield_strength", 2.0, 3.0),
        ("polyamide-12-sintered", "yield_strength", 2.5, 3.0),
        ("carbon-cloth-epoxy", "tensile_strength_1", 2.5, 3.1),
        ("carbon-cloth-epoxy", "compressive_strength_1", 2.5, 3.1),
    ],
)
def test_the_whole_product_stands_in_the_range_of_common_practice(material, strength, low, high):
    assert low <= total_factor(material, strength) <= high


def test_polypropylene_by_hand():
    # 31 MPa · 0.78; 0.06 of 4 h at the peak: log(24)/log(100) = 0.690 of the way from a tensile
    # test of 0.01 h to 1 h, so 0.743^0.690 = 0.8146; required 1.15 · 1.20 = 1.38; allowed 14.3 MPa
    capacity = capacity_of(LIBRARY["polypropylene-homopolymer"], "yield_strength", FACTORS)
    required = FACTORS.required("thermoplastic")
    assert capacity.value == pytest.approx(31 * 0.78 * 0.743 ** (math.log(24) / math.log(100)))
    assert capacity.value == pytest.approx(19.70, abs=0.01)
    assert required.value == pytest.approx(1.38)
    assert capacity.value / required.value == pytest.approx(14.27, abs=0.01)
    assert "at 37 °C: memory-M" in capacity.note
    assert required.note == "factor for model: assumed; factor for consequence: assumed"


def test_longer_standing_leaves_less_strength_and_a_fall_none_of_it():
    material = LIBRARY["polypropylene-homopolymer"]
    all_day = replace(FACTORS, standing_hours=12.0)
    usual = capacity_of(material, "yield_strength", FACTORS).value
    assert capacity_of(material, "yield_strength", all_day).value < usual
    fall = capacity_of(material, "yield_strength", factors_for(FACTORS, "fall"))
    assert fall.value == pytest.approx(31 * 0.78)  # too short to creep
    metal = LIBRARY["aluminium-7075-t6"]
    assert capacity_of(metal, "yield_strength", all_day) == capacity_of(
        metal, "yield_strength", FACTORS
    )


def test_a_strength_measured_at_body_temperature_is_not_reduced_again(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        "[materials.polypropylene-homopolymer.properties]\n"
        "yield_strength_mpa = {value=26, low=25, temperature_c=37, "
        'source="own tensile tests", status="measured"}\n', encoding="utf-8"
    )
    capacity = capacity_of(read_library(path)["polypropylene-homopolymer"], "yield_strength",
                           factors_for(FACTORS, "fall"))
    assert capacity.value == 25.0
    assert "memory" not in capacity.note


def test_metal_by_hand():
    # no range in the library: 503 / 1.10; no loss at 37 °C
    capacity = capacity_of(LIBRARY["aluminium-7075-t6"], "yield_strength", FACTORS)
    assert capacity.value == pytest.approx(503.0 / 1.10)
    assert capacity.basis == "yield strength 503 MPa, over 1.10 for scatter"


def test_scatter_is_counted_once():
    # a range replaces the factor for scatter: 1165 MPa over the environment only
    capacity = capacity_of(LIBRARY["carbon-ud-epoxy"], "tensile_strength_1", FACTORS)
    assert capacity.value == pytest.approx(1165.0 / 1.37)


def test_missing_and_low_confidence_strengths_are_no_capacity(tmp_path):
    assert capacity_of(LIBRARY["carbon-acrylic"], "compressive_strength_1", FACTORS) is None
    path = tmp_path / "own.toml"
    path.write_text(
        "[materials.carbon-acrylic.properties]\n"
        'compressive_strength_1_mpa = {value=150, source="handbook-memory", status="memory-L"}\n'
    )
    material = read_library(path)["carbon-acrylic"]
    assert material.property("compressive_strength_1").value == 150.0
    assert capacity_of(material, "compressive_strength_1", FACTORS) is None


def test_a_users_value_replaces_the_shipped_one(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        "[factors.model.values]\n"
        'metal = {value=1.05, source="own bench tests 2025", status="measured"}\n'
    )
    own = read_factors(path)
    assert own.partial("model", "metal").value == 1.05
    assert own.partial("model", "laminate") == FACTORS.partial("model", "laminate")
    assert own.required("metal").value == pytest.approx(1.05 * 1.20)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ('[factors.luck.values]\nmetal={value=1.1,source="practice",status="practice"}', "unknown"),
        (
            '[factors.thinning.values]\nmetal={value=1.3,source="practice",status="practice"}',
            "counted twice",
        ),
        (
            '[factors.model.values]\nmetal={value=0.9,source="practice",status="practice"}',
            "must be at least 1",
        ),
        (
            '[factors.model]\napplies="strength"\n[factors.model.values]\n'
            'metal={value=1.1,source="practice",status="practice"}',
            "cannot be changed",
        ),
        (
            '[factors.model.values]\nwood={value=1.1,source="practice",status="practice"}',
            "factors.model.values.wood",
        ),
    ],
)
def test_mistakes_in_a_users_factors_are_named(tmp_path, text, complaint):
    path = tmp_path / "own.toml"
    path.write_text(text)
    with pytest.raises(FileError, match=complaint):
        read_factors(path)


def test_a_users_factor_stands_before_the_library(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        "[factors.environment.values]\n"
        'thermoplastic = {value=1.5, source="own oven tests", status="measured"}\n'
        "[factors.material_scatter.values]\n"
        'thermoplastic = {value=1.2, source="own oven tests", status="measured"}\n'
        "[factors.creep.values]\n"
        'thermoplastic = {value=1.4, source="own oven tests", status="measured"}\n',
        encoding="utf-8",
    )
    material = LIBRARY["polypropylene-homopolymer"]
    capacity = capacity_of(material, "yield_strength", read_factors(path))
    assert capacity.value == pytest.approx(34.0 / 1.2 / 1.5 / 1.4)
    assert capacity.sources == ("mpe-1999", "own oven tests")
    assert capacity.note == ""
