# SPDX-License-Identifier: MIT
"""The verification page: what the tests of tests/validation computed beside what they expect.

    python tests/verification.py reports/verification.md

Runs those tests and notes both sides of every comparison `computed == approx(expected)` that
held; the page holds no number that this run did not see.
"""

import ast
import re
import sys
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
NUMBER = r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
COMPARISON = re.compile(rf"^(?:np\.float64\()?({NUMBER})\)? == ({NUMBER}) ± ({NUMBER})")


@dataclass(frozen=True)
class Comparison:
    """A computed number, the expected one and the tolerance that the test allows."""

    computed: float
    expected: float
    tolerance: float

    @property
    def difference(self) -> str:
        """Computed against expected, in percent; absolute where zero is expected."""
        if self.expected == 0.0:
            return f"{self.computed:.1e}"
        percent = round(100.0 * (self.computed / self.expected - 1.0), 2)
        return f"{percent:+.2f} %" if percent else "0.00 %"

    @property
    def allowed(self) -> str:
        if self.expected == 0.0:
            return f"{self.tolerance:.1e}"
        return f"{100.0 * self.tolerance / abs(self.expected):.2g} %"


def read_comparison(explanation: str) -> Comparison | None:
    """The comparison in pytest's explanation of an assertion, or None if it holds no single one.

    >>> read_comparison("0.1079 == 0.1081 ± 0.0003").difference
    '-0.19 %'
    >>> read_comparison("assert 3 == 3")
    """
    found = COMPARISON.match(explanation)
    return Comparison(*map(float, found.groups())) if found else None


@dataclass
class Recorder:
    """A pytest plugin that notes what held and what happened, test by test."""

    comparisons: dict[str, list[Comparison]] = field(default_factory=dict)
    outcomes: dict[str, str] = field(default_factory=dict)

    def pytest_assertion_pass(self, item, lineno, orig, expl):
        comparison = read_comparison(expl)
        if comparison is not None:
            self.comparisons.setdefault(item.nodeid, []).append(comparison)

    def pytest_runtest_logreport(self, report):
        if report.when == "call" or report.outcome != "passed":
            self.outcomes[report.nodeid] = report.outcome


def run_validation(cache: Path) -> Recorder:
    """Run the validation tests; a separate cache has pytest keep both sides of assertions."""
    recorder = Recorder()
    sys.pycache_prefix = str(cache)
    options = ["-o", "enable_assertion_pass_hook=true", "-o", "verbosity_assertions=2"]
    options += ["-m", "slow or not slow", "-q"]
    pytest.main([*options, "-p", "no:cacheprovider", str(ROOT / "tests/validation")], [recorder])
    return recorder


def page(recorder: Recorder) -> str:
    """The page as Markdown."""
    failed = [name for name, outcome in recorder.outcomes.items() if outcome != "passed"]
    count = sum(len(found) for found in recorder.comparisons.values())
    files = sorted({name.split("::")[0] for name in recorder.outcomes})
    packages = ", ".join(f"{name} {version(name)}" for name in ("stanchion", "numpy", "scipy"))
    head = [
        "# Verification",
        "",
        "Computed beside expected numbers: published, closed form or by hand, as each section",
        "says; one section for each file of `tests/validation/`. Remade by `make verification`;",
        "every number was seen in that run.",
        "",
        f"{len(recorder.outcomes)} tests, {len(failed)} not passed; {count} single comparisons",
        f"are shown, comparisons of whole arrays are only counted as tests. {packages}.",
        "",
        *(f"- not passed: `{name}`" for name in failed),
    ]
    return "\n".join([*head, *(line for file in files for line in section(recorder, file))]) + "\n"


def section(recorder: Recorder, file: str) -> list[str]:
    """One file: its citation, and a row for each comparison."""
    names = [name for name in recorder.outcomes if name.split("::")[0] == file]
    citation = ast.get_docstring(ast.parse((ROOT / file).read_text(encoding="utf-8"))) or ""
    rows = [
        f"| {label} | {item.computed:.4g} | {item.expected:.4g} | {item.difference} "
        f"| {item.allowed} |"
        for name in names
        for label in [name.split("::")[1].removeprefix("test_").replace("_", " ")]
        for item in recorder.comparisons.get(name, [])
    ]
    header = ["| test | computed | expected | difference | allowed |", "|---|---|---|---|---|"]
    title = Path(file).stem.removeprefix("test_").replace("_", " ")
    text = ["", f"## {title}", "", citation, "", f"{len(names)} tests."]
    return [*text, "", *header, *rows] if rows else text


def main(out: str) -> int:
    """Write the page; 0 when every test passed."""
    recorder = run_validation(ROOT / "reports/out/verification-cache")
    Path(out).write_text(page(recorder), encoding="utf-8")
    passed = recorder.outcomes and set(recorder.outcomes.values()) == {"passed"}
    return 0 if passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
