# SPDX-License-Identifier: MIT
"""A bench curve with large rotations: where it starts from, how it bends, where it ends."""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.device.device import Bar, Device, Fastening, Sole, Wall
from fea.errors import SolveError
from fea.material.library import read_library
from fea.reporting.benching import bench_csv, summarise
from fea.solver.corotational import Problem
from fea.study.bench import Bench, bench, on_rig
from fea.study.benchcurve import Turn
from fea.study.rig import rig_of

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
METAL = read_library()["aluminium-7075-t6"]
STONE = replace(METAL, elastic=fea.Isotropic(youngs_modulus=2e6, poisson_ratio=0.25))
LONG = 200.0  # mm, the strut
MOMENTS = dict.fromkeys(rig_of("dummy-shank").moments, 3e3)
RIG = replace(
    rig_of("dummy-shank"), name="gripped", contact="clamped", straps=False, pad=50.0,
    moments=MOMENTS,
)  # fmt: skip


def square(height):
    """A stiff square round its middle node."""
    corners = [(0, 0), (-20, -20), (20, -20), (20, 20), (-20, 20)]
    return np.array([(x, y, height) for x, y in corners], dtype=float)


def on_a_strut():
    """A slender strut of 16 cells from the clamped plate up to a block; the ankle at its foot."""
    line = np.column_stack([np.zeros((17, 2)), np.linspace(0.0, LONG, 17)])
    cells = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 1]])
    mesh = fea.Mesh(
        np.concatenate([square(0.0), square(LONG), line]),
        {
            "triangle": np.concatenate([cells, cells + 5]),
            "line": 10 + np.column_stack([np.arange(16), np.arange(1, 17)]),
        },
        places={"low": [10], "high": [26], "plate nodes": range(5), "block nodes": range(5, 10)},
        zones={
            "plate": ("triangle", range(4)), "block": ("triangle", range(4, 8)),
            "strut": ("line", range(16)),
        },
    )  # fmt: skip
    marks = {"ankle_axis": (0.0, 0.0, 0.0), "heel": (-20.0, 0.0, 0.0), "plate_end": (20.0, 0, 0)}
    return Device(
        name="blocks", title="blocks", side="left", mesh=mesh,
        walls={name: Wall(STONE, 20.0) for name in ("plate", "block")},
        bars={"strut": Bar(METAL, 10.0, 1.5, up=(1.0, 0.0, 0.0))},
        plate_zones=("plate",), foot_zones=("plate",), shank_zones=("block",),
        landmarks={name: np.array(at) for name, at in marks.items()},
        sole=Sole(0.0, 0.0, 0.0), origin="made for a test", straps=(),
        fastenings=(Fastening("low", "low", "plate nodes", 5.0),
                    Fastening("high", "high", "block nodes", 5.0)),
    )  # fmt: skip


@pytest.fixture(scope="module")
def turn():
    held = on_a_strut()
    return Turn(fea.prepare(on_rig(held, RIG, 3)), held, RIG, "inversion")


@pytest.fixture(scope="module")
def curves(turn):
    return turn.curve(8.0)[0], turn.curve(None)[0]


def test_a_curve_beyond_eight_degrees_goes_on_to_the_moment_of_the_rig(curves):
    large, linear = curves
    assert "not judged beyond" in linear.because
    assert np.degrees(linear.angle[-1]) == pytest.approx(8.0, rel=1e-6)
    assert large.because == ""
    assert large.moment[-1] == large.wanted
    assert np.degrees(large.linear[-1]) > 8.0
    assert "solved with large rotations" in large.remark


def test_it_leaves_the_linear_line_ever_further(curves):
    """The strut is clamped at both ends and must stretch as the dummy turns: it stiffens."""
    large, _ = curves
    assert np.all(np.diff(large.angle / large.linear) < 0.0)


def test_small_moments_give_the_linear_curve(turn):
    gentle = replace(turn, rig=replace(RIG, moments=dict.fromkeys(MOMENTS, 1.0)))
    found, _ = gentle.curve(0.0)
    assert np.degrees(found.angle[-1]) > 0.005
    np.testing.assert_allclose(found.angle, found.linear, rtol=1e-3)


def test_a_curve_below_the_limit_stays_linear(turn):
    found, run = turn.curve(60.0)
    assert found.linear is None
    assert not any(isinstance(each, fea.LargeSolution) for each in run.values())


def test_a_curve_ends_where_no_equilibrium_is_found(turn, monkeypatch):
    whole = Problem.path

    def short(self, case, loads, levels):
        yield from whole(self, case, loads, levels[:2])
        raise SolveError("case 'x' finds no equilibrium beyond 33.3 % of its loads")

    monkeypatch.setattr(Problem, "path", short)
    found, run = turn.curve(8.0)
    assert len(found.moment) == len(found.linear) == len(run) == 2
    assert "ends before 3 N·m" in found.because
    assert "33.3 %" in found.remark


def test_files_hold_where_a_linear_solve_would_be(curves, turn):
    result = Bench(turn.device, CHILD, RIG, {"inversion": curves[0]}, {}, {})
    assert summarise(result).curves[0].linear_angles_deg[-1] > 8.0
    last = bench_csv(result).splitlines()[-1].split(",")
    assert float(last[-1]) == pytest.approx(np.degrees(curves[0].linear[-1]), rel=1e-5)


@pytest.mark.slow
def test_torsion_of_the_bare_example_goes_on_beyond_eight_degrees():
    recipe = fea.read_device("bare-two-upright-polypropylene-child")
    result = bench(recipe, CHILD, rig="clamped-calf", size=18.0)
    curve = result.curves["torsion inward"]
    assert result.fully_judged
    assert 8.0 < np.degrees(curve.angle[-1]) < np.degrees(curve.linear[-1])
    assert all(gate.passed for each in result.run.values() for gate in each.gates)
