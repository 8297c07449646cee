# SPDX-License-Identifier: MIT
"""The verdict in the terminal: what a place means, and what shares a reason shares a line."""

from dataclasses import replace

from fea.check.check import Check, NotChecked
from fea.check.verdict import text_summary

CHECK = Check(topic="yield", zone="strip", case="push", place=(1, 2, 3), demand=1.0, capacity=2.0,
              unit="MPa", required=1.5, basis="von Mises", sources=())


def gap(zone, because="no strength is known"):
    return NotChecked(topic="fastening", zone=zone, because=because)


def test_the_table_shows_the_error_that_the_demand_contains():
    lines = text_summary("A strip", [replace(CHECK, error=0.25), CHECK], []).splitlines()
    assert lines[2].split().index("error") == lines[2].split().index("demand") + 1
    assert any(" 1.00" in line and " 0.250" in line for line in lines)
    assert any(line.startswith("error: estimated error of the mesh, a part of the demand; –")
               for line in lines)
    assert text_summary("A strip", [CHECK], []).splitlines()[4].split()[7] == "–"
    nought = text_summary("A strip", [replace(CHECK, error=0.0)], []).splitlines()[4]
    assert float(nought.split()[7]) == 0.0  # estimated, and nought


def test_places_with_the_same_reason_share_a_line_and_are_still_counted():
    gaps = [*(gap(f"rivet {k}") for k in range(12)), gap("screw", "it is new")]
    lines = text_summary("A strip", [CHECK], gaps).splitlines()
    assert "Not checked (13):" in lines
    assert "  fastening, 12 places: no strength is known" in lines
    assert "  fastening, screw: it is new" in lines
    assert sum("fastening" in line for line in lines) == 2


def test_the_table_says_what_its_places_mean():
    lines = text_summary("A strip", [CHECK], []).splitlines()
    assert lines.count("at: x ahead of the ankle axis, y to the wearer's left, z above the floor, "
                       "mm") == 1


def test_a_place_that_is_judged_by_itself_is_named_with_its_area():
    peak = replace(CHECK, topic="local peak", basis="re-entrant corner at (1, 2, 3) 40 mm²")
    lines = text_summary("A strip", [CHECK, peak], []).splitlines()
    start = lines.index("Left out of the plain maximum of stress and judged by itself:")
    assert lines[start + 1] == "  strip: re-entrant corner at (1, 2, 3) 40 mm²"


def test_buckling_is_told_in_words():
    check = replace(CHECK, topic="buckling", capacity=0.41, unit="1",
                    basis="load factor 1 against the critical factor 1.60 (proved)")
    lines = text_summary("A strip", [CHECK, check], []).splitlines()
    row = next(line for line in lines if line.startswith("buckling"))
    assert "× load" in row
    start = lines.index("Buckling, as a factor on the loads:")
    assert lines[start + 1] == f"  strip: {check.basis}"
    assert "Buckling, as a factor on the loads:" not in text_summary("A strip", [CHECK], [])
