# SPDX-License-Identifier: MIT
"""Measured gait that cannot be what its header says: told in one sentence with place and cure."""

import shutil

import pytest

import fea.errors
from fea.loadcase.measured import read_measured_gait
from fea.loadcase.reader import read_load_set
from fea.shipped import shipped_path


@pytest.fixture
def files(tmp_path):
    """The shipped example as files to spoil: header and table."""
    header = shipped_path("loadcases", "example-laboratory")
    for path in (header, header.with_suffix(".csv")):
        shutil.copy(path, tmp_path)
    return tmp_path / header.name, tmp_path / header.with_suffix(".csv").name


def change(path, *pairs):
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")


def scale(table, column, factor):
    """Multiply a column of the table."""
    lines = table.read_text(encoding="utf-8").splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("time_s"))
    place = lines[start].split(",").index(column)
    for k in range(start + 1, len(lines)):
        cells = lines[k].split(",")
        if cells[place]:
            cells[place] = repr(factor * float(cells[place]))
        lines[k] = ",".join(cells)
    table.write_text("\n".join(lines), encoding="utf-8")


def told(header):
    with pytest.raises(fea.errors.FileError) as caught:
        read_measured_gait(header)
    return str(caught.value)


def has(text, *words):
    for word in words:
        assert word in text, text


def test_the_example_itself_is_accepted(files):
    assert len(read_load_set(files[0]).instants) == 25


# -- the table ---------------------------------------------------------------------------------


def test_missing_and_doubled_columns(files):
    header, table = files
    change(table, ("Fx_N,CoP_mm", "Fz_N,place"))
    has(told(header), "3 problems", "column 'Fz_N': is there 2 times",
        "column 'Fx_N': is missing; the table has 'time_s', 'Fz_N'", "column 'CoP_mm': is missing")


def test_text_where_numbers_belong(files):
    header, table = files
    change(table, ("0.054,", "0.054 s,"), ("0.090,", "0.090,n/a;"))
    has(told(header), "2 problems", "line 8, column 'time_s': '0.054 s' is not a number",
        "line 10, column 'Fz_N': 'n/a;", "decimals take a point")


def test_decimal_commas_make_too_many_cells(files):
    header, table = files
    change(table, ("0.054,", "0,054,"))
    has(told(header), "line 8: has 8 cells and the heading 7", "decimals take a point")


def test_time_that_does_not_rise(files):
    header, table = files
    change(table, ("\n0.072,", "\n0.054,"), ("\n0.108,", "\n0.010,"))
    has(told(header), "2 problems", "line 9, column 'time_s': 0.054 comes after 0.054",
        "line 11, column 'time_s': 0.01 comes after 0.09", "sort the rows")


@pytest.mark.parametrize("empty", ["", "NaN"])
def test_gaps_in_stance(files, empty):
    header, table = files
    rows = table.read_text(encoding="utf-8").splitlines()
    cells = rows[20].split(",")
    change(table, (f"{cells[0]},{cells[1]},{cells[2]},{cells[3]}",
                   f"{cells[0]},{cells[1]},{cells[2]},{empty}"))
    has(told(header), "column 'CoP_mm', line 21", "is empty; fill the gap", "nothing is filled in")
    change(table, (f"{cells[0]},{cells[1]}", f"{cells[0]},{empty}"))
    has(told(header), "column 'Fz_N', line 21", "is empty")


def test_a_table_that_is_not_there_or_no_table(files):
    header, table = files
    table.write_bytes(b"\xff\xfe\x00")
    has(told(header), "example-laboratory.csv: is not UTF-8 text")
    table.write_text("# nothing\n", encoding="utf-8")
    has(told(header), "has no rows")
    table.unlink()
    has(told(header), "cannot be read", "put it beside its header")


def test_less_than_a_stance_and_too_few_rows(files):
    header, table = files
    change(header, ("foot_off = 0.531", "foot_off = 0.7"))
    has(told(header), "column 'time_s': runs from 0 to 0.558, which is 0 to 80 % of stance",
        "correct [sampling] or add rows")
    change(header, ("foot_off = 0.7", "foot_off = 0.531"))
    rows = table.read_text(encoding="utf-8").splitlines()
    table.write_text("\n".join(rows[:4] + rows[4::3] + rows[-1:]), encoding="utf-8")
    has(told(header), "rows in the loaded part of stance, and 15 are needed")


