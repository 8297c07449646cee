# SPDX-License-Identifier: MIT
"""Cases: their order, one factorisation for all, systems used again, names in errors."""

import numpy as np
import pytest
from small_models import ALL, STEEL, flat, grid

import fea
import fea.errors

MESH = grid(4, 3, flat(40.0, 30.0))
SECTIONS = {"skin": fea.ShellSection(STEEL, thickness=2.0)}
HELD = [fea.Support("u0", ALL)]
ONE, TWO = fea.PointForce("u1", (1.0, 2.0, 3.0)), fea.Pressure("skin", 0.01)


def model(**cases):
    return fea.Model(MESH, SECTIONS, HELD, cases)


def test_cases_keep_their_order_and_share_a_system():
    solutions = fea.solve(model(walk=[ONE], stand=[TWO], both=[ONE, TWO]))
    assert list(solutions) == ["walk", "stand", "both"]
    assert len({id(solution.system) for solution in solutions.values()}) == 1
    total = solutions["walk"].displacement + solutions["stand"].displacement
    np.testing.assert_allclose(solutions["both"].displacement, total, rtol=1e-8, atol=1e-14)


def test_a_prepared_system_gives_the_same_answer():
    structure = fea.Structure(MESH, SECTIONS, HELD)
    system = fea.prepare(structure)
    again = fea.solve(structure.with_cases({"walk": [ONE]}), start=system)["walk"]
    np.testing.assert_array_equal(
        again.displacement, fea.solve(model(walk=[ONE]))["walk"].displacement
    )


def test_the_same_model_gives_the_same_bits():
    first, second = (fea.solve(model(walk=[ONE, TWO]))["walk"].vector for _ in range(2))
    np.testing.assert_array_equal(first, second)


def test_no_load_gives_no_motion_and_passes_the_gates():
    solution = fea.solve(model(rest=[]))["rest"]
    assert not solution.vector.any()
    assert all(gate.passed for gate in solution.gates)
    assert not solution.stress("skin", "top").any()


def test_a_load_that_cannot_act_names_its_case():
    beyond = fea.PatchForce(("skin",), (0, 0, 1.0), (90.0, 0, 0), 5.0)
    with pytest.raises(fea.errors.LoadError, match="case 'stand': a force with its line of action"):
        fea.solve(model(walk=[ONE], stand=[beyond]))


def test_a_system_of_another_structure_is_not_used_again():
    """Its answer would be that of the other wall, and nothing would show it."""
    mesh = grid(2, 2, flat(10.0, 10.0))
    held, cases = [fea.Support("u0", ALL)], {"pull": [fea.PointForce("u1", (1.0, 0, 0))]}

    def strip(wall, supports=held):
        section = fea.ShellSection(STEEL, thickness=wall)
        return fea.Model(mesh, {"skin": section}, supports, cases)

    thin = strip(2.0)
    system = fea.prepare(thin)
    again = fea.Model(mesh, thin.sections, held, {"twice": [fea.PointForce("u1", (2.0, 0, 0))]})
    moved = fea.solve(again, system)["twice"].displacement
    np.testing.assert_allclose(moved, 2.0 * fea.solve(thin)["pull"].displacement, atol=1e-15)
    for other in (strip(4.0), strip(2.0), fea.Model(mesh, thin.sections, held * 2, cases)):
        with pytest.raises(fea.errors.ModelError, match="prepared for another structure"):
            fea.solve(other, system)
        with pytest.raises(fea.errors.ModelError, match="prepared for another structure"):
            fea.buckle(other, "pull", start=system)
