# SPDX-License-Identifier: MIT
"""The package as text: every module of fea with its syntax tree."""

import ast
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class Module:
    """One source file: its path below the checkout, its text and its syntax tree."""

    path: str
    text: str
    tree: ast.Module

    @property
    def parts(self) -> tuple[str, ...]:
        return Path(self.path).parts


def read_module(root: Path, path: Path) -> Module:
    text = path.read_text(encoding="utf-8")
    return Module(path.relative_to(root).as_posix(), text, ast.parse(text, str(path)))


@pytest.fixture(scope="session")
def modules(root: Path) -> list[Module]:
    found = [read_module(root, path) for path in sorted((root / "fea").rglob("*.py"))]
    assert len(found) > 10
    return found


@pytest.fixture(scope="session")
def test_modules(root: Path) -> list[Module]:
    return [read_module(root, path) for path in sorted((root / "tests").rglob("*.py"))]
