# SPDX-License-Identifier: MIT
"""The benchmark runs and fills its table."""

import subprocess
import sys

import pytest


@pytest.mark.slow
def test_the_benchmark_prints_a_row_for_a_size(root):
    script = root / "tests/benchmarks/speed.py"
    run = subprocess.run([sys.executable, script, "14"], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    last = run.stdout.splitlines()[-1].split()
    assert last[0] == "14"
    assert all(float(value) > 0 for value in last)
