# SPDX-License-Identifier: MIT
"""Contact that starts from what was found before ends where a start from nothing ends."""

from dataclasses import replace

import numpy as np
import pytest
from small_models import flat, grid

import fea
from fea.solver.contact import settle

STEEL = fea.Isotropic(youngs_modulus=2000.0, poisson_ratio=0.3)
LOADS = {
    "off the middle": [fea.PointForce("at", (0, 0, -100.0))],
    "twisted": [fea.PointForce("at", (0, 0, -60.0), (300.0, 0.0, 0.0))],
}


def strip(thickness):
    """A strip on a bed that only presses, loaded near one end: the other end lifts off."""
    mesh = grid(24, 3, flat(120.0, 15.0))
    at = np.flatnonzero(np.isclose(mesh.points[:, 0], 100.0))
    mesh = fea.Mesh(mesh.points, mesh.cells, places={**mesh.places, "at": at}, zones=mesh.zones)
    return fea.Structure(
        mesh, {"skin": fea.ShellSection(STEEL, thickness=thickness)},
        [fea.Support("u0", "ux uy rz"), fea.Support("border", "rx")],
        beds=[fea.Bed("skin", None, 0.05, 0.005, face="bottom")],
    )  # fmt: skip


def test_another_thickness_starts_from_the_last_and_finds_the_same():
    first = fea.prepare(strip(4.0))
    before = first.solve(LOADS)
    again = first.with_sections({"skin": fea.ShellSection(STEEL, thickness=4.4)})
    assert again.near.keys() == LOADS.keys()
    fresh = fea.prepare(strip(4.4)).solve(LOADS)
    for case, solution in again.solve(LOADS).items():
        lifted = solution.pressure("skin")[1] <= 0.0
        assert lifted.any() and not lifted.all()
        np.testing.assert_array_equal(lifted, fresh[case].pressure("skin")[1] <= 0.0)
        scale = np.abs(fresh[case].vector).max()
        assert np.abs(solution.vector - fresh[case].vector).max() <= 1e-8 * scale
        assert np.abs(solution.vector - before[case].vector).max() > 1e-3 * scale


def test_cases_of_other_names_start_from_nothing():
    first = fea.prepare(strip(4.0))
    first.solve({"off the middle": LOADS["off the middle"]})
    again = first.with_sections({"skin": fea.ShellSection(STEEL, thickness=4.4)})
    assert again.solve(LOADS)["twisted"].vector == pytest.approx(
        fea.prepare(strip(4.4)).solve(LOADS)["twisted"].vector, abs=1e-9)  # fmt: skip


def test_a_structure_a_little_elsewhere_starts_from_the_last_and_finds_the_same():
    first = fea.prepare(strip(4.0))
    first.solve(LOADS)
    higher = strip(4.4)
    higher = replace(higher, mesh=higher.mesh.with_points(1.01 * higher.mesh.points))
    fresh = fea.prepare(higher)
    near = fresh.starting_from(first)
    assert near.near.keys() == LOADS.keys() and not fresh.near
    for case, solution in near.solve(LOADS).items():
        assert solution.vector == pytest.approx(fresh.solve(LOADS)[case].vector, abs=1e-9)


def test_nothing_is_taken_over_from_other_cells():
    first = fea.prepare(strip(4.0))
    first.solve(LOADS)
    structure = strip(4.0)
    turned = {"triangle": np.roll(structure.mesh.cells["triangle"], 1, axis=1)}
    mesh = fea.Mesh(structure.mesh.points, turned, structure.mesh.places, structure.mesh.zones)
    assert not fea.prepare(replace(structure, mesh=mesh)).starting_from(first).near


def test_equal_sections_keep_the_factorisation():
    first = fea.prepare(strip(4.0))
    assert first.with_sections({}).factor is first.factor


@pytest.mark.parametrize("share", [1.1, 0.0, -3.0, 1e3])
def test_no_start_leads_elsewhere_and_a_near_one_saves_work(share):
    system = fea.prepare(strip(4.0))
    forces = system.forces("case", LOADS["off the middle"])
    right = (system.motion.to_all.T @ forces)[:, None]
    counts = []

    def solved(near):
        count = 0

        def solve(columns):
            nonlocal count
            count += columns.shape[1]
            return system.factor.solve(columns)

        found = settle(system.reduced, solve, system.free_springs, right, near)
        counts.append(count)
        return found[:, 0]

    expected = solved({})
    found = solved({0: share * expected})
    assert np.abs(found - expected).max() <= 1e-8 * np.abs(expected).max()
    solved({0: expected})
    assert counts[2] < 0.5 * counts[0]
