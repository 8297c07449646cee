# SPDX-License-Identifier: MIT
"""Units, sources, tensors, tables and shipped content."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import fea.sources
from fea.errors import InputError
from fea.shipped import resolve, shipped_names, shipped_path
from fea.sources import SOURCES, cite
from fea.tables import text_table
from fea.tensors import principal, rotation_about, skew, von_mises
from fea.units import SUFFIXES, UNITS, convert, internal_unit, split_key

STRESS = st.floats(-1e3, 1e3)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (1.0, "N·m", 1000.0),
        (180.0, "deg", math.pi),
        (1.0, "N·m/deg", 1000.0 * 180.0 / math.pi),
        (23.0, "kPa/mm", 0.023),
        (2.7, "g/cm³", 2.7e-6),
        (1050.0, "kg/m³", 1.05e-6),
        (15.0, "%", 0.15),
    ],
)
def test_conversion_to_internal_units(value, unit, expected):
    assert convert(value, unit) == pytest.approx(expected, rel=1e-12)
    assert convert(expected, internal_unit(unit), to=unit) == pytest.approx(value, rel=1e-12)


def test_every_kind_of_quantity_has_exactly_one_internal_unit():
    kinds = {kind for kind, _ in UNITS.values()}
    for kind in kinds:
        assert [factor for k, factor in UNITS.values() if k == kind].count(1.0) == 1
    assert set(SUFFIXES.values()) <= set(UNITS)


def test_wrong_units_are_refused():
    with pytest.raises(InputError, match="unit of length.*one of stress"):
        convert(1.0, "mm", to="MPa")
    with pytest.raises(InputError, match="unknown unit 'inch'"):
        convert(1.0, "inch")


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("thickness_mm", ("thickness", "mm")),
        ("stiffness_nm_per_deg", ("stiffness", "N·m/deg")),
        ("moment_nm", ("moment", "N·m")),
        ("bed_kpa_per_mm", ("bed", "kPa/mm")),
        ("strength_factor_37c", ("strength_factor_37c", "1")),
        ("_mm", ("_mm", "1")),
    ],
)
def test_the_suffix_of_a_key_is_its_unit(key, expected):
    assert split_key(key) == expected


def test_sources_are_sorted_and_written_out():
    text = Path(fea.sources.__file__).with_name("sources.toml").read_text("utf-8")
    keys = [line.split(" = ")[0] for line in text.splitlines() if " = " in line]
    assert keys == sorted(SOURCES) and len(keys) == len(SOURCES)
    for key, source in SOURCES.items():
        assert " " not in key and source.key == key and len(source.citation) > 10


def test_citing():
    assert cite("practice") == "Common practice, no source."
    with pytest.raises(InputError, match="unknown source key 'nowhere'"):
        cite("nowhere")


@given(STRESS, STRESS, STRESS)
def test_von_mises_from_principal_values(s11, s22, s12):
    stress = [s11, s22, s12]
    s1, s2 = principal(stress)
    assert s1 >= s2
    expected = math.sqrt(max(s1 * s1 - s1 * s2 + s2 * s2, 0.0))
    assert von_mises(stress) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_principal_by_hand():
    # centre 30, radius sqrt(20² + 15²) = 25
    assert principal([50.0, 10.0, 15.0]).tolist() == [55.0, 5.0]
    # sqrt(50² - 500 + 10² + 3·15²) = sqrt(2775)
    assert von_mises([50.0, 10.0, 15.0]) == pytest.approx(math.sqrt(2775.0))


def test_rotation_is_right_handed_and_orthogonal():
    turn = rotation_about([0, 0, 2.0], math.radians(90.0))
    np.testing.assert_allclose(turn @ [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], atol=1e-15)
    general = rotation_about([1.0, -2.0, 0.5], 0.7)
    np.testing.assert_allclose(general @ general.T, np.eye(3), atol=1e-14)
    assert np.linalg.det(general) == pytest.approx(1.0)


def test_skew_is_the_cross_product():
    a, b = np.array([[1.0, 2.0, 3.0], [0.0, -1.0, 4.0]]), np.array([0.3, 0.1, -2.0])
    np.testing.assert_allclose(skew(a) @ b, np.cross(a, b))


def test_text_table_shows_missing_numbers_and_refuses_ragged_rows():
    table = text_table(["check", "factor"], [["yield", None], ["ply", 1.5]])
    assert table.splitlines()[2] == "yield       -"
    assert text_table(["a"], []) == "a\n-"
    with pytest.raises(ValueError, match="row 1 has 1 cells under 2 headers"):
        text_table(["a", "b"], [["x"]])


def test_shipped_content_is_found_or_named(tmp_path):
    for kind in ("meshes", "wearers", "loadcases"):
        for name in shipped_names(kind):
            assert shipped_path(kind, name).is_file()
            assert resolve(kind, name) == shipped_path(kind, name)
    own = tmp_path / "own.toml"
    own.write_text("")
    assert resolve("meshes", own) == own == resolve("meshes", str(own))
    with pytest.raises(InputError, match="no shipped name 'nothing'"):
        resolve("loadcases", "nothing")
    with pytest.raises(InputError, match="there is no file"):
        resolve("loadcases", tmp_path / "absent.toml")
    with pytest.raises(InputError, match="unknown kind"):
        shipped_names("recipes")
