# SPDX-License-Identifier: MIT
"""Imports follow the layer table of DEVELOPERS.md, and heavy libraries keep to their rooms."""

import ast
import re
import subprocess
import sys

import pytest

LAZY = {"fea/__init__.py", "fea/__main__.py", "fea/cli.py", "fea/cli_options.py"}
ONLY_IN = {
    "skfem": ("fea/element/", "fea/solver/"),
    "meshio": ("fea/mesh/",),
    "pyvista": ("fea/drawing/",),
    "vtk": ("fea/drawing/",),
    "vtkmodules": ("fea/drawing/",),
    "matplotlib": ("fea/drawing/",),
    "pypardiso": ("fea/solver/",),
}


def read_layers(text: str) -> list[tuple[str, list[str]]]:
    """Layer names and their rooms, from the table under the heading "Layers"."""
    section = re.search(r"^## Layers\n(.*?)^## ", text, flags=re.M | re.S)
    assert section, "DEVELOPERS.md has no section 'Layers'"
    rows = [line.strip("|").split("|") for line in section[1].splitlines() if line.startswith("|")]
    return [(name.strip(), re.findall(r"`([^`]+)`", rooms)) for name, rooms, _ in rows[2:]]


def room_order(text: str) -> dict[str, int]:
    """Room name without "/" or ".py" to its place in reading order of the table."""
    rooms = [room for _, rooms in read_layers(text) for room in rooms]
    return {room.removesuffix("/").removesuffix(".py"): k for k, room in enumerate(rooms)}


def imported(tree: ast.AST) -> list[str]:
    """Full names of what a tree imports, at any depth."""
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"relative import in line {node.lineno}"
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return names


def room_of(path: str) -> str:
    return path.split("/")[1].removesuffix(".py")


def upward_arrows(path: str, tree: ast.AST, order: dict[str, int]) -> list[str]:
    """The imports of one file that point to a later room, or past the layers altogether."""
    own = order[room_of(path)]
    arrows = []
    for name in imported(tree):
        head, _, rest = name.partition(".")
        if head == "fea":
            target = rest.split(".")[0]
            if order.get(target, own + 1) > own:
                arrows.append(f"{path} imports {name}")
    return arrows


@pytest.fixture(scope="module")
def order(root):
    return room_order((root / "DEVELOPERS.md").read_text(encoding="utf-8"))


def test_the_table_names_every_room_and_no_other(root, order):
    there = {p.stem for p in (root / "fea").glob("*.py")} - {"__init__", "__main__"}
    there |= {p.name for p in (root / "fea").iterdir() if (p / "__init__.py").exists()}
    assert set(order) == there


def test_no_import_points_upward(modules, order):
    arrows = [
        arrow
        for module in modules
        if module.path not in {"fea/__init__.py", "fea/__main__.py"}
        for arrow in upward_arrows(module.path, module.tree, order)
    ]
    assert arrows == []


def test_an_upward_arrow_would_be_seen(order):
    seen = upward_arrows("fea/mesh/mesh.py", ast.parse("from fea.check import Check"), order)
    assert seen == ["fea/mesh/mesh.py imports fea.check.Check"]
    seen = upward_arrows("fea/mesh/mesh.py", ast.parse("from fea import solve"), order)
    assert seen == ["fea/mesh/mesh.py imports fea.solve"]
    assert upward_arrows("fea/check/a.py", ast.parse("import fea.mesh.mesh"), order) == []


def test_imports_stand_at_the_head_of_the_file(modules):
    late = [
        f"{module.path}:{node.lineno}"
        for module in modules
        if module.path not in LAZY
        for function in ast.walk(module.tree)
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    assert late == []


def test_heavy_libraries_keep_to_their_rooms(modules):
    astray = [
        f"{module.path} imports {name}"
        for module in modules
        for name in imported(module.tree)
        if not module.path.startswith(ONLY_IN.get(name.split(".")[0], ("fea/",)))
    ]
    assert astray == []


def test_importing_fea_loads_nothing_heavy():
    code = "import sys, fea; print(*sorted({name.split('.')[0] for name in sys.modules}))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(run.stdout.split())
    assert "fea" in loaded
    assert loaded & {"pyvista", "vtk", "vtkmodules", "meshio", "matplotlib", "pandas"} == set()
