# SPDX-License-Identifier: MIT
"""Plans of sweeps: what varies over what, the file that says so, and what is refused."""

import re
from itertools import pairwise

import pytest

from fea.errors import FileError, InputError
from fea.study.sweepfile import HypercubeTable, SweepFile, read_plan
from fea.study.sweepplan import Axis, Plan, column_of, grid, hypercube

HEAD = """
device = "ribbed-polypropylene-child"
wearer = "demo-child"
"""
INF, NAN = float("inf"), float("nan")
ANKLE, TRIM = "device.walls.ankle.sheet_mm", "device.ankle.anterior_trim_mm"


@pytest.fixture
def written(tmp_path):
    def write(text, head=HEAD):
        path = tmp_path / "plan.toml"
        path.write_text(head + text, encoding="utf-8")
        return path

    return write


def refusal(work, *given, **named):
    with pytest.raises(InputError) as caught:
        work(*given, **named)
    return str(caught.value)


def test_a_grid_is_every_combination():
    rows = grid({ANKLE: [5.0, 6.0], TRIM: {"from": 20.0, "to": 28.0, "count": 3}})
    assert [(row[ANKLE], row[TRIM]) for row in rows] == [
        (5.0, 20.0), (5.0, 24.0), (5.0, 28.0), (6.0, 20.0), (6.0, 24.0), (6.0, 28.0)]


def test_each_value_of_a_hypercube_is_spread_evenly_and_drawn_again_by_its_seed():
    vary = {ANKLE: {"from": 4.0, "to": 8.0}, "loads.fz_bw": {"times": {"from": 0.8, "to": 1.2}},
            "device.walls.ankle.material": ["a", "b"]}  # fmt: skip
    rows = hypercube(vary, count=20, seed=7)
    for values in ([row[ANKLE] / 4.0 - 1.0 for row in rows],
                   [(row["loads.fz_bw"]["times"] - 0.8) / 0.4 for row in rows]):
        assert sorted(int(20 * share) for share in values) == list(range(20))
    assert [row["device.walls.ankle.material"] for row in rows].count("a") == 10
    assert rows == hypercube(vary, count=20, seed=7)
    assert rows != hypercube(vary, count=20, seed=8)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (5.0, "give a list of values"),
        ([], "give a list of values"),
        ("thin", "give a list of values"),
        ({"from": 4.0, "to": 6.0}, "count = 5"),
        ({"from": 6.0, "to": 4.0, "count": 3}, "the lower one first"),
        ({"from": 4.0, "to": "six", "count": 3}, "give two finite numbers"),
        ({"from": 4.0, "to": INF, "count": 3}, "runs from 4.0 to inf; give two finite numbers"),
        ({"from": NAN, "to": 4.0, "count": 3}, "runs from nan to 4.0; give two finite numbers"),
        ({"from": 4, "to": 10**400, "count": 3}, "give two finite numbers"),
        ({"from": 4.0, "to": 6.0, "count": 1}, "count = 1; give a whole number from 2 to 100000"),
        ({"from": 4.0, "to": 6.0, "count": 10_000_000},
         "count = 10000000; give a whole number from 2 to 100000"),
        ({"from": 4.0, "to": 6.0, "count": 2.5}, "a whole number from 2"),
        ({"from": 4.0, "to": 6.0, "count": NAN}, "a whole number from 2"),
        ({"from": 4.0, "to": 6.0, "count": "3"}, "a whole number from 2"),
        ({"from": 4.0, "to": 6.0, "count": True}, "a whole number from 2"),
        ({"from": 4.0, "to": 6.0, "count": 3.0},
         "count = 3.0; write it without a point, as a whole number: 3"),
    ],
)
def test_what_is_no_list_and_no_range_is_refused(given, told):
    assert told in refusal(Axis.of, ANKLE, given)


def test_too_many_designs_are_a_slip():
    axis = {"from": 1.0, "to": 2.0, "count": 1000}
    assert "1000000 designs" in refusal(grid, {ANKLE: axis, TRIM: axis})
    most = {f"loads.{k}": [1.0] * 100_000 for k in range(70)}  # beyond what a float can hold
    assert "at most 100000" in refusal(grid, most)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"count": -1, "seed": 1}, "count = -1; give a whole number from 1 to 100000"),
        ({"count": 0, "seed": 1}, "count = 0; give a whole number from 1 to 100000"),
        ({"count": 4, "seed": -1}, "seed = -1; give a whole number from 0"),
    ],
)
def test_a_draw_that_cannot_be_is_refused(given, told):
    assert told in refusal(hypercube, {ANKLE: {"from": 4.0, "to": 6.0}}, **given)


