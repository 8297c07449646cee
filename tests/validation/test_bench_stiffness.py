# SPDX-License-Identifier: MIT
"""A solid polypropylene child device on a stiffness bench, beside nine measured ones.

Class named before solving: nine rigid polypropylene devices of children, calf shell clamped
upright and foot section on a rotating plate, between 30 N·m dorsiflexing and 20 N·m plantarflexing:
14.34 ± 3.34 N·m/deg (six from one country) and 10.30 ± 1.92 N·m/deg (three from another); all nine
between 8.3 and 19.3 (50 N·m over 6.02° and 2.59°). Fatone S, Owen E, Gao F, Shippen G, Orendurff M
S, Bjornson K. Comparison of sagittal plane stiffness of nonarticulated pediatric ankle-foot
orthoses designed to be rigid. J Prosthet Orthot; abstract.

Our device: 6 mm sheet, the foot plate held all over, the upper third of the shank gripped on both
faces through a pad (rig `clamped-calf`). It MISSES the class: 30.5 N·m/deg, 2.1 times the higher
mean, 3.0 times the lower and 1.6 times the stiffest of the nine, which is more than rigs differ by.
So this is no validation, and the first test holds a regression band.

What moves it, N·m/deg, one at a time: a 4 mm sheet 17.2; the front trim line 12 mm further back
24.4; both 14.4; a copolymer of 1000 MPa 22.9; the pad ten times as stiff 38.6, or as soft as flesh
21.2; the heel free, so that only the front half of the plate is held, 10.5. A dummy that lies loose
in the device and only presses: on all of the shank 41.2 dorsiflexing and 34.1 plantarflexing, on
the front piece with its strap 27.1 and 10.7, and through flesh 21.2 and 10.3.

So the way the foot is held is worth a factor of 2.9, sheet and trim together 2.1. The abstract does
not tell how the foot section is held, nor any sheet, size, trim line or grade. A foot held less, or
a thinner sheet with less of a wall in front, would each bring it into the class; none is known, so
the gap stays unexplained. The bending of the section above the ankle is not to blame: the last test
holds it to Euler and Bernoulli within 6 %. Take a stiffness from this program as an upper estimate.
"""

from dataclasses import replace

import numpy as np
import pytest
from benches import (
    CALF,
    CHILD,
    FOREFOOT,
    SHEETS,
    dorsiflexed,
    solid_device,
    solid_recipe,
    stiffness,
)
from comparison import missed

import fea
from fea.structure.tissue import SHANK
from fea.study.bench import RIG_SPREAD
from fea.study.benchcurve import N_M_PER_DEG
from fea.study.rig import rig_of

CLASS = ((14.34, 3.34), (10.30, 1.92))  # N·m/deg, mean and standard deviation
MEASURED = 30.5  # N·m/deg at 12 mm
SIZE = 12.0
TRIMMED = {"ankle__anterior_trim_mm": 8.0, "upright_width_mm": 30.0}
COPOLYMER = {f"walls__{wall}__material": "polypropylene-copolymer" for wall in SHEETS}
LOOSE = rig_of("dummy-shank")
FRONT = replace(LOOSE, zones=("front piece",))


def off(found, before):
    """Relative difference from an earlier figure of this program: a regression, no validation."""
    return abs(found / before - 1.0)


@pytest.mark.source("nine devices, Fatone et al.")
def test_regression_band_outside_the_published_class():
    """Not a validation: see the head of this file. When the model comes into the class, this
    test fails, and the comparison with the class takes its place."""
    result = fea.bench(
        solid_recipe(), CHILD, rig="clamped-calf", size=SIZE, large_from_deg=None
    )
    found = result.stiffness("sagittal range") / N_M_PER_DEG
    published = result.rig.published[0]
    assert found > published.high * (1.0 + RIG_SPREAD)
    assert result.beside(published).startswith("above")
    mean = max(mean for mean, _ in CLASS)
    because = "how their foot section is held, sheet, trim and grade are not known; shares above"
    assert found == missed(mean, known=MEASURED, rel=0.02, because=because)


