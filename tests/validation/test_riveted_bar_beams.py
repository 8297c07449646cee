# SPDX-License-Identifier: MIT
"""Bars riveted on an upright against two beams that hold together at rivets alone.

Without Poisson's ratio an upright and a bar on it are two beams. Let rivets stand a apart and be
rigid, and V be the force across. Between two rivets both beams turn alike and move sideways alike:
the mean of the bending moment there acts on the section that holds together (transformed section,
E I = Σ E (b t³/12 + b t d²)), and what the moment differs from its mean by bends each beam by
itself, which adds V a³/12 over the sum of both E I to the deflection. The force along the bar is
constant between rivets: κ e / (1/(E A)₁ + 1/(E A)₂), e between the middles of wall and bar, κ of
the mean moment; each rivet carries its step in shear. Many rivets come near to the transformed
section, none at all leave the sum of both beams. A washer has width, so that the wall is held
beyond the outermost rivets, for half a washer at most.
"""

import numpy as np
import pytest
from standing_walls import LIBRARY, SOFT, sheet_material, upright

import fea
from fea.check.fasteners import Fastened
from fea.device.change import apply_change
from fea.device.changefile import AddedBar, Change
from fea.structure.realise import realise

pytestmark = pytest.mark.source("transformed section, Timoshenko, Strength of Materials I, 1955")

WIDTH, HEIGHT, WALL, BAR = 16.0, 240.0, 4.0, 3.0
LOW, HIGH = 20.0, 220.0  # outermost rivets
BAR_MODULUS = {"soft": SOFT, "middling": 20000.0}
MATERIALS = {**LIBRARY, "middling": sheet_material("middling", BAR_MODULUS["middling"])}


def riveted(count, material="soft", washer=8.0, aside=0.0):
    """An upright with a bar of its width from 10 mm below the lowest rivet to as far above."""
    rivets = {"count": count, "diameter_mm": 4.0, "washer_diameter_mm": washer,
              "end_distance_mm": 10.0, "material": "rivet-steel"}
    bar = AddedBar(name="bar", zones=("upright",), material=material, width_mm=WIDTH,
                   thickness_mm=BAR, from_mm=LOW - 10.0, to_mm=HIGH + 10.0, aside_mm=aside,
                   rivets=rivets)
    wall = upright(width=WIDTH, height=HEIGHT, thickness=WALL, columns=4, rows=60)
    return apply_change(wall, Change(title="A bar", bars=(bar,)), MATERIALS)


def pushed(device):
    """The solution under 1 N forward, spread over the top of the clamped upright."""
    z = device.mesh.points[:, 2]
    mesh = device.mesh.with_places({"feet": np.flatnonzero(z < 1e-6),
                                    "top": np.flatnonzero(z > HEIGHT - 1e-6)})
    made = realise(device)
    structure = fea.Structure(mesh, made.sections, [fea.Support("feet", "ux uy uz rx ry rz")],
                              ties=made.ties)
    loads = [fea.EdgeForce("top", (1.0 / WIDTH, 0.0, 0.0))]
    return fea.solve(structure.with_cases({"push": loads}))["push"]


def deflection(device):
    solution = pushed(device)
    top = solution.system.structure.mesh.place("top")
    return float(solution.displacement[top, 0].mean())


def beams(material):
    """E I of the wall, of both beams by themselves and together; and (E A)' d of the slip."""
    bar = BAR_MODULUS[material]
    alone = SOFT * WIDTH * WALL**3 / 12, bar * WIDTH * BAR**3 / 12
    areas = SOFT * WIDTH * WALL, bar * WIDTH * BAR
    apart = 0.5 * (WALL + BAR)
    slip = apart * areas[0] * areas[1] / sum(areas)
    return alone[0], sum(alone), sum(alone) + slip * apart, slip


def bent(e_i, low, high):
    """∫ (H - z)² dz / E I, the share of a piece in the deflection under 1 N at the top."""
    return ((HEIGHT - low) ** 3 - (HEIGHT - high) ** 3) / (3 * e_i)


def expected(material, count):
    """Deflection of the upright with so many rivets."""
    wall, loose, whole, _ = beams(material)
    at = np.linspace(LOW, HIGH, count)
    middle, a = HEIGHT - 0.5 * (at[:-1] + at[1:]), np.diff(at)
    between = np.sum(middle**2 * a / whole + a**3 / (12 * loose))
    return bent(wall, 0, LOW) + between + bent(wall, HIGH, HEIGHT)


def between_outermost(material, e_i, reach=0.0):
    """Deflection where one E I holds from the lowest rivet to the highest, and ``reach`` beyond."""
    wall, low, high = beams(material)[0], LOW - reach, HIGH + reach
    return bent(wall, 0, low) + bent(e_i, low, high) + bent(wall, high, HEIGHT)


@pytest.mark.parametrize("material", ["soft", "middling"])
@pytest.mark.parametrize("count", [2, 3, 6])
def test_two_beams_joined_at_rivets(material, count):
    assert deflection(riveted(count, material)) == pytest.approx(expected(material, count),
                                                                rel=0.01)


@pytest.mark.parametrize("material", ["soft", "middling"])
def test_densely_riveted_bar_is_the_composite_beam(material):
    composite = between_outermost(material, beams(material)[2])
    assert deflection(riveted(21, material)) == pytest.approx(composite, rel=0.01)


@pytest.mark.parametrize("washer", [8.0, 16.0])
def test_between_the_loose_sum_and_the_composite_beam(washer):
    _, loose, whole, _ = beams("soft")
    found = [deflection(riveted(count, washer=washer)) for count in (2, 3, 5, 9)]
    assert found == sorted(found, reverse=True)
    assert found[0] < between_outermost("soft", loose)
    assert found[-1] > between_outermost("soft", whole, reach=0.5 * washer)


def test_each_rivet_carries_the_step_of_the_force_along_the_bar():
    device, (_, _, whole, slip) = riveted(5), beams("soft")
    forces = Fastened(device, [pushed(device)]).forces
    at = np.linspace(LOW, HIGH, 5)
    along = slip * (HEIGHT - 0.5 * (at[:-1] + at[1:])) / whole
    steps = np.abs(np.diff(np.concatenate([[0.0], along, [0.0]])))
    for number, step in enumerate(steps, start=1):
        carried = np.linalg.norm(forces[f"bar rivet {number}"].shear)
        assert carried == pytest.approx(step, rel=0.03)


def test_the_middles_of_wall_and_bar_lie_half_of_both_apart():
    device = riveted(4, aside=1.0)
    points = device.mesh.points[device.mesh.zone_nodes("bar")]
    assert points[:, 0] == pytest.approx(40.0 + 0.5 * (WALL + BAR))
    assert points[:, 1] == pytest.approx(1.0)
    assert (points[:, 2].min(), points[:, 2].max()) == pytest.approx((LOW - 10.0, HIGH + 10.0))
