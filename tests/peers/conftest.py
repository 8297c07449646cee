# SPDX-License-Identifier: MIT
"""Peer tests are slow: they install packages. The scripts they ask are no tests."""

from pathlib import Path

import pytest

collect_ignore_glob = ["ask_*.py"]


def pytest_collection_modifyitems(items):
    for item in items:
        if item.path.parent == Path(__file__).parent:
            item.add_marker(pytest.mark.peer)
            item.add_marker(pytest.mark.slow)
