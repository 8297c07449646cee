# SPDX-License-Identifier: MIT
"""Peaks of stress beside a pin and at the ends of a slot, by meshed plates and by a handbook.

A plate with its hole or slot meshed: half of it, held along the far edge, the other edge a free rim
ahead. A pin pushes towards that rim with a pressure spread as a cosine; a strap pulls evenly on the
inner edge of the strip between slot and rim. Frocht M M, Hill H N, J Appl Mech 1940;7:A5 tested
plates loaded through pins, far from the edge ahead; their results as a polynomial, from memory:
peak over mean net stress 12.882 − 52.714 s + 89.762 s² − 51.667 s³ of s = d/W from 0.15 to 0.75.
"""

import numpy as np
import pytest
from comparison import HOLDS
from small_models import grid, solve_skin

import fea
from fea.check.jointrules import pin_peak_factor, slot_peak

STEEL = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)


def half_plate(length, width, edge, side, deep):
    """Half of a plate, x ≥ 0, with half a slot (or hole) about the origin, along x.

    ``edge`` from slot to the rim ahead, ``side`` and ``deep`` from its middle to the side and the
    held edge. Cells grow with the distance from the slot; u runs away from it, v round it.
    """
    flat, radius = 0.5 * (length - width), 0.5 * width
    share = 0.25 if flat else 0.0  # of v along each straight side of the slot
    ahead, turn = radius + edge, share + 0.25 * (1 - 2 * share)  # v of the plate's corners
    corners = [(0, 0, ahead), (share, flat, ahead), (turn, side, ahead), (1 - turn, side, -deep),
               (1 - share, flat, -deep), (1, 0, -deep)]

    def surface(u, v):
        angle = np.pi * np.clip((v - share) / (1 - 2 * share), 0, 1)
        along = flat * np.clip(np.minimum(v, 1 - v) / share, 0, 1) if flat else 0.0
        x, y = along + radius * np.sin(angle), radius * np.cos(angle)
        at, rim_x, rim_y = np.unique(corners if flat else [corners[k] for k in (0, 2, 3, 5)],
                                     axis=0).T
        far_x, far_y = np.interp(v, at, rim_x), np.interp(v, at, rim_y)
        return x + (far_x - x) * u**2, y + (far_y - y) * u**2, 0 * u

    return grid(28, 128, surface)


def peak(mesh, forces):
    """Highest tension along the slot, MPa, under forces (node to x and y, N), wall of 1 mm."""
    far = np.flatnonzero(np.isclose(mesh.points[:, 1], mesh.points[:, 1].min()))
    places = {"far": far, "all": mesh.zone_nodes("skin")} | {f"{node}": [node] for node in forces}
    mesh = mesh.with_places(places)
    supports = [fea.Support("all", "uz rx ry"), fea.Support("v0", "ux rz"),
                fea.Support("v1", "ux rz"), fea.Support("far", "uy")]
    loads = [fea.PointForce(f"{node}", (x, y, 0.0)) for node, (x, y) in forces.items()]
    solution = solve_skin(mesh, STEEL, 1.0, supports, loads)
    stress = solution.system.recovery([solution]).surface_stress("skin")[0, 1]
    s11, s22, s12 = stress[np.isin(mesh.zone_cells("skin"), mesh.place("u0"))].T
    return float(np.max(0.5 * (s11 + s22) + np.hypot(0.5 * (s11 - s22), s12)))


def spread(mesh, chosen, place_of):
    """Nodes round the slot that are chosen, in order, where they lie, and the length of each."""
    nodes = mesh.place("u0")
    nodes = nodes[chosen(mesh.points[nodes])]
    at = place_of(mesh.points[nodes])
    order = np.argsort(at)
    nodes, at = nodes[order].tolist(), at[order]
    return nodes, at, np.diff(np.concatenate([at[:1], 0.5 * (at[1:] + at[:-1]), at[-1:]]))


def beside_a_pin(wide, ahead):
    """Highest tension over pressure of a pin of 1 mm, in a plate ``wide`` mm wide and ``ahead`` mm
    from its middle to the rim."""
    mesh = half_plate(1.0, 1.0, ahead - 0.5, 0.5 * wide, 2.5 * wide)
    nodes, angle, length = spread(
        mesh, lambda p: p[:, 1] > 0, lambda p: np.arctan2(p[:, 0], p[:, 1]))
    push = 2.0 / np.pi * np.cos(angle) * length  # 4/π times 1 MPa on half a diameter
    return peak(mesh, {node: (f * np.sin(a), f * np.cos(a))
                       for node, f, a in zip(nodes, push, angle, strict=True)})


@pytest.mark.parametrize("share", [0.15, 0.25, 0.4, 0.5])
def test_a_pin_far_from_the_edge_ahead(share):
    """Peak over pressure: the meshed plate and the tests, the edge one width ahead; and the tests
    over the envelope of the checks. The pressure of a real pin is not quite a cosine."""
    tests = 12.882 - 52.714 * share + 89.762 * share**2 - 51.667 * share**3
    found = beside_a_pin(1.0 / share, 1.0 / share)
    tests *= share / (1.0 - share)
    assert found == pytest.approx(tests, rel=0.15)
    assert tests / float(pin_peak_factor(share)) == HOLDS


@pytest.mark.parametrize(("wide", "ahead"), [(10.0, 5.0), (10.0, 2.0), (10.0, 1.0), (4.0, 2.0),
                                             (4.0, 1.0), (2.5, 1.25), (2.0, 1.0)])
def test_the_envelope_of_the_checks_holds_every_plate(wide, ahead):
    """Peak of a meshed plate over that of the checks, by diameter over twice the nearest edge."""
    share = 1.0 / min(wide, 2.0 * ahead)
    assert beside_a_pin(wide, ahead) / float(pin_peak_factor(share)) == HOLDS


@pytest.mark.parametrize(("length", "width", "depth"), [
    (42.0, 4.0, 8.0), (42.0, 4.0, 12.0), (42.0, 6.0, 8.0), (30.0, 3.0, 10.0), (42.0, 4.0, 5.0),
    (25.0, 6.0, 6.0), (100.0, 5.0, 10.0)])
def test_the_sum_of_the_checks_holds_every_slot(length, width, depth):
    """Peak of a meshed slot, of 1 mm thickness and 1 N, over that of the checks."""
    mesh = half_plate(length, width, depth, 2.0 * length, 2.0 * length)
    flat = 0.5 * width - 1e-9
    nodes, _, part = spread(mesh, lambda p: p[:, 1] > flat, lambda p: p[:, 0])
    pull = 0.5 * part / part.sum()
    found = peak(mesh, {node: (0.0, f) for node, f in zip(nodes, pull, strict=True)})
    held = slot_peak(0.5 * length / depth**2, 1.0 / length, length=length, width=width, depth=depth)
    assert found / float(held) == HOLDS
