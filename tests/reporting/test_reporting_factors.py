# SPDX-License-Identifier: MIT
"""The report's table of partial factors shows what is counted, and from where."""

from fake_assessment import assessment

from fea.check.creep import PEAK_SHARE, strength_kept
from fea.check.factors import read_factors
from fea.material.library import read_library
from fea.reporting.evidence import evidence

FACTORS, LIBRARY = read_factors(), read_library()


def rows():
    tables = [each for part in evidence(assessment(0.5)) for each in part.tables]
    (found,) = [each for each in tables if each.caption.startswith("Partial factors")]
    return {row[0]: row for row in found.rows}


def test_every_effect_and_material_has_its_row():
    found = rows()
    titles = {name.partition(", ")[2] for name in found}
    assert len(found) == len(FACTORS.table) * len(titles)
    assert all(row[3] and row[4] and row[5] for row in found.values())


def test_what_the_library_knows_is_shown_in_place_of_the_general_value():
    plastic = LIBRARY["polypropylene-homopolymer"]
    found = rows()
    warm = found[f"environment, {plastic.title}"]
    assert float(warm[1]) == round(1.0 / 0.78, 2) and "handbook" in warm[4]
    scatter = found[f"material scatter, {plastic.title}"]
    assert scatter[1] == f"{34 / 31:.2f}" and scatter[3] == "read"
    creep = found[f"creep, {plastic.title}"]
    kept = strength_kept(plastic, PEAK_SHARE * 4.0).value
    assert creep[1] == f"{1 / kept:.2f}" and "0.24 h a day" in creep[5]


def test_what_only_the_table_knows_is_shown_as_it_stands_there():
    (model,) = [row for name, row in rows().items() if name.startswith("model, Polypropylene")]
    assert model[1:5] == ("1.15", "multiplies the required factor", "assumed", "assumed")
