# SPDX-License-Identifier: MIT
"""Elements that turn: no force from rigid motion, forces of an energy, its tangent, objectivity."""

import numpy as np
import pytest

import fea
from fea.element import corotation, rotation, shell, strut

COUNT = 4


def turn(vector):
    return rotation.matrices(np.array([vector], dtype=float))[0]


class Triangles:
    """Random triangles of an unsymmetric laminate."""

    size, nodes = 18, 3

    def __init__(self, rng):
        self.points = rng.normal(size=(COUNT, 3, 3)) * 10
        flat = self.points.reshape(-1, 3)
        self.frames = shell.facets(flat, np.arange(3 * COUNT).reshape(-1, 3))
        ply = fea.Ply(e1=60e3, e2=5e3, nu12=0.3, g12=3e3)
        section = fea.ShellSection(fea.Laminate(ply, [0, 30], 0.5))
        stiffness = section.stiffness(COUNT)
        self.stiffness = shell.stiffness_matrices(self.frames, stiffness, np.full(COUNT, 0.3))

    def turned(self, points, turns):
        return corotation.turned_triangles(self.frames, points, turns)


class Struts:
    """Random struts that resist shear."""

    size, nodes = 12, 2

    def __init__(self, rng):
        self.points = rng.normal(size=(COUNT, 2, 3)) * 10
        none = np.zeros((COUNT, 3))
        self.frames = strut.frames(self.points, rng.normal(size=(COUNT, 3)), none, none)
        values = [np.full(COUNT, value) for value in (1e4, 2e3, 3e3, 1e3, 5e3, 6e3)]
        self.stiffness = strut.stiffness_matrices(self.frames, strut.StrutProperties(*values))

    def turned(self, points, turns):
        return corotation.turned_struts(self.frames, points, turns)


@pytest.fixture(params=[Triangles, Struts])
def elements(request):
    return request.param(np.random.default_rng(5))


def moved(elements, vector, *, bend=0.0, stretch=0.0, seed=1):
    """Points and turns after a rigid motion, with some deformation on top."""
    rng, whole = np.random.default_rng(seed), turn(vector)
    points = elements.points @ whole.T + [3.0, -5.0, 8.0]
    points = points + stretch * rng.normal(size=points.shape)
    own = rotation.matrices(bend * rng.normal(size=(COUNT * elements.nodes, 3)))
    return points, (own @ whole).reshape(COUNT, elements.nodes, 3, 3)


def shifted(points, turns, change):
    change = change.reshape(COUNT, -1, 6)
    own = rotation.matrices(change[:, :, 3:].reshape(-1, 3)).reshape(turns.shape)
    return points + change[:, :, :3], own @ turns


@pytest.mark.parametrize("angle", [0.1, 1.5, 3.0, 3.14159])
def test_a_rigid_motion_of_any_size_makes_no_force(elements, angle):
    axis = np.array([0.6, -0.48, 0.64])
    force = corotation.forces(elements.turned(*moved(elements, angle * axis)), elements.stiffness)
    assert np.abs(force).max() < 1e-11 * np.abs(elements.stiffness).max()


def test_forces_turn_with_the_whole(elements):
    still = moved(elements, (0, 0, 0), bend=0.1, stretch=0.1)
    whole = turn((1.0, 2.0, -0.5))
    away = (still[0] @ whole.T + 7.0, whole @ still[1])
    before, after = (
        corotation.forces(elements.turned(*each), elements.stiffness) for each in (still, away)
    )
    expected = before.reshape(COUNT, -1, 3) @ whole.T
    np.testing.assert_allclose(after.reshape(COUNT, -1, 3), expected, rtol=1e-9, atol=1e-8)


def test_forces_balance_at_the_deformed_element(elements):
    points, turns = moved(elements, (0.4, 1.0, 0.2), bend=0.2, stretch=0.1)
    force = corotation.forces(elements.turned(points, turns), elements.stiffness)
    force = force.reshape(COUNT, -1, 6)
    scale = np.abs(force).max()
    moment = np.cross(points, force[:, :, :3]) + force[:, :, 3:]
    assert np.abs(force[:, :, :3].sum(axis=1)).max() < 1e-10 * scale
    assert np.abs(moment.sum(axis=1)).max() < 1e-9 * scale * np.abs(points).max()


def test_forces_are_the_slope_of_the_energy_and_the_tangent_theirs(elements):
    points, turns = moved(elements, (0.4, -1.3, 0.9), bend=0.2, stretch=0.05)
    here = elements.turned(points, turns)
    force = corotation.forces(here, elements.stiffness)
    tangent = corotation.tangents(here, elements.stiffness)
    step = 1e-6
    for k in range(elements.size):
        change = np.zeros((COUNT, elements.size))
        change[:, k] = step
        ahead, behind = (
            elements.turned(*shifted(points, turns, sign * change)) for sign in (1.0, -1.0)
        )
        energy, forces = (
            (work(ahead, elements.stiffness) - work(behind, elements.stiffness)) / (2 * step)
            for work in (corotation.energies, corotation.forces)
        )
        np.testing.assert_allclose(energy, force[:, k], atol=1e-7 * np.abs(force).max())
        np.testing.assert_allclose(forces, tangent[:, :, k], atol=1e-3 * np.abs(tangent).max())


def test_small_deformation_is_that_of_the_linear_element(elements):
    change = 1e-6 * np.random.default_rng(3).normal(size=(COUNT, elements.size))
    turns = np.broadcast_to(np.eye(3), (COUNT, elements.nodes, 3, 3))
    here = elements.turned(*shifted(elements.points, turns, change))
    linear = np.einsum("nij,nj->ni", elements.stiffness, change)
    scale = np.abs(linear).max()
    np.testing.assert_allclose(
        corotation.forces(here, elements.stiffness), linear, atol=1e-5 * scale
    )


def test_the_order_of_a_triangles_nodes_does_not_matter():
    rng = np.random.default_rng(2)
    first = Triangles(rng)
    points, turns = moved(first, (0.3, 0.7, -0.2), stretch=0.3)
    turned = first.turned(points, turns).turn
    order = [1, 2, 0]
    again = shell.facets(first.points[:, order].reshape(-1, 3), np.arange(3 * COUNT).reshape(-1, 3))
    other = corotation.turned_triangles(again, points[:, order], turns[:, order]).turn
    np.testing.assert_allclose(turned, other, atol=1e-12)


def test_rates_of_rotation_vectors():
    """The inverse rate against a difference, at angles small and large."""
    for size in (1e-5, 0.3, 2.0):
        vector = size * np.array([[0.6, 0.0, 0.8]])
        rate = rotation.inverse_rates(vector)[0]
        for k in range(3):
            spin = 1e-6 * np.eye(3)[k][None]
            ahead, behind = (
                rotation.vectors(rotation.matrices(sign * spin) @ rotation.matrices(vector))
                for sign in (1.0, -1.0)
            )
            np.testing.assert_allclose((ahead - behind)[0] / 2e-6, rate[:, k], atol=1e-8)
