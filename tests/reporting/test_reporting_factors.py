# SPDX-License-Identifier: MIT
"""The report's table of partial factors shows what is counted, and from where."""

from dataclasses import replace

from fake_assessment import assessment

from fea.check.creep import PEAK_SHARE, strength_kept
from fea.check.factors import read_factors
from fea.device.device import Fastening, Strap, StrapRivets
from fea.material.library import read_library
from fea.reporting.evidence import evidence

FACTORS, LIBRARY = read_factors(), read_library()


def rows():
    tables = [each for part in evidence(assessment(0.5)) for each in part.tables]
    (found,) = [each for each in tables if each.caption.startswith("Partial factors")]
    return found.rows


def rows_of(name):
    return [row for row in rows() if row[0] == name]


def test_every_effect_and_material_has_its_row():
    found = {row[0] for row in rows()}
    titles = {name.partition(", ")[2] for name in found}
    assert len(found) == len(FACTORS.table) * len(titles)
    assert all(row[3] and row[4] and row[5] for row in rows())


def test_what_the_library_knows_is_shown_in_place_of_the_general_value():
    plastic = LIBRARY["polypropylene-homopolymer"]
    (warm,) = rows_of(f"environment, {plastic.title}")
    assert float(warm[1]) == round(1.0 / 0.78, 2) and "handbook" in warm[4]
    (creep,) = rows_of(f"creep, {plastic.title}")
    kept = strength_kept(plastic, PEAK_SHARE * 4.0).value
    assert creep[1] == f"{1 / kept:.2f}" and "0.24 h a day" in creep[5]


def test_each_value_that_counts_has_a_row_with_the_strengths_it_is_of():
    plastic = LIBRARY["polypropylene-homopolymer"]
    once, rare = rows_of(f"material scatter, {plastic.title}")
    assert once[1] == f"{34 / 31:.2f}" and once[3] == "read"
    assert "Here, of yield strength: lower end 31.0 MPa" in once[5]
    assert rare[1] == f"{36 / 31:.2f}" and rare[3] == "read"
    assert "Here, of tensile strength: lower end 31.0 MPa" in rare[5]


def test_what_only_the_table_knows_is_shown_as_it_stands_there():
    (model,) = [row for row in rows() if row[0].startswith("model, Polypropylene")]
    assert model[1:5] == ("1.15", "multiplies the required factor", "assumed", "assumed")


def test_rivets_and_screws_are_in_the_tables_with_their_numbers():
    result = assessment(0.5)
    screw, rivet = LIBRARY["screw-stainless-a2-70"], LIBRARY["rivet-steel"]
    strap = Strap("calf strap", ("left", "right"), "shank", (-1.0, 0.0, 0.0), 40.0, 10.0,
                  "assumed", "assumed", "calf-shell", 0.5,
                  StrapRivets(count=2, diameter=4.0, washer=10.0, edge_distance=10.0,
                              material=rivet))
    joint = Fastening("screw", "bar place", "shell place", 4.0, material=screw)
    device = replace(result.device, fastenings=(joint,), straps=(strap,))
    changed = replace(result, device=device)
    (part,) = [each for each in evidence(changed) if each.title.startswith("Materials")]
    numbers, _, counted = part.tables
    for material in (screw, rivet):
        assert any(row[0] == f"{material.title}: shear strength" for row in numbers.rows)
        assert any(row[0] == f"model, {material.title}" for row in counted.rows)