def test_a_range_of_a_hypercube_has_no_count():
    told = refusal(hypercube, {ANKLE: {"from": 4.0, "to": 6.0, "count": 3}}, count=4, seed=1)
    assert "in a hypercube a range has no count" in told


def test_a_file_is_read(written):
    plan = read_plan(written(f"""
title = "Ankle"
size_mm = 14.0
fall = "none"
large_rotation = false
[vary]
"{ANKLE}" = [5.0, 6.0]
"""))
    assert plan.title == "Ankle" and plan.how.size == 14.0
    assert (plan.how.fall, plan.how.step, plan.how.large_from_deg) == (None, "auto", None)
    assert plan.base.loads.name == "walking-envelope"
    assert plan.designs == ({ANKLE: 5.0}, {ANKLE: 6.0})


def test_designs_are_listed_one_by_one(written):
    plan = read_plan(written(f"""
[[designs]]
"{ANKLE}" = 5.0
"wearer.mass_kg" = 30.0
[[designs]]
"{ANKLE}" = 6.0
"wearer.mass_kg" = 40.0
"""))
    assert [design["wearer.mass_kg"] for design in plan.designs] == [30.0, 40.0]


def test_a_hypercube_is_asked_for_in_the_file(written):
    plan = read_plan(written(f"""
[vary]
"{ANKLE}" = {{ from = 4.0, to = 6.0 }}
[hypercube]
count = 5
seed = 3
"""))
    assert len(plan.designs) == 5


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "give either [vary] or [[designs]]"),
        (f'[vary]\n"{ANKLE}" = 5.0', "give a list of values"),
        (f'[vary]\n"{ANKLE}" = [5.0]\n[[designs]]\n"{ANKLE}" = 5.0', "give either [vary] or"),
        (f'[[designs]]\n"{ANKLE}" = 5.0\n[[designs]]\n"{TRIM}" = 5.0', "set the same in every"),
        ('[vary]\n"device.walls.ancle.sheet_mm" = [5.0]\n"wearer.weight" = [3.0]', "weight"),
        ('[vary]\n"device.walls.ancle.sheet_mm" = [5.0]\n"wearer.weight" = [3.0]', "ancle"),
        ('[vary]\ndevice.walls.ankle.sheet_mm = [5.0]', "one pair of quotes"),
        (f'loads = "nowhere"\n[vary]\n"{ANKLE}" = [5.0]', "nowhere"),
        (f'fall = "nowhere"\n[vary]\n"{ANKLE}" = [5.0]', "fall: "),
        (f'sizes_mm = 5.0\n[vary]\n"{ANKLE}" = [5.0]', "unknown key"),
        (f'[vary]\n"{ANKLE}" = [5.0, nan]', f"'{ANKLE}' is nan in design 2; give finite numbers"),
        ('[vary]\n"loads.fz_bw" = {times = [1.0, inf]}', "is {'times': inf} in design 2"),
        (f'[[designs]]\n"{ANKLE}" = [5.0, inf]', "in design 1; give finite numbers"),
        (f'[[designs]]\n"{ANKLE}" = 5.0\n[[designs]]\n"{ANKLE}" = {{times = 1.1}}',
         "is set in design 1 and stepped by times in design 2; write it alike"),
        ('[vary]\n"loads.fz_bw" = [{times = 1.1}, {add = 0.1}]',
         "is stepped by times in design 1 and stepped by add in design 2"),
    ],
)
def test_every_mistake_of_a_file_is_told(written, text, told):
    path = written(text)
    with pytest.raises(FileError) as caught:
        read_plan(path)
    assert str(path) in str(caught.value) and told in str(caught.value)


@pytest.mark.parametrize(
    ("file", "kind"),
    [
        ("meshes/ribbed-polypropylene-child.toml", "device"),
        ("meshes/wearers/demo-child.toml", "wearer"),
        ("meshes/changes/taller-ribs-thicker-ankle.toml", "change"),
        ("loadcases/sitting.toml", "load set"),
    ],
)
def test_a_file_of_another_kind_is_called_what_it_is(root, file, kind):
    with pytest.raises(FileError) as caught:
        read_plan(root / file)
    (problem,) = caught.value.problems
    assert problem.what.startswith(f"this is the file of a {kind}, not a plan")


