# SPDX-License-Identifier: MIT
"""Computed beside expected numbers: read from assertions that held, written as rows of a page.

A validation test says `assert computed == pytest.approx(target)`. Where the target is missed it
says `assert computed == missed(target, known, because=...)`: a band around our own known value,
shown on the page as a miss with its reason.
"""

import re
from dataclasses import astuple, dataclass
from pathlib import Path

NUMBER = r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
COMPARISON = re.compile(
    rf"^({NUMBER}) == ({NUMBER}) ± ({NUMBER})(?: missed because ([^\n]+)| (holds|fails))?"
)
STALE = "reports/verification.md is stale: run `make verification` and look at what has changed"


class missed:  # noqa: N801 (stands beside pytest.approx)
    """A published number that is known to be missed, and the band that holds our own value.

    Args:
        target: the published number.
        known: our value, which the computed one must still meet within ``rel``.
        because: the reason, one line for the page.

    >>> 0.0793 == missed(0.1081, known=0.0792, rel=0.01, because="six cells lean by 45 degrees")
    True
    """

    def __init__(self, target, *, known, rel=0.01, because):
        if abs(known - target) <= rel * abs(known):
            raise ValueError(f"{known} does not miss {target}: use pytest.approx")
        self.target, self.known = float(target), float(known)
        self.band, self.because = rel * abs(self.known), because

    __hash__ = None

    def __eq__(self, computed):
        return bool(abs(computed - self.known) <= self.band)

    def __repr__(self):
        return f"{self.target} ± {self.band} missed because {self.because}"


class Side:
    """The side of 1 that a share of what is allowed must lie on, as a device is known to stand.

    >>> 0.9 == HOLDS, 1.0 == HOLDS, 1.0 == FAILS, 1.1 == FAILS
    (True, True, False, True)
    """

    __hash__ = None

    def __init__(self, outcome):
        self.outcome = outcome

    def __eq__(self, share):
        return bool(share <= 1.0 if self.outcome == "holds" else share > 1.0)

    def __repr__(self):
        return f"1.0 ± 0.0 {self.outcome}"


HOLDS, FAILS = Side("holds"), Side("fails")


@dataclass(frozen=True)
class Comparison:
    """A computed number, the target, the tolerance of the test, why a miss is one, and the side."""

    computed: float
    target: float
    tolerance: float
    because: str = ""
    side: str = ""

    @property
    def deviation(self) -> str:
        """Computed against target, in percent; absolute where the target is zero."""
        if self.target == 0.0:
            return f"{self.computed:.0e}"
        percent = round(100.0 * (self.computed / self.target - 1.0), 2)
        return f"{percent:+.2f} %" if percent else "0.00 %"

    @property
    def allowed(self) -> str:
        if self.because:
            return f"missed: {self.because}"
        if self.side:
            return "holds: at most 1" if self.side == "holds" else "fails: above 1"
        if self.target == 0.0:
            return f"{self.tolerance:.0e}"
        return f"{100.0 * self.tolerance / abs(self.target):.2g} %"

    def row(self, case: str, source: str) -> str:
        """The row of the page's table."""
        ours = f"{self.computed:.0e}" if self.target == 0.0 else f"{self.computed:.5g}"
        cells = (case, source, f"{self.target:.5g}", ours, self.deviation, self.allowed)
        return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def read_comparison(explanation: str) -> Comparison | None:
    """The comparison in pytest's explanation of an assertion, or None if it holds no single one.

    >>> read_comparison("0.1079 == 0.1081 ± 0.0003").deviation
    '-0.19 %'
    >>> read_comparison("0.0793 == 0.1081 ± 0.0008 missed because cells lean").allowed
    'missed: cells lean'
    >>> read_comparison("0.93 == 1.0 ± 0.0 holds").allowed
    'holds: at most 1'
    >>> read_comparison("assert 3 == 3")
    """
    found = COMPARISON.match(explanation)
    if found is None:
        return None
    return Comparison(*map(float, found.groups()[:3]), found[4] or "", found[5] or "")


