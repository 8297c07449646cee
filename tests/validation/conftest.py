# SPDX-License-Identifier: MIT
"""Notes the comparisons of each validation test, and holds them against the verification page."""

from numbers import Real
from pathlib import Path

import pytest
from comparison import (
    STALE,
    Side,
    case_name,
    differences,
    from_properties,
    missed,
    page_rows,
    read_comparison,
    section_title,
    source_of,
    to_property,
)

PASSED = pytest.StashKey[bool]()
PAGE = Path(__file__).resolve().parents[2] / "reports/verification.md"


def pytest_assertrepr_compare(op, left, right):
    """Both sides with all digits; pytest would cut them to the width of a line."""
    single = isinstance(right, missed | Side | type(pytest.approx(0.0))) and isinstance(left, Real)
    return [f"{float(left)!r} == {right!r}"] if op == "==" and single else None


def pytest_assertion_pass(item, lineno, orig, expl):
    comparison = read_comparison(expl)
    if comparison is not None:
        item.user_properties.append(to_property(comparison))


def pytest_runtest_setup(item):
    item.user_properties.append(("source", source_of(item)))


@pytest.fixture(scope="session")
def page() -> dict:
    return page_rows(PAGE.read_text(encoding="utf-8"))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    report = yield
    if report.when == "call":
        item.stash[PASSED] = report.passed
    return report


@pytest.fixture(autouse=True)
def fresh_page(request, page):
    """An error, not a failure, where a test passed but the page shows other numbers."""
    yield
    item = request.node
    if request.config.getoption("--new-page") or not item.stash.get(PASSED, False):
        return
    key = section_title(item.nodeid), case_name(item.nodeid)
    found = differences(from_properties(item.user_properties), source_of(item), page.get(key, []))
    if found:
        pytest.fail(f"{STALE}\n{key[0]}, {key[1]}: " + "; ".join(found), pytrace=False)
