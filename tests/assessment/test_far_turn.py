# SPDX-License-Identifier: MIT
"""Instants that turn the ankle far: solved again with large rotations, balanced, said plainly."""

import numpy as np
import pytest

import fea
from fea.check.factors import read_factors
from fea.check.readings import dorsiflexion
from fea.errors import SolveError
from fea.farturn import FarTurned, far_gaps, turn_far
from fea.judging import judge_loads, loads_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.solver import corotational
from fea.solver.corotational import Problem
from fea.stance import ankle_moment
from fea.structure.limbmodel import RIGID_FOOT
from fea.turning import judge_turning
from fea.worn import Worn

INFANT = fea.Wearer(mass_kg=18, height_mm=1100, side="left")
INSTANT = "under the forefoot, heel up"


@pytest.fixture(scope="module")
def given():
    """The bad example under a light child, and an instant that turns it by about 10 degrees."""
    limb = Limb.of(INFANT)
    device = fea.read_device("bare-two-upright-polypropylene-child").fit(limb, 20.0)
    loads = loads_on(read_load_set("walking-envelope"), wearer=INFANT, limb=limb, device=device)
    worn = Worn.on(device, RIGID_FOOT)
    only = loads.only(INSTANT)
    return limb, worn, only, worn.solve(only.reactions)


@pytest.fixture(scope="module")
def far(given):
    _, worn, loads, linear = given
    return turn_far(worn, loads.reactions, linear, 8.0)


def test_an_instant_beyond_eight_degrees_is_solved_again(given, far):
    _, _, _, linear = given
    assert 8.0 < np.degrees(dorsiflexion(linear[INSTANT])) < 20.0
    found = far.solutions[INSTANT]
    assert all(gate.passed for gate in found.gates)
    names = {gate.name for gate in found.gates}
    assert {"residual of the equilibrium", "motions that lower the energy"} <= names
    assert dorsiflexion(found) == pytest.approx(dorsiflexion(linear[INSTANT]), rel=0.3)
    assert dorsiflexion(found) != pytest.approx(dorsiflexion(linear[INSTANT]), rel=1e-3)


def test_the_furthest_turn_is_told_and_never_passed_for_a_smaller_one(given, far):
    """A case that turns less, and that a linear solve judges, must not stand in its place."""
    _, worn, loads, linear = given
    small = {"small": linear[INSTANT].times(0.1, "small")}
    found = judge_turning([worn], loads, small | linear | far.solutions, read_factors())
    assert found.findings == ()  # what is left open is said by `far_gaps`
    assert found.case == INSTANT and found.soft is None
    assert found.usual == dorsiflexion(far.solutions[INSTANT])


def test_the_ground_pushes_on_the_same_place_of_the_turned_foot(given, far):
    """Its force has turned with the foot, and is as large as before."""
    _, _, loads, _ = given
    found = far.solutions[INSTANT]
    nodes = found.system.numbering.nodes
    pushed = found.forces[: 6 * nodes].reshape(-1, 6)[:, :3].sum(axis=0)
    angle = dorsiflexion(found)
    cosine, sine = np.cos(angle), np.sin(angle)
    turn = np.array([[cosine, 0, -sine], [0, 1, 0], [sine, 0, cosine]])
    np.testing.assert_allclose(pushed, turn @ loads.reactions[0].force, rtol=1e-6, atol=1e-6)


def test_the_device_carries_the_moment_of_the_ground_as_it_is_then(given, far):
    _, worn, loads, _ = given
    reaction = loads.reactions[0]
    carried = ankle_moment(worn, reaction, far.solutions[INSTANT])
    assert carried.by_device == pytest.approx(carried.external, rel=1e-5)
    assert carried.external == pytest.approx(reaction.dorsiflexing_moment, rel=0.1)


def test_below_the_angle_or_without_one_nothing_is_solved_again(given):
    _, worn, loads, linear = given
    for limit in (19.0, None):
        assert turn_far(worn, loads.reactions, linear, limit).solutions == {}


def test_beyond_an_ankles_reach_nothing_is_solved_again(given):
    """The same solutions scaled to a child of twice the weight and more."""
    _, worn, loads, linear = given
    heavy = {INSTANT: linear[INSTANT].times(2.5, INSTANT)}
    found = turn_far(worn, loads.reactions, heavy, 8.0)
    assert found.solutions == {}
    assert found.beyond == (INSTANT,)
    (gap,) = far_gaps([found])
    assert "more than 20°" in gap.because


def test_a_device_that_gives_way_is_named_with_case_and_level(given, monkeypatch):
    _, worn, loads, linear = given

    def lost(self, case, forces, levels):
        raise SolveError(f"case '{case}' finds no equilibrium beyond 61 % of its loads")

    monkeypatch.setattr(Problem, "path", lost)
    found = turn_far(worn, loads.reactions, linear, 8.0)
    (gap,) = far_gaps([found])
    assert INSTANT in gap.because
    assert "61 %" in gap.because


def test_what_was_solved_stays_partly_open(far):
    topics = [gap.topic for gap in far_gaps([far, FarTurned({})])]
    assert topics == ["ankle rotation", "buckling and skin at large rotation"]


def test_a_balance_whose_pivots_prove_nothing_is_not_called_stable(given, far, monkeypatch):
    _, worn, loads, linear = given
    assert "in a stable balance" in far_gaps([far])[1].because
    monkeypatch.setattr(corotational, "negative_eigenvalues", lambda matrix: (None, ""))
    blind = far_gaps([turn_far(worn, loads.reactions, linear, 8.0)])[1]
    assert f"stability not proved in '{INSTANT}'" in blind.because
    assert "stable balance" not in blind.because


@pytest.mark.slow
def test_strength_is_judged_on_the_large_rotation(given):
    limb, worn, loads, _ = given
    small, large = (
        judge_loads([worn], limb, loads, read_factors(), large_from_deg=limit)
        for limit in (None, 8.0)
    )
    assert isinstance(large.shown[INSTANT], fea.LargeSolution)
    assert large.solutions[INSTANT] is not large.shown[INSTANT]
    before, after = (each.cases[0].utilisation for each in (small, large))
    assert before.keys() == after.keys()
    assert any(before[zone] != pytest.approx(after[zone], rel=1e-3) for zone in before)
    assert "stiffness and buckling" not in {each.topic for each in large.findings}