def test_two_steps_in_one_stance(files):
    header, table = files
    row = table.read_text(encoding="utf-8").splitlines()[18]
    force = row.split(",")[1]
    change(table, (f",{force},", ",2.0,"))
    has(told(header), "column 'Fz_N', line 19 (2 N): the force all but vanishes within stance",
        "contact and foot_off")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [("foot_off = 0.531", "foot_off = 0.400", ("column 'Fz_N'", "at foot_off the force is", "%")),
     ("contact = 0.0", "contact = 0.09", ("at contact the force is 9", "correct contact")),
     ("contact = 0.0", "contact = -0.30", ("runs from 0 to 0.558", "whole stance"))],
)
def test_events_inside_the_load(files, old, new, words):
    change(files[0], (old, new))
    has(told(files[0]), *words)


def test_a_foot_off_long_after_the_load(files):
    header, table = files
    with table.open("a", encoding="utf-8") as file:
        file.writelines(f"{0.576 + 0.018 * k:.3f},0,0,,0,0,0\n" for k in range(18))
    change(header, ("foot_off = 0.531", "foot_off = 0.86"))
    has(told(header), "column 'Fz_N', line 33", "the load ends here, 41 % of stance from foot_off")


def test_of_many_like_mistakes_the_first_are_told(files):
    header, table = files
    scale(table, "Fx_N", float("nan"))
    text = told(header)
    has(text, "4 problems", "column 'Fx_N', line 6", "and 25 more of this kind from here")


def test_a_table_in_a_folder_below(files):
    header, table = files
    (table.parent / "tables").mkdir()
    table.rename(table.parent / "tables" / table.name)
    change(header, ('file = "', 'file = "tables/'))
    assert len(read_load_set(header).instants) == 25


# -- units -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pair", "words"),
    [(('unit = "N"\npositive = "up', 'unit = "BW"\npositive = "up'),
      ("column 'Fz_N', line", "vertical_force would reach 376.5", "0.2 to 4 BW", "looks like 'N'")),
     (('unit = "N"\npositive = "up', 'unit = "N/kg"\npositive = "up'),
      ("vertical_force would reach 38.39", "looks like 'N'")),
     (('unit = "N"\npositive = "back', 'unit = "N/kg"\npositive = "back'),
      ("column 'Fx_N'", "fore_aft_force would reach 6.", "looks like 'N'")),
     (('unit = "mm"', 'unit = "m"'), ("CoP_mm", "foot lengths of travel", "looks like 'mm'")),
     (('unit = "mm"', 'unit = "foot lengths"'), ("CoP_mm", "looks like 'mm'")),
     (('unit = "N·m"\npositive = "internal p', 'unit = "Nm/kg"\npositive = "internal p'),
      ("ankle_moment would reach 42", "looks like 'N·m'")),
     (('unit = "deg"', 'unit = "rad"'), ("ankle_angle_deg", "60 deg", "looks like 'deg'"))],
)
def test_units_that_no_walk_can_have(files, pair, words):
    change(files[0], pair)
    has(told(files[0]), *words)


@pytest.mark.parametrize(
    ("column", "factor", "words"),
    [("ankle_moment_Nm", 1000.0, "numbers look 1000 times too large"),
     ("knee_moment_Nm", 1000.0, "numbers look 1000 times too large"),
     ("Fz_N", 0.001, "looks like 'BW'"),
     ("CoP_mm", 0.001, "looks like 'm'")],
)
def test_numbers_a_thousand_times_off(files, column, factor, words):
    scale(files[1], column, factor)
    has(told(files[0]), f"column '{column}', line", words)


def test_body_mass_of_another_unit_shows_in_the_forces(files):
    change(files[0], ("mass_kg = 35.0", "mass_kg = 8.0"))
    has(told(files[0]), "vertical_force would reach 4.7", "correct its unit or its numbers")


# -- directions --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [("up on the foot", "down on the foot",
      ("column 'Fz_N', line", "pull the foot down", "`positive` of vertical_force")),
     ("backward on the foot", "forward on the foot",
      ("column 'Fx_N', line", "drive the foot forward in the first half", "brakes first",
       "`positive` of fore_aft_force")),
     ("toward the toes", "toward the heel",
      ("column 'CoP_mm'", "heel to toe", "`positive` of centre_of_pressure")),
     ("internal plantarflexing", "internal dorsiflexing",
      ("column 'ankle_moment_Nm', line", "N·m/kg", "20 %", "sign is the other way round"))],
)
def test_signs_the_other_way_round(files, old, new, words):
    change(files[0], (old, new))
    if old == "internal plantarflexing":  # the pitch rests on this moment too; take it away
        change(files[0], ("[columns.knee_moment]", "[columns.foot_angle]"),
               ('column = "knee_moment_Nm"\nunit = "N·m"\npositive = "internal extending"',
                'column = "pitch"\nunit = "deg"\npositive = "heel up"'))
        add_pitch(files[1])
    has(told(files[0]), *words)


