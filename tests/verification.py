# SPDX-License-Identifier: MIT
"""The verification page: what the tests of tests/validation computed beside what they expect.

    python tests/verification.py reports/verification.md

Runs those tests and notes both sides of every comparison that held; the page holds no number
that this run did not see. tests/validation/conftest.py holds every later run against the page.
"""

import ast
import sys
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
sys.path.append(str(ROOT / "tests/support"))
from comparison import Comparison, case_name, from_properties, section_title  # noqa: E402

HEADER = ["| case | source | target | ours | deviation | allowed |", "|---|---|---|---|---|---|"]


@dataclass
class Recorder:
    """A pytest plugin that keeps the comparisons and the outcome of each test."""

    comparisons: dict[str, list[Comparison]] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    outcomes: dict[str, str] = field(default_factory=dict)

    def pytest_runtest_logreport(self, report):
        if report.when == "call" or report.outcome != "passed":
            self.outcomes[report.nodeid] = report.outcome
            self.comparisons[report.nodeid] = from_properties(report.user_properties)
            self.sources[report.nodeid] = dict(report.user_properties).get("source", "")

    def rows(self, name: str) -> list[str]:
        """The rows of one test."""
        source = self.sources[name]
        return [item.row(case_name(name), source) for item in self.comparisons[name]]

    def named(self, wanted) -> list[str]:
        """The rows of comparisons for which ``wanted`` is true, with the section's title."""
        return [
            item.row(f"{section_title(name)}: {case_name(name)}", self.sources[name])
            for name, found in self.comparisons.items()
            for item in found
            if wanted(item)
        ]


def run_validation(cache: Path) -> Recorder:
    """Run the validation tests, compiled anew so that no stale bytecode hides a comparison."""
    recorder = Recorder()
    sys.pycache_prefix = str(cache)
    options = ["-m", "slow or not slow", "-q", "--new-page", "-p", "no:cacheprovider"]
    pytest.main([*options, str(ROOT / "tests/validation")], [recorder])
    return recorder


def page(recorder: Recorder) -> str:
    """The page as Markdown."""
    failed = [name for name, outcome in recorder.outcomes.items() if outcome != "passed"]
    count = sum(len(found) for found in recorder.comparisons.values())
    files = sorted({name.split("::")[0] for name in recorder.outcomes})
    packages = ", ".join(f"{name} {version(name)}" for name in ("stanchion", "numpy", "scipy"))
    misses = recorder.named(lambda item: bool(item.because))
    head = [
        "# Verification",
        "",
        "Ours beside published, closed-form or hand-calculated targets; one section for each file",
        "of `tests/validation/`. Made by `make verification`; every number was seen in that run,",
        "and a validation test errs when this page shows another number than it computes. A case",
        "is a test and its parameters; “structured” names a mesh with diagonals in turn,",
        "“jittered” one with random diagonals and nodes moved by up to 25 % of a cell.",
        "",
        f"{len(recorder.outcomes)} tests, {len(failed)} not passed; {count} single comparisons",
        f"are shown, {len(misses)} of them misses; comparisons of whole arrays are only counted as",
        f"tests. {packages}.",
        "",
        *(f"- not passed: `{name}`" for name in failed),
        *([""] if failed else []),
        "## Misses",
        "",
        "Held by a test to our own known value, so that a change is seen; not passed.",
        "",
        *(HEADER + misses if misses else ["None."]),
        "",
        "## Left out",
        "",
        (ROOT / "tests/validation/left_out.md").read_text(encoding="utf-8").strip(),
    ]
    return "\n".join([*head, *(line for file in files for line in section(recorder, file))]) + "\n"


def section(recorder: Recorder, file: str) -> list[str]:
    """One file: its citation, and a row for each comparison."""
    names = [name for name in recorder.outcomes if name.split("::")[0] == file]
    citation = ast.get_docstring(ast.parse((ROOT / file).read_text(encoding="utf-8"))) or ""
    rows = [row for name in names for row in recorder.rows(name)]
    text = ["", f"## {section_title(file)}", "", citation, "", f"{len(names)} tests."]
    return [*text, "", *HEADER, *rows] if rows else text


def main(out: str) -> int:
    """Write the page; 0 when every test passed."""
    recorder = run_validation(ROOT / "reports/out/verification-cache")
    Path(out).write_text(page(recorder), encoding="utf-8")
    passed = recorder.outcomes and set(recorder.outcomes.values()) == {"passed"}
    return 0 if passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
