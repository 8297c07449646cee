# SPDX-License-Identifier: MIT
"""A solid polypropylene child device on a stiffness bench, beside nine measured ones.

Class named before solving: nine rigid polypropylene devices of children, calf shell clamped
upright and foot section on a rotating plate, between 30 N·m dorsiflexing and 20 N·m plantarflexing:
14.34 ± 3.34 N·m/deg (six from one country) and 10.30 ± 1.92 N·m/deg (three from another). Fatone S,
Owen E, Gao F, Shippen G, Orendurff M S, Bjornson K. Comparison of sagittal plane stiffness of
nonarticulated pediatric ankle-foot orthoses designed to be rigid. J Prosthet Orthot; abstract.

Our bench: all nodes of the foot plate held, a rigid dummy shank hinged at the ankle axis, a bed of
ten times the tissue's stiffness between the dummy and every zone on the shank, 30 N·m dorsiflexing.

It MISSES the class: 51.1 N·m/deg, 3.6 times the higher mean and 5.0 times the lower. So this is no
validation, and the first test holds a regression band. The last test shows that the section above
the ankle bends as Euler and Bernoulli say, so the miss lies in what is modelled. On the same bench:
only the front piece on the dummy 28.3; that with the tissue's own stiffness 21.5; a 4 mm sheet
instead of 6 mm 33.1; all three 11.8 N·m/deg. A modulus of quick loading at 23 °C (1400 MPa), a
plate held everywhere, a bed that pulls as well as presses, and small displacements, in which no
trim line flares, stiffen too. Walls, sizes and trim lines of the nine are not in the abstract;
until they are known, take a stiffness from this program as an upper estimate.
"""

import numpy as np
import pytest
from comparison import missed

import fea
from fea.limb import Limb
from fea.structure.realise import realise
from fea.structure.tissue import SHANK

CLASS = ((14.34, 3.34), (10.30, 1.92))  # N·m/deg, mean and standard deviation
MARGIN = 0.30
MOMENT = 30e3  # N·mm
MEASURED = 51.1  # N·m/deg at 10 mm
SHEETS = ("foot_plate", "foot_walls", "heel", "ankle", "uprights", "posterior_shell", "front_piece")
ALL = "ux uy uz rx ry rz"
# The shipped wrapped device without its ribs, of one plain sheet; measures of its own, so that the
# bench stands still when the shipped device is improved.
SOLID = {
    "ribs": (),
    "upright_width_mm": 42.0,
    "foot.plate_length_share": 1.0,
    "foot.wall_height_share": 0.62,
    "foot.wall_end_share": 0.72,
    "foot.toe_round_mm": 30.0,
    "foot.sole_radius_mm": 12.0,
    "foot.heel_radius_mm": 24.0,
    "ankle.anterior_trim_mm": 20.0,
    "opening.start_share": 0.40,
    "front_piece.lower_share": 0.62,
}


def solid(size, sheet_mm=6.0):
    """A wrapped device without ribs on the child of the demonstration."""
    recipe = fea.read_device("ribbed-polypropylene-child").changed(
        {**SOLID, **{f"walls.{wall}.sheet_mm": sheet_mm for wall in SHEETS}}
    )
    return recipe.fit(Limb.of(fea.Wearer(mass_kg=35, height_mm=1410, side="left")), size)


def on_the_bench(device, stiffening=10.0, zones=None):
    """The solution under a dorsiflexing moment of 30 N·m on the dummy shank."""
    worn = realise(device)
    plate = np.concatenate([device.mesh.zone_nodes(zone) for zone in device.plate_zones])
    ankle = tuple(device.landmarks["ankle_axis"])
    model = fea.Model(
        device.mesh.with_places({"clamp": plate}),
        worn.sections,
        supports=[fea.Support("clamp", ALL), fea.Support("frame", ALL)],
        cases={"bench": [fea.PointForce("dummy", (0, 0, 0), moment=(0, MOMENT, 0))]},
        beds=[
            fea.Bed(zone, "dummy", stiffening * SHANK.bed_stiffness)
            for zone in zones or device.shank_zones
        ],
        bodies=[
            fea.Body("frame", at=ankle),
            fea.Body("dummy", at=ankle, joined_to="frame", axis=(0, 1, 0)),
        ],
    )
    return fea.solve(model)["bench"]


def stiffness(solution):
    """N·m/deg."""
    return MOMENT / 1000.0 / np.degrees(solution.body("dummy")[4])


def off(found, before):
    """Relative difference from an earlier figure of this program: a regression, no validation."""
    return abs(found / before - 1.0)


@pytest.fixture(scope="module")
def solution():
    return on_the_bench(solid(10.0))


@pytest.mark.source("nine devices, Fatone et al.")
def test_regression_band_outside_the_published_class(solution):
    """Not a validation: see the head of this file. When the model comes into the class, this
    test fails, and the comparison with the class takes its place."""
    found = stiffness(solution)
    highest = max(mean for mean, _ in CLASS)
    assert found > highest * (1.0 + MARGIN)
    because = "the bench holds more than theirs, the sheet is thicker: each share is quoted below"
    assert found == missed(highest, known=MEASURED, rel=0.02, because=because)


def test_the_mesh_is_not_the_reason(solution):
    """51.2, 51.1 and 51.0 N·m/deg with cells of 14, 10 and 7 mm."""
    assert off(stiffness(on_the_bench(solid(14.0))), stiffness(solution)) < 0.02


@pytest.mark.slow
def test_the_mesh_is_not_the_reason_when_fine_either(solution):
    assert off(stiffness(on_the_bench(solid(7.0))), stiffness(solution)) < 0.015


@pytest.mark.parametrize(
    ("sheet_mm", "stiffening", "front_only", "expected"),
    [(6.0, 1.0, False, 29.43), (6.0, 10.0, True, 28.32), (6.0, 1.0, True, 21.47),
     (4.0, 10.0, False, 33.09), (4.0, 1.0, True, 11.84)],
)  # fmt: skip
def test_what_each_assumption_is_worth(sheet_mm, stiffening, front_only, expected):
    """Regression of the figures quoted at the head, N·m/deg."""
    zones = ("front piece",) if front_only else None
    found = stiffness(on_the_bench(solid(10.0, sheet_mm), stiffening, zones))
    assert off(found, expected) < 0.02


def test_a_pure_moment_leaves_no_force_on_clamp_and_frame_together(solution):
    assert solution.body("dummy")[4] > 0.0  # a dorsiflexing shank leans forward
    clamp, frame = (solution.reaction(place) for place in ("clamp", "frame"))
    force = np.abs(clamp[:3]).max()
    assert force > 100.0
    assert np.abs(clamp[:3] + frame[:3]).max() < 1e-9 * force


def test_the_section_above_the_ankle_bends_as_a_beam():
    """Rotation from 27 to 72 mm above the axis by ∫ M / (E I) dz, I of the cut walls: found over
    beam 1.02, 0.96 and 1.02 with cells of 10, 7 and 5 mm."""
    device = solid(7.0)
    solution, ankle = on_the_bench(device), device.landmarks["ankle_axis"][2]
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
