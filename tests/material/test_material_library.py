# SPDX-License-Identifier: MIT
"""The shipped library is complete and honest, and a user's file lies over it."""

import pytest

from fea.errors import FileError, MaterialError
from fea.material.isotropic import Isotropic
from fea.material.laminate import Ply
from fea.material.library import Property, find_material, read_library
from fea.sources import cite

LIBRARY = read_library()
ROWS = [(m.name, name, row) for m in LIBRARY.values() for name, row in m.properties.items()]


def test_the_materials_of_the_trade_are_there():
    assert set(LIBRARY) == {
        "polypropylene-homopolymer",
        "polypropylene-copolymer",
        "carbon-cloth-epoxy",
        "carbon-ud-epoxy",
        "carbon-acrylic",
        "aluminium-7075-t6",
        "aluminium-6061-t6",
        "stainless-steel-316l",
        "titanium-6al-4v",
        "polyamide-12-sintered",
        "rivet-aluminium-2117-t4",
        "rivet-steel",
        "screw-stainless-a2-70",
    }


@pytest.mark.parametrize(("material", "name", "row"), ROWS)
def test_every_number_has_unit_source_and_status(material, name, row):
    assert row.unit in {"MPa", "kg/mm³", "mm", "1"}
    assert row.value > 0.0 or (row.value == 0.0 and name.startswith("fatigue_"))  # R = 0
    assert cite(row.source)
    assert not (row.status == "read" and row.source in {"handbook-memory", "assumed", "practice"})
    assert row.from_memory == row.status.startswith("memory")


def test_elastic_models_and_units():
    plastic = LIBRARY["polypropylene-homopolymer"].elastic
    assert isinstance(plastic, Isotropic)
    assert plastic.youngs_modulus == 1400.0
    assert plastic.density == pytest.approx(0.905e-6)  # kg/mm³
    metal = LIBRARY["aluminium-7075-t6"].elastic
    assert isinstance(metal, Isotropic) and metal.youngs_modulus == 72000.0
    cloth = LIBRARY["carbon-cloth-epoxy"].elastic
    assert isinstance(cloth, Ply) and cloth.g12 == 2700.0


def test_missing_stays_missing():
    laminate = LIBRARY["carbon-acrylic"]
    assert laminate.property("compressive_strength_1") is None
    assert laminate.property("shear_strength_12") is None
    assert laminate.property("tensile_strength_1").low == 236.0


def test_scatter_and_reservations_are_kept():
    strength = LIBRARY["polypropylene-homopolymer"].property("yield_strength")
    assert (strength.low, strength.value, strength.high) == (31.0, 34.0, 37.0)
    assert strength.lower == 31.0 and strength.may_limit
    assert LIBRARY["aluminium-7075-t6"].property("yield_strength").lower == 503.0
    assert not Property(1.0, "MPa", "practice", "memory-L").may_limit


def test_no_shipped_strength_is_too_uncertain_to_limit():
    assert all(row.may_limit for _, name, row in ROWS if "strength" in name)


def test_unknown_material_lists_the_known_ones():
    with pytest.raises(MaterialError, match="polypropylene-copolymer"):
        find_material(LIBRARY, "oak")
    assert find_material(LIBRARY, "carbon-acrylic") is LIBRARY["carbon-acrylic"]


OVERLAY = """
[materials.polypropylene-homopolymer.properties]
yield_strength_mpa = { value = 33.1, source = "own tensile tests, batch 12", status = "measured" }

[materials.own-print]
title = "Our printer, our powder"
kind = "printed"
[materials.own-print.properties]
youngs_modulus_gpa = { value = 1.5, source = "own tests 2025", status = "measured" }
poisson_ratio = { value = 0.39, source = "handbook-memory", status = "memory-H" }
"""