def case_name(nodeid: str) -> str:
    """What a test is called on the page.

    >>> case_name("tests/validation/test_cook.py::test_tapered_membrane[structured-8]")
    'tapered membrane [structured-8]'
    """
    name = nodeid.split("::", 1)[1].removeprefix("test_")
    function, bracket, ids = name.partition("[")
    return function.replace("_", " ") + (" " + bracket + ids if bracket else "")


def section_title(nodeid: str) -> str:
    """The section of a test's file on the page: its name without underscores."""
    return Path(nodeid.split("::")[0]).stem.removeprefix("test_").replace("_", " ")


def source_of(item) -> str:
    """The source of a test's numbers: its nearest mark `source`, or the title of its section."""
    mark = item.get_closest_marker("source")
    return mark.args[0] if mark else section_title(item.nodeid)


def page_rows(page: str) -> dict[tuple[str, str], list[list[str]]]:
    """Cells of the page's rows by title of section and name of case, in order.

    >>> page_rows("## cook\\n| a [1] | b | 1 | 2 | +100 % | 5 % |")
    {('cook', 'a [1]'): [['b', '1', '2', '+100 %', '5 %']]}
    """
    rows: dict[tuple[str, str], list[list[str]]] = {}
    title = ""
    for line in page.splitlines():
        if line.startswith("## "):
            title = line.removeprefix("## ")
        elif line.startswith("| ") and not line.startswith("| case "):
            case, *cells = (cell.strip() for cell in line.strip("|").split(" | "))
            rows.setdefault((title, case), []).append(cells)
    return rows


def differences(comparisons: list[Comparison], source: str, rows: list[list[str]]) -> list[str]:
    """What the page says otherwise than this run; empty when the page is fresh.

    Numbers agree to the digits printed and to the rounding of machines; a number that should
    vanish is held by its test, and differs from machine to machine.

    >>> differences([Comparison(1.00004, 1, 0.1)], "b", [["b", "1", "1", "0.00 %", "10 %"]])
    []
    >>> differences([Comparison(1.002, 1, 0.1)], "b", [["b", "1", "1", "0.00 %", "10 %"]])
    ['computed 1.002, on the page 1']
    >>> differences([Comparison(1.0, 1, 0.1)], "b", [])
    ['1 comparisons, on the page 0']
    """
    if rows and not comparisons:
        return ["no comparison was noted: bytecode of an older run? `make clean` removes it"]
    if len(comparisons) != len(rows):
        return [f"{len(comparisons)} comparisons, on the page {len(rows)}"]
    found = []
    for item, (shown_source, target, ours, _, allowed) in zip(comparisons, rows, strict=True):
        if shown_source != source:
            found.append(f"source {source}, on the page {shown_source}")
        if f"{item.target:.5g}" != target and not same(item.target, target):
            found.append(f"target {item.target}, on the page {target}")
        if item.target != 0.0 and not same(item.computed, ours):
            found.append(f"computed {item.computed}, on the page {ours}")
        if item.allowed != allowed:
            found.append(f"allowed {item.allowed}, on the page {allowed}")
    return found


def same(value: float, printed: str) -> bool:
    """Whether a number is the printed one, to half its fifth digit and the rounding of machines.

    Rounding of coordinates moves the tip of the thinnest sheet (h/t = 20, L/t = 4000) by 2e-5.

    >>> same(0.123454, "0.12345"), same(0.12347, "0.12345")
    (True, False)
    """
    scale = 10.0 ** float(f"{value:.4e}".split("e")[1])
    return abs(value - float(printed)) <= 0.51e-4 * scale + 2e-5 * abs(value)


def to_property(comparison: Comparison) -> tuple[str, tuple[float | str, ...]]:
    """A comparison as one of the properties that a pytest report carries."""
    return "comparison", astuple(comparison)


def from_properties(properties) -> list[Comparison]:
    """The comparisons among the properties of a pytest report."""
    return [Comparison(*value) for name, value in properties if name == "comparison"]