def add_pitch(table, sign=1.0):
    """A foot angle like that of the published curves: flat to 60 % of stance, then rising."""
    lines = table.read_text(encoding="utf-8").splitlines()
    for k, line in enumerate(lines):
        if line.startswith("time_s"):
            lines[k] = line + ",pitch"
        elif not line.startswith("#"):
            share = float(line.split(",")[0]) / 0.531
            lines[k] = f"{line},{sign * max(0.0, 110.0 * (share - 0.65)):.2f}"
    table.write_text("\n".join(lines), encoding="utf-8")


def test_an_ankle_moment_alone_betrays_its_sign_by_the_place(files):
    header, _ = files
    text = header.read_text(encoding="utf-8")
    start, stop = text.index("[columns.centre"), text.index("[columns.ankle_moment]")
    text = text[:start] + text[stop:]
    header.write_text(text.replace("internal plantar", "external plantar"), encoding="utf-8")
    has(told(header), "column 'ankle_moment_Nm'", "heel to toe", "`positive` of ankle_moment")


def test_a_walker_on_the_forefoot_is_accepted_and_remarked(files):
    """The centre of pressure stays near 0.8 foot lengths and even goes back a little."""
    header, table = files
    text = header.read_text(encoding="utf-8")
    start, stop = text.index("[columns.ankle_moment]"), text.index("# The pitch of the foot after")
    header.write_text(text[:start] + text[stop:text.index("[columns.knee_moment]")],
                      encoding="utf-8")
    lines = table.read_text(encoding="utf-8").splitlines()
    for k, line in enumerate(lines):
        cells = line.split(",")
        if not line.startswith(("#", "time")):
            cells[3] = str(180.0 - 20.0 * float(cells[0]))
        lines[k] = ",".join(cells)
    table.write_text("\n".join(lines), encoding="utf-8")
    assert "right for a walker on the forefoot" in read_load_set(header).note


def test_a_heel_that_falls_before_foot_off(files):
    header, table = files
    change(header, ("[columns.knee_moment]", "[columns.foot_angle]"),
           ('column = "knee_moment_Nm"\nunit = "N·m"\npositive = "internal extending"',
            'column = "pitch"\nunit = "deg"\npositive = "toes up"'))
    add_pitch(table)
    has(told(header), "column 'pitch'", "heel rises before foot-off", "foot_angle")


def test_a_moment_that_force_and_place_deny(files):
    header, table = files
    scale(table, "CoP_mm", 0.7)
    has(told(header), "column 'ankle_moment_Nm', line", "differ by up to", "20 % of the peak",
        "check foot_length_mm")


def test_a_place_off_the_foot(files):
    header, _ = files
    change(header, ("height_mm = 1410.0", "height_mm = 1410.0\nfoot_length_mm = 120.0"))
    has(told(header), "centre of pressure works out as 1.", "foot lengths ahead of the heel edge",
        "outside -0.3 to 1.5")


# -- the header --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [('unit = "mm"', 'unit = "cm"', ("unit 'cm' is unknown; use 'mm', 'm' or 'foot lengths'",)),
     ('"up on the foot"', '"up"', ("positive 'up' is unknown; use 'up on the foot',",)),
     ("[columns.ankle_angle]", "[columns.toe_angle]", ("[columns.toe_angle] is no quantity",)),
     ("[columns.vertical_force]", "[columns.medial_force]",
      ("[columns.vertical_force] is required and missing",)),
     ('column = "Fx_N"', 'column = "Fz_N"', ("column 'Fz_N' is given for two quantities",)),
     ('column = "Fz_N"', 'column = "right Fz"', ("says right and person.side says left",)),
     ('from = "heel edge" ', "", ("has no from",)),
     ('from = "heel edge"', 'from = "laboratory"', ("[columns.ankle_position] goes with",)),
     ("foot_off = 0.531", "foot_off = -1.0", ("sampling: give foot_off, later than contact",)),
     ("next_contact = 0.90", "next_contact = 0.5", ("must be later than foot_off",)),
     ('unit = "s" ', 'unit = "% of stance"', ("stance runs from 0 to 100 %",)),
     ("mass_kg = 35.0", "mass_kg = 35000.0", ("person.mass_kg",)),
     ('kind = "measured gait"', 'kind = "gait"', ("kind: 'gait' is unknown; use 'measured gait'",)),
     ("[person]", "[verdict]\nscatter_factor = 0.8\nsource = 'mine'\n[person]",
      ("verdict.scatter_factor", "unknown source key 'mine'"))],
)
def test_headers(files, old, new, words):
    change(files[0], (old, new))
    with pytest.raises(fea.errors.FileError) as caught:
        read_load_set(files[0])
    has(str(caught.value), *words)