def test_overlay_replaces_one_property_and_adds_a_material(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OVERLAY, encoding="utf-8")
    library = read_library(extra=path)
    changed = library["polypropylene-homopolymer"]
    assert changed.property("yield_strength").value == 33.1
    assert changed.property("youngs_modulus") == LIBRARY[changed.name].property("youngs_modulus")
    assert library["own-print"].elastic == Isotropic(1500.0, 0.39)
    assert LIBRARY["polypropylene-homopolymer"].property("yield_strength").value == 34.0


def test_a_users_title_stands_over_the_users_own_numbers_alone(tmp_path):
    path = tmp_path / "own.toml"
    head = "[materials.polypropylene-homopolymer]\ntitle = \"Our sheet\"\n"
    path.write_text(head + OVERLAY.replace("[materials.polypropylene-homopolymer]\n", ""),
                    encoding="utf-8")
    changed, shipped = read_library(path)["polypropylene-homopolymer"], LIBRARY[
        "polypropylene-homopolymer"]
    titles = {name: row.title for name, row in changed.properties.items()}
    assert titles.pop("yield_strength") == "Our sheet"
    assert set(titles.values()) == {shipped.title}
    assert changed.title == f"{shipped.title}, with numbers of “Our sheet”"


def test_every_number_says_where_it_holds():
    for _, name, row in ROWS:
        assert row.temperature_c in {23.0, 37.0, 71.0} and row.condition, name
    plastic = LIBRARY["polypropylene-homopolymer"]
    assert plastic.property("yield_strength").temperature_c == 23.0
    assert plastic.property("strength_factor_37c").temperature_c == 37.0
    assert "held for 1 h" in plastic.property("creep_modulus_1h").condition


