# SPDX-License-Identifier: MIT
"""The README's examples run as they stand."""

import re
import tomllib
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import create_autospec

import meshio
import numpy as np
import pytest

import fea
from fea.check.factors import SHIPPED as FACTORS
from fea.check.factors import EffectTable, factor_problems
from fea.check.requirements import read_requirements
from fea.device.drilling import HoleTable
from fea.device.strapping import RivetsTable, SlotTable, StrapTable
from fea.limb import Limb
from fea.screening import ScreeningSchema
from fea.study.scatter import read_scatter
from fea.study.sweepfile import read_plan


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, flags=re.M | re.S)


@pytest.fixture(scope="module")
def readme(root):
    return (root / "README.md").read_text(encoding="utf-8")


def test_the_first_python_example_judges_a_device_and_writes_a_report(
    readme, tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    example = blocks(readme, "python")[0]
    exec(compile(example, "README.md", "exec"), {"__name__": "readme"})
    printed = capsys.readouterr().out
    assert "factor" in printed
    assert (Path("out") / "report.html").stat().st_size > 0
    assert (Path("out") / "summary.json").stat().st_size > 0


def test_the_solver_example_bends_and_buckles_a_strip(readme, capsys):
    """By hand: F L³ / 3EI for a strip that may narrow freely, 1 − ν² of it for one that may not;
    two cells stand between. Euler's load of the same strip likewise."""
    space = {"__name__": "readme", "fea": fea}
    (example,) = [block for block in blocks(readme, "python") if "fea.buckle" in block]
    exec(compile(example, "README.md", "exec"), space)
    assert capsys.readouterr().out.count("[") >= 2
    inertia, held = 20.0 * 4.0**3 / 12.0, 1.0 - 0.42**2
    deflection = 100.0**3 / (3 * 1400.0 * inertia)
    assert held * deflection < -space["solution"].displacement[1, 2] < deflection
    euler = np.pi**2 * 1400.0 * inertia / (4 * 100.0**2)
    factor = fea.buckle(space["model"], "push", count=1).factors[0]
    assert euler < factor < euler / held


def test_the_example_of_a_change_compares_the_changed_device(readme, capsys):
    """Nothing is judged: `assess` hands on what it is to judge."""
    bench = SimpleNamespace(
        apply_change=fea.apply_change, read_change=fea.read_change,
        assess=lambda device, wearer: device.name,
        compare=lambda before, after: SimpleNamespace(sentence=f"{before} to {after}"))
    device = fea.read_device("ribbed-polypropylene-child")
    (example,) = [block for block in blocks(readme, "python") if "fea.compare" in block]
    exec(compile(example, "README.md", "exec"),
         {"fea": bench, "device": device, "wearer": None, "result": device.name})  # fmt: skip
    assert capsys.readouterr().out == f"{device.name} to {device.name}-changed\n"


def test_the_example_of_what_follows_asks_for_each_study_as_it_is_called(
    readme, tmp_path, monkeypatch, capsys
):
    """Nothing is solved: stand-ins that refuse what the studies themselves would refuse."""
    monkeypatch.chdir(tmp_path)
    Path("sweep.toml").write_text(files(readme)["sweep.toml"], encoding="utf-8")
    asked = {name: create_autospec(getattr(fea, name), return_value=name)
             for name in ("gradient", "chance", "lightest", "sweep")}  # fmt: skip
    device, wearer = fea.read_device("ribbed-polypropylene-child"), fea.read_wearer("demo-child")
    result = SimpleNamespace(load_set=fea.read_load_set("walking-envelope"))
    (example,) = [block for block in blocks(readme, "python") if "fea.gradient" in block]
    assert set(re.findall(r"fea\.(\w+)", example)) <= set(fea.__all__)
    exec(compile(example, "README.md", "exec"),
         {"fea": SimpleNamespace(Design=fea.Design, **asked),
          "device": device, "wearer": wearer, "result": result})  # fmt: skip
    assert capsys.readouterr().out.split() == list(asked)
    (design,) = asked["lightest"].call_args.args
    assert design.device_as_changed().fit(Limb.of(design.wearer)).name == device.name
    assert len(read_plan(asked["sweep"].call_args.args[0]).designs) == 3 * 2 * 2 * 2


def test_the_first_example_is_about_ten_lines(readme):
    lines = [line for line in blocks(readme, "python")[0].splitlines() if line.strip()]
    assert len(lines) <= 12


def files(text: str) -> dict[str, str]:
    """File name to content of the README's TOML examples, which begin with "# name"."""
    return {block.split("\n")[0].removeprefix("# "): block for block in blocks(text, "toml")}


def write_angle_piece(path: Path) -> None:
    """A plate 12 mm above the floor with a wall behind the heel, up to 350 mm, as STL."""
    corners = [(160, 12), (-60, 12), (-60, 70), (-60, 220), (-60, 285), (-60, 350)]  # x and z
    points = np.array([(x, y, z) for x, z in corners for y in (-40.0, 40.0)], dtype=float)
    triangles = [t for k in range(0, 10, 2) for t in ((k, k + 1, k + 2), (k + 1, k + 3, k + 2))]
    meshio.stl.write(path, meshio.Mesh(points, [("triangle", np.array(triangles))]))


def test_the_example_wearer_is_read(readme, tmp_path):
    path = tmp_path / "wearer.toml"
    path.write_text(files(readme)["wearer.toml"], encoding="utf-8")
    wearer = fea.read_wearer(path)
    assert (wearer.mass_kg, wearer.height_mm, wearer.side) == (35.0, 1410.0, "left")
    assert not wearer.measures["calf_circumference_mm"].estimated
    assert wearer.measures["foot_length_mm"].estimated


def test_the_example_device_is_read(readme, tmp_path):
    path = tmp_path / "device.toml"
    added = files(readme)["straps-and-holes.toml, to be added to a device file"]
    path.write_text(files(readme)["device.toml"] + added, encoding="utf-8")
    write_angle_piece(tmp_path / "device.stl")
    device = fea.read_device(path)
    assert {name: wall.thickness for name, wall in device.walls.items()} == {
        "foot": 4.0, "shell": 3.5, "uprights": 4.0}
    assert device.landmarks["plate_end"].tolist() == [160, 0, 12]
    assert sum(len(device.mesh.zone(name)[1]) for name in device.walls) == 10
    (strap,), (hole,) = device.straps, device.holes
    assert (strap.fixing.count, strap.fixing.material.name) == (2, "rivet-steel")
    assert (hole.zone, hole.diameter) == ("shell", 4.0)


def test_the_example_requirements_are_read(readme, tmp_path):
    path = tmp_path / "requirements.toml"
    path.write_text(files(readme)["requirements.toml"], encoding="utf-8")
    asked = read_requirements(path)
    assert (asked.service.months, asked.service.strides_per_day, asked.allow_memory) == (
        24.0, 5200.0, False)
    assert asked.factors.partial("model", "thermoplastic").value == 1.10


def test_every_key_of_straps_holes_and_requirements_is_named(readme):
    tables = (RivetsTable, SlotTable, StrapTable, HoleTable)
    keys = {key for table in tables for key in table.model_fields}
    asked = read_requirements()
    keys |= set(asked.service.origins)
    keys |= {name for name in tomllib.loads(FACTORS.read_text(encoding="utf-8"))["factors"]
             if not factor_problems({name: EffectTable(values={})})}
    for key in keys:
        assert re.search(rf"[`.\[]{key}[`\].]|^{key} = ", readme, flags=re.M), key


def test_the_example_plan_is_read(readme, tmp_path):
    path = tmp_path / "sweep.toml"
    path.write_text(files(readme)["sweep.toml"], encoding="utf-8")
    assert len(read_plan(path).designs) == 3 * 2 * 2 * 2


def test_the_example_scatter_is_read(readme, tmp_path):
    path = tmp_path / "scatter.toml"
    path.write_text(files(readme)["scatter.toml"], encoding="utf-8")
    scatter, origins = read_scatter(path)
    assert (scatter.wall, scatter.strength) == (0.05, 0.04)
    assert origins["load"].status == "assumed"


def test_the_example_change_fits_the_shipped_device(readme, tmp_path):
    path = tmp_path / "change.toml"
    path.write_text(files(readme)["change.toml"], encoding="utf-8")
    recipe = fea.read_device("ribbed-polypropylene-child")
    limb = Limb.of(fea.read_wearer("demo-child"))
    device = fea.apply_change(recipe, fea.read_change(path)).fit(limb, 14.0)
    assert "strip on upright medial" in device.walls
    assert not any("asked for" in note for note in device.notes)


def test_the_example_bar_fits_the_shipped_device(readme, tmp_path):
    path = tmp_path / "bar.toml"
    path.write_text(files(readme)["bar.toml"], encoding="utf-8")
    recipe = fea.read_device("ribbed-polypropylene-child")
    limb = Limb.of(fea.read_wearer("demo-child"))
    device = fea.apply_change(recipe, fea.read_change(path)).fit(limb, 14.0)
    assert {"bar on upright medial", "bar on upright lateral"} == set(device.bars)


def test_every_key_of_the_clinical_facts_is_named(readme):
    for name in ScreeningSchema.model_fields:
        assert f"`{name}`" in readme
