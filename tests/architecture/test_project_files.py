# SPDX-License-Identifier: MIT
"""Files beside the package agree with each other: versions, lock, Makefile, documents."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions

import pytest
from comparison import page_rows, section_title


@pytest.fixture(scope="module")
def project(root):
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def locked(root):
    text = (root / "requirements.lock").read_text(encoding="utf-8").replace("\\\n", " ")
    return [line for line in text.splitlines() if line.strip()]


def normal(name):
    return re.sub(r"[-_.]+", "-", name).lower()


def requirement_name(line):
    return normal(re.match(r"[A-Za-z0-9._-]+", line)[0])


def test_changelog_and_project_name_the_same_version(root, project):
    headings = re.findall(
        r"^## (\d+\.\d+\.\d+)\b", (root / "CHANGELOG.md").read_text(encoding="utf-8"), flags=re.M
    )
    assert headings[0] == project["version"]


def test_a_plain_installation_has_all_that_the_program_imports(modules, project):
    declared = {requirement_name(line) for line in project["dependencies"]}
    brought = {"pydantic_core"}  # by pydantic
    heads = [node for module in modules for node in module.tree.body]
    found = {name.name for node in heads if isinstance(node, ast.Import) for name in node.names}
    found |= {node.module for node in heads if isinstance(node, ast.ImportFrom)}
    names = {name.partition(".")[0] for name in found} - sys.stdlib_module_names - brought - {"fea"}
    owners = packages_distributions()
    assert len(names) > 8
    missing = {name for name in names if declared.isdisjoint(map(normal, owners[name]))}
    assert missing == set()


def test_every_locked_package_has_a_version_and_hashes(locked):
    assert len(locked) > 20
    for line in locked:
        assert re.match(r"[a-z0-9._-]+==\S+ ", line), line
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", line), line


def test_the_lock_names_no_address(locked):
    assert [line for line in locked if "://" in line or " @ " in line or "index" in line] == []


def test_the_lock_holds_every_requirement(project, locked):
    wanted = project["dependencies"] + project["optional-dependencies"]["test"]
    names = {requirement_name(line) for line in locked}
    assert {requirement_name(line) for line in wanted} - names == set()


def test_every_make_target_in_the_documents_exists(root):
    def words(pattern, name):
        return set(re.findall(pattern, (root / name).read_text("utf-8"), flags=re.M))

    targets = words(r"^([a-z-]+):", "Makefile")
    for name in ("README.md", "DEVELOPERS.md", ".ci/run"):
        used = words(r"(?:^ *|`)make ([a-z-]+)", name)
        assert used, name
        assert used <= targets, name


def test_every_path_in_the_documents_exists(root):
    """Inline code that looks like a path of the checkout names one that is there."""
    made_later = {"reports/out/", "fea/_content/", ".venv"}
    for name in ("README.md", "DEVELOPERS.md"):
        text = (root / name).read_text(encoding="utf-8")
        paths = set(re.findall(r"`((?:fea|meshes|loadcases|reports|tests|\.ci)/[\w./-]*)`", text))
        missing = {path for path in paths if not (root / path).exists()}
        assert {path for path in missing if not path.startswith(tuple(made_later))} == set(), name


CURE = "run `make verification`"


@pytest.fixture(scope="module")
def verification(root):
    return (root / "reports/verification.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def validation(root):
    """Title of the section of each validation file, and its syntax tree."""
    files = sorted((root / "tests/validation").glob("test_*.py"))
    return {section_title(path.name): ast.parse(path.read_text("utf-8")) for path in files}


def test_the_verification_page_has_every_validation_file_and_no_failure(verification, validation):
    headings = re.findall(r"^## (.+)$", verification, flags=re.M)
    assert headings == ["Misses", "Left out", *validation], CURE
    assert re.search(r"^\d+ tests, 0 not passed\.", verification, flags=re.M), CURE


def test_the_verification_page_quotes_each_file_as_it_is(root, verification, validation):
    """Its numbers are held against each run by tests/validation/conftest.py."""
    texts = [ast.get_docstring(tree) for tree in validation.values()]
    texts.append((root / "tests/validation/left_out.md").read_text("utf-8").strip())
    assert [text for text in texts if text not in verification] == [], CURE


def test_the_verification_page_shows_no_case_that_is_gone(verification, validation):
    there = {
        (title, node.name.removeprefix("test_").replace("_", " "))
        for title, tree in validation.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
    }
    shown = {(title, case.split(" [")[0]) for title, case in page_rows(verification)}
    shown = {key for key in shown if key[0] not in ("Misses", "Left out")}
    assert len(shown) > 100
    assert shown - there == set(), CURE
