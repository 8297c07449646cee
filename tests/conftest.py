# SPDX-License-Identifier: MIT
"""What every test shares: pictures without a screen, and no luck in generated examples."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault("PYVISTA_OFF_SCREEN", "true")
os.environ["MPLBACKEND"] = "Agg"

settings.register_profile("reproducible", derandomize=True, deadline=None, database=None)
settings.load_profile("reproducible")


def pytest_addoption(parser):
    parser.addoption(
        "--new-page",
        action="store_true",
        help="do not hold the comparisons of tests/validation against reports/verification.md",
    )


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the checkout."""
    return Path(__file__).resolve().parents[1]
