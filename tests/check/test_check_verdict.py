# SPDX-License-Identifier: MIT
"""The verdict in the terminal: what a place means, and what shares a reason shares a line."""

from fea.check.check import Check, NotChecked
from fea.check.verdict import text_summary

CHECK = Check(topic="yield", zone="strip", case="push", place=(1, 2, 3), demand=1.0, capacity=2.0,
              unit="MPa", required=1.5, basis="von Mises", sources=())


def gap(zone, because="no strength is known"):
    return NotChecked(topic="fastening", zone=zone, because=because)


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
