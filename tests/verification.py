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

THEORY = "missed: first-order shear theory"
"""Misses with this reason are many and alike: what elasticity says beside the shell's own theory,
which another test shows that the shell meets. They share a row for each source."""

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
        *counted(len(recorder.outcomes), len(failed), count, len(misses)),
        f"{packages}.",
        "",
        *(f"- not passed: `{name}`" for name in failed),
        *([""] if failed else []),
        "## Misses",
        "",
        "The target is not met, and the reason stands beside it. A test holds each to our own",
        "known value, so that a change is seen; that test passes, the comparison does not. Misses",
        "by first-order shear theory share a row for each source; one by one they stand below.",
        "",
        *(HEADER + gathered(misses) if misses else ["None."]),
        "",
        "## Left out",
        "",
        (ROOT / "tests/validation/left_out.md").read_text(encoding="utf-8").strip(),
    ]
    return "\n".join([*head, *(line for file in files for line in section(recorder, file))]) + "\n"


def counted(tests: int, failed: int, comparisons: int, misses: int) -> list[str]:
    """How many tests there are, and how many comparisons: a test may hold a comparison that misses.

    >>> print("\\n".join(counted(5, 1, 8, 2)[:2]))
    5 tests, 1 not passed. They show 8 single comparisons:
    6 meet their target, 2 miss it. Tests and comparisons are
    """
    return [
        f"{tests} tests, {failed} not passed. They show {comparisons} single comparisons:",
        f"{comparisons - misses} meet their target, {misses} miss it. Tests and comparisons are",
        "counted apart: a miss that is known is held by a test that passes. Comparisons of whole",
        "arrays are only counted as tests.",
    ]


def gathered(rows: list[str]) -> list[str]:
    """The rows of misses, those by first-order shear theory as one for each source.

    >>> rows = [f"| plate: bent [{n}] | P | 1 | 2 | {d} % | {THEORY}, so |" for n, d in
    ...         ((1, "+4.00"), (2, "-0.50"))]
    >>> gathered(["| a: b | c | 1 | 2 | +100.00 % | missed: why |", *rows])[1]
    '| plate: 2 comparisons | P | | | -0.50 to +4.00 % | missed: first-order shear theory, so |'
    """
    found: dict[str, list[list[str]]] = {}
    for row in rows:
        cells = [cell.strip() for cell in row.strip("|").split(" | ")]
        found.setdefault(cells[1] if cells[-1].startswith(THEORY) else row, []).append(cells)
    lines = []
    for key, alike in found.items():
        if len(alike) == 1:
            lines.append("| " + " | ".join(alike[0]) + " |")
            continue
        deviations = [float(cells[4].removesuffix(" %")) for cells in alike]
        titles = ", ".join(dict.fromkeys(cells[0].split(": ")[0] for cells in alike))
        reasons = "; ".join(dict.fromkeys(cells[5] for cells in alike))
        spread = f"{min(deviations):+.2f} to {max(deviations):+.2f} %"
        lines.append(f"| {titles}: {len(alike)} comparisons | {key} | | | {spread} | {reasons} |")
    return lines


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
