# SPDX-License-Identifier: MIT
"""The benchmarks run and fill their tables; no test asserts a time."""

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


def printed(root, script, *arguments):
    command = [sys.executable, root / "tests/benchmarks" / script, *arguments]
    run = subprocess.run(command, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    return run.stdout


@pytest.mark.slow
def test_the_roof_is_solved_by_every_way_or_the_way_is_left_out(root):
    text = printed(root, "bench_scordelis.py", "12", "1")
    rows = {line.split("  ")[0]: line.split() for line in text.split("\n\n")[0].splitlines()}
    assert float(rows["Stanchion, SuperLU"][-2]) == pytest.approx(-0.3024, rel=0.02)
    assert "bare SuperLU" in rows
    for row, package in (
        ("OpenSees, ShellDKGT", "openseespy"),
        ("pyfe3d, Tria3DSG, SuperLU", "pyfe3d"),
        ("sfepy, shell10x, quadrilaterals", "sfepy"),
        ("Stanchion, PARDISO", "pypardiso"),
    ):
        assert row in rows or f"left out: {package} does not load" in text


@pytest.mark.slow
def test_growth_is_a_row_a_size_and_two_exponents(root):
    lines = printed(root, "bench_growth.py", "superlu", "12", "24").splitlines()
    assert [line.split()[0] for line in lines[-3:-1]] == ["1014", "3750"]
    assert lines[-1].startswith("time grows as the ")


@pytest.mark.slow
def test_designs_of_one_shape_are_timed_both_ways_and_agree(root):
    lines = printed(root, "bench_sweep.py", "20", "1").splitlines()
    assert [line.split()[0] for line in lines[-4:]] == ["wall", "plate", "material", "loads"]
    assert all(float(line.split()[-1]) < 1e-6 for line in lines[-4:])