def test_the_nearest_statement_of_temperature_and_condition_counts(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text("""
[defaults]
temperature_c = 30
condition = "our workshop"
[materials.own-print]
title = "Our printer"
kind = "printed"
condition = "dried"
[materials.own-print.properties]
youngs_modulus_gpa = { value = 1.5, source = "own tests 2025", status = "measured" }
poisson_ratio = { value = 0.39, source = "own tests 2025", status = "measured", temperature_c = 40 }
""", encoding="utf-8")
    properties = read_library(path)["own-print"].properties
    assert properties["youngs_modulus"].temperature_c == 30.0
    assert properties["poisson_ratio"].temperature_c == 40.0
    assert {row.condition for row in properties.values()} == {"dried"}


def test_every_mistake_of_a_file_is_reported_at_once(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text("""
[defaults]
humidity = "high"
[materials.mine]
kind = "wood"
[materials.mine.properties]
yield_strength_mm = { value = 1, source = "practice", status = "practice" }
density_g_cm3 = 3
[materials.aluminium-6061-t6.properties]
tensile_strength_mpa = { value = 1, low = 2, source = "practice", status = "practice" }
yield_strength_mpa = { value = 1, source = "nowhere", status = "sure" }
youngs_modulus_gpa = { value = 69, source = "practice", status = "practice" }
youngs_modulus_mpa = { value = 69000, source = "practice", status = "practice" }
[materials.new-metal]
title = "New"
kind = "metal"
[materials.new-metal.properties]
density_g_cm3 = { value = 3, source = "practice", status = "practice" }
""", encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_library(extra=path)
    assert {problem.where for problem in caught.value.problems} == {
        "defaults.humidity", "materials.mine.kind",
        "materials.mine.properties.yield_strength_mm", "materials.mine.properties.density_g_cm3",
        "materials.aluminium-6061-t6.properties.tensile_strength_mpa",
        "materials.aluminium-6061-t6.properties.yield_strength_mpa.source",
        "materials.aluminium-6061-t6.properties.yield_strength_mpa.status",
        "materials.aluminium-6061-t6.properties.youngs_modulus_mpa", "materials.new-metal",
    }


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ('[materials.x]\nkind="metal"\n[materials.x.properties]\n', "needs a title"),
        ('[materials.x]\ntitle="x"\nkind="metal"\n[materials.x.properties]\n', "youngs_modulus"),
        ('[materials.x]\ntitle="x"\nkind="laminate"\n[materials.x.properties]\n', "e1, e2, nu12"),
        ('[materials.x]\ntitle="x"\nkind="wood"\n[materials.x.properties]\n', "materials.x.kind"),
        (
            "[materials.aluminium-6061-t6.properties]\n"
            'yield_strength_mpa = {value=1, low=2, source="practice", status="practice"}\n',
            "must lie between",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'yeild_strength_mpa = {value=30, source="practice", status="practice"}\n',
            "no property is called 'yeild_strength'; did you mean yield_strength",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'yield_strength_mpa = {value=30, low=-4, source="practice", status="practice"}\n',
            "is -4; it must lie between",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'fatigue_maximum_ratio = {value=-1, source="practice", status="practice"}\n',
            "must lie between -0.99 and 0.99",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'published_life_cycles = {value=0, source="practice", status="practice"}\n',
            "must lie between 100 and",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'fatigue_amplitude_mpa = {value=40, source="practice", status="practice"}\n',
            "not below what the material bears once",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'tensile_strength_ksi = {value=5, source="practice", status="practice"}\n',
            "'tensile_strength_ksi' must end in _mpa or _gpa or _kpa",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'tensile_strength_mpa = {value=25, source="practice", status="practice"}\n',
            "yield strength of 34 MPa lies above the tensile strength of 25 MPa; give the largest",
        ),
        (
            "[materials.polypropylene-homopolymer.properties]\n"
            'creep_strength_factor_1000h = {value=0.8, source="practice", status="practice"}\n',
            "creep strength factor 1000h of 0.8 lies above the creep strength factor 1h of 0.743",
        ),
        (
            "[materials.aluminium-6061-t6.properties]\n"
            'yield_strength_mpa = {value=1, source="nowhere", status="read"}\n',
            "unknown source key",
        ),
        (
            "[materials.aluminium-6061-t6.properties]\n"
            'yield_strength_mpa = {value=1, source="practice", status="sure"}\n',
            "status",
        ),
        (
            "[materials.aluminium-6061-t6.properties]\n"
            'density_g_cm3 = {value=1, source="practice", status="practice"}\n'
            'density_kg_m3 = {value=1, source="practice", status="practice"}\n',
            "given twice",
        ),
        (
            "[materials.aluminium-6061-t6.properties]\n"
            'poisson_ratio = {value=0.5, source="practice", status="practice"}\n',
            "Poisson ratio 0.5",
        ),
    ],
)
def test_mistakes_in_a_users_file_are_named(tmp_path, text, complaint):
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=complaint):
        read_library(extra=path)


def test_the_wrong_unit_is_refused(tmp_path):
    # the strength of a metal given as a length
    path = tmp_path / "own.toml"
    path.write_text(
        "[materials.aluminium-6061-t6.properties]\n"
        'yield_strength_mm = {value=1, source="practice", status="practice"}\n',
        encoding="utf-8",
    )
    with pytest.raises(FileError, match="yield_strength_mm.* must end in _mpa"):
        read_library(extra=path)


def test_the_steel_rivet_is_a_solid_one():
    """It is judged on its full shank, which a tubular rivet does not have."""
    title = read_library()["rivet-steel"].title
    assert title.startswith("Solid rivet") and "tubular rivets are not covered" in title


def test_every_fatigue_strength_says_at_which_stress_ratio():
    """A range of stress means nothing without it; R = -1 is taken only where it is said to be."""
    found = [
        (name, key, row)
        for name, material in read_library().items()
        for key, row in material.properties.items()
        if key.startswith(("fatigue_amplitude", "fatigue_maximum_stress", "fatigue_ratio"))
    ]
    assert len(found) > 12
    for name, key, row in found:
        assert "R = " in row.condition or "R not stated" in row.condition, (name, key)
        assert row.may_limit and cite(row.source), (name, key)