@pytest.mark.parametrize("size", [16.0, pytest.param(7.0, marks=pytest.mark.slow)])
def test_the_mesh_is_not_the_reason(size):
    assert off(stiffness(solid_device(size), CALF), MEASURED) < 0.02


@pytest.mark.parametrize(
    ("rig", "sheet_mm", "changes", "expected"),
    [
        (CALF, 4.0, {}, 17.2),
        (CALF, 6.0, TRIMMED, 24.4),
        (CALF, 4.0, TRIMMED, 14.4),
        (CALF, 6.0, COPOLYMER, 22.9),
        (replace(CALF, pad=10.0 * CALF.pad), 6.0, {}, 38.6),
        (replace(CALF, pad=SHANK.bed_stiffness), 6.0, {}, 21.2),
        (FOREFOOT, 6.0, {}, 10.5),
        (LOOSE, 6.0, {}, 41.2),
        (FRONT, 6.0, {}, 27.1),
        (replace(FRONT, pad=SHANK.bed_stiffness), 6.0, {}, 21.2),
    ],
    ids=["4 mm", "trimmed", "4 mm trimmed", "copolymer", "hard pad", "flesh pad", "heel free",
         "loose dummy", "front piece", "front piece and flesh"],
)  # fmt: skip
def test_what_each_assumption_is_worth(rig, sheet_mm, changes, expected):
    """Regression of the figures quoted at the head, N·m/deg dorsiflexing."""
    assert off(stiffness(solid_device(SIZE, sheet_mm, **changes), rig), expected) < 0.02


@pytest.mark.parametrize(
    ("rig", "expected"),
    [(LOOSE, 34.1), (FRONT, 10.7), (replace(FRONT, pad=SHANK.bed_stiffness), 10.3)],
    ids=["loose dummy", "front piece", "front piece and flesh"],
)
def test_a_loose_dummy_is_held_less_in_plantarflexion(rig, expected):
    """Where only the strap pulls it; N·m/deg, regression too."""
    assert off(stiffness(solid_device(SIZE), rig, moment=-20e3), expected) < 0.02


def test_the_section_above_the_ankle_bends_as_a_beam():
    """Rotation from 27 to 72 mm above the axis by ∫ M / (E I) dz, I of the cut walls, on a loose
    dummy that touches all of the shank."""
    device = solid_device(7.0)
    solution, ankle = dorsiflexed(device, LOOSE), device.landmarks["ankle_axis"][2]
    edges = np.linspace(ankle + 27.0, ankle + 72.0, 8)
    expected = 0.0
    for bottom, top in zip(edges[:-1], edges[1:], strict=True):
        height = 0.5 * (bottom + top)
        middle, inertia = section(device, height)
        bending = solution.section_cut((middle, 0.0, height), (0, 0, 1))[4]
        expected += bending * (top - bottom) / (1400.0 * inertia)
    low, high = (turn(solution, device.mesh.points, height) for height in edges[[0, -1]])
    assert high - low == pytest.approx(expected, rel=0.06)


def section(device, height):
    """Middle x and second moment of area I_y of the walls cut by a horizontal plane."""
    areas, places = [], []
    for zone, wall in device.walls.items():
        for corners in device.mesh.points[device.mesh.zone_cells(zone)]:
            above = corners[:, 2] - height
            if (above > 0.0).all() or (above <= 0.0).all():
                continue
            cut = [
                corners[a] + above[a] / (above[a] - above[b]) * (corners[b] - corners[a])
                for a, b in ((0, 1), (1, 2), (2, 0))
                if (above[a] > 0.0) != (above[b] > 0.0)
            ]
            areas.append(wall.thickness * np.linalg.norm(cut[1] - cut[0]))
            places.append(0.5 * (cut[0][0] + cut[1][0]))
    middle = np.average(places, weights=areas)
    return middle, float(np.array(areas) @ (np.array(places) - middle) ** 2)


def turn(solution, points, height, half=5.0):
    """Rotation about y of the nodes near a height, rad: minus the slope of u_z against x."""
    near = np.abs(points[:, 2] - height) < half
    return -np.polyfit(points[near, 0], solution.displacement[near, 2], 1)[0]
