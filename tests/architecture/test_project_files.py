# SPDX-License-Identifier: MIT
"""Files beside the package agree with each other: versions, lock, Makefile, documents."""

import re
import tomllib

import pytest


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


def test_the_verification_page_has_every_validation_file_and_no_failure(root):
    page = (root / "reports/verification.md").read_text(encoding="utf-8")
    cure = "run `make verification`"
    files = sorted((root / "tests/validation").glob("test_*.py"))
    titles = [path.stem.removeprefix("test_").replace("_", " ") for path in files]
    assert re.findall(r"^## (.+)$", page, flags=re.M) == titles, cure
    assert re.search(r"^\d+ tests, 0 not passed;", page, flags=re.M), cure