def test_the_readme_names_every_key_and_its_short_examples_are_read(root, written):
    readme = (root / "README.md").read_text(encoding="utf-8")
    section = readme.partition("## Many designs\n")[2].partition("\n## ")[0]
    for key in (*SweepFile.model_fields, *HypercubeTable.model_fields):
        assert re.search(rf"`\[*{key}\b|^\[*{key}\b", section, flags=re.M), key
    _, drawn, listed = re.findall(r"^```toml\n(.*?)^```$", section, flags=re.M | re.S)
    vary = f'[vary]\n"{ANKLE}" = {{ from = 5.0, to = 7.0 }}\n'
    assert len(read_plan(written(vary + drawn)).designs) == 40
    assert read_plan(written(listed)).designs == ({ANKLE: 6.5},)


def test_an_empty_design_is_the_device_as_given(written):
    assert read_plan(written("[[designs]]")).designs == ({},)


def test_a_path_is_accepted_where_one_of_its_values_can_be_set(written):
    plan = read_plan(written('[vary]\n"device.walls.ankle.thinning" = [0.1, 0.8]'))
    assert len(plan.designs) == 2


def test_files_beside_the_plan_are_found(written, tmp_path, root):
    content = (root / "meshes/wearers/demo-child.toml").read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(content, encoding="utf-8")
    head = 'device = "ribbed-polypropylene-child"\nwearer = "mine.toml"\n'
    assert read_plan(written(f'[vary]\n"{ANKLE}" = [5.0]', head)).base.wearer.mass_kg == 35.0


def test_wearers_devices_loads_and_changes_are_varied_by_name(written, tmp_path, root):
    content = (root / "meshes/wearers/demo-child.toml").read_text(encoding="utf-8")
    big = tmp_path / "big.toml"
    big.write_text(content.replace("mass_kg = 35.0", "mass_kg = 40.0"), encoding="utf-8")
    text = """
[vary]
wearer = ["demo-child", "big.toml"]
"wearer.mass_kg" = { add = [0.0, 1.0] }
device = ["ribbed-polypropylene-child", "bare-two-upright-polypropylene-child"]
change = ["none", "taller-ribs-thicker-ankle"]
loads = ["sitting", "stairs"]
"""
    plan = read_plan(written(text))
    assert len(plan.designs) == 32
    columns = [dict(column_of(*item) for item in design.items()) for design in plan.designs]
    assert columns[-1] == {"wearer": "big.toml", "wearer.mass_kg add": 1.0, "loads": "stairs",
                           "device": "bare-two-upright-polypropylene-child",
                           "change": "taller-ribs-thicker-ankle"}  # fmt: skip
    design = plan.base.changed(plan.designs[-1])
    assert (design.wearer.mass_kg, design.loads.name) == (41.0, "stairs")
    assert design.device.name == "bare-two-upright-polypropylene-child"
    assert plan.base.changed(plan.designs[0]).change is None and design.change is not None
    big.write_text(big.read_text(encoding="utf-8").replace("40.0", "41.0"), encoding="utf-8")
    assert read_plan(written(text)).key != plan.key


def test_every_unknown_name_is_told(written):
    with pytest.raises(FileError) as caught:
        read_plan(written('[vary]\nwearer = ["demo-child", "who", 3]\ndevice = ["what"]'))
    for word in ("'who' in wearers", "'what' in meshes", "'wearer' is set to 3"):
        assert word in str(caught.value)


def test_another_plan_has_another_key(written):
    first = read_plan(written(f'[vary]\n"{ANKLE}" = [5.0]'))
    again = read_plan(written(f'[vary]\n"{ANKLE}" = [5.0]'))
    assert first.key == again.key
    for text in (f'[vary]\n"{ANKLE}" = [5.5]', f'size_mm = 9.0\n[vary]\n"{ANKLE}" = [5.0]',
                 f'loads = "sitting"\n[vary]\n"{ANKLE}" = [5.0]'):
        assert read_plan(written(text)).key != first.key


def test_designs_of_one_shape_come_together(written):
    plan = read_plan(written(f'[vary]\n"{ANKLE}" = [5.0, 6.0]\n"{TRIM}" = [20.0, 24.0]'))
    shapes = [plan.designs[number][TRIM] for number in plan.order()]
    assert sum(one != two for one, two in pairwise(shapes)) == 1
    assert sorted(plan.order()) == [0, 1, 2, 3]


def test_a_plan_without_designs_is_refused(written):
    base = read_plan(written(f'[vary]\n"{ANKLE}" = [5.0]')).base
    assert "has no design" in refusal(Plan, base, ())
