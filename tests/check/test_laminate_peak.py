# SPDX-License-Identifier: MIT
"""Notched laminates: stress a millimetre from a corner, whatever the cells, against strength."""

from functools import cache

import numpy as np
import pytest

import fea
from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.hotspot import HotSpots, UnreadError
from fea.check.laminatepeak import DISTANCE, judge_laminate_peak
from fea.device.device import Wall
from fea.material.laminate import Laminate
from fea.material.library import read_library
from fea.mesh.mesh import Mesh
from fea.solver.static import solve
from fea.structure.singular import CORNER, singular_places

LIBRARY, FACTORS = read_library(), read_factors()
CLOTH = LIBRARY["carbon-cloth-epoxy"]
LAYUP = Laminate(CLOTH.elastic, [0, 45, 45, 0], 0.5)
HALF, PULL = 12.0, 100.0


def corner_piece(h):
    """An L of three squares of `HALF` mm, its hollow corner in the origin, of cells of h mm."""
    n = round(HALF / h)
    at = np.linspace(-HALF, HALF, 2 * n + 1)
    x, y = np.meshgrid(at, at, indexing="ij")
    number = np.arange(x.size).reshape(x.shape)
    a, b, c, d = number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]
    i, j = np.indices(a.shape)
    kept = ~((i >= n) & (j < n))
    even = (i + j) % 2 == 0
    first = np.where(even[..., None], np.stack([a, b, c], -1), np.stack([a, b, d], -1))[kept]
    second = np.where(even[..., None], np.stack([a, c, d], -1), np.stack([b, c, d], -1))[kept]
    triangles = np.concatenate([first, second])
    used = np.unique(triangles)
    new = np.full(x.size, -1)
    new[used] = np.arange(len(used))
    points = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], axis=1)[used]
    places = {"root": np.flatnonzero(points[:, 1] == -HALF),
              "pulled": np.flatnonzero(points[:, 0] == HALF)}
    zones = {"wall": ("triangle", np.arange(len(triangles)))}
    return Mesh(points, {"triangle": new[triangles]}, places=places, zones=zones)


@cache
def solved(h):
    section = fea.ShellSection(LAYUP, direction=(0, 1, 0))
    mesh = corner_piece(h)
    model = fea.Model(
        mesh, sections={"wall": section}, supports=[fea.Support("root", "ux uy uz rx ry rz")],
        cases={"pull": [fea.EdgeForce("pulled", (0.0, PULL / HALF, 0.0))],
               "lift": [fea.EdgeForce("pulled", (0.0, 0.0, 1.0))]},
    )  # fmt: skip
    solutions = solve(model)
    structure = solutions["pull"].system.structure
    (corner,) = (p for p in singular_places(structure) if p.reason == CORNER)
    recovered = solutions["pull"].system.recovery(list(solutions.values()))
    return HotSpots(recovered, at=DISTANCE), corner


def judged(h, material=CLOTH):
    hot_spots, corner = solved(h)
    return judge_laminate_peak("wall", Wall(material, LAYUP.thickness, LAYUP), hot_spots.of(corner),
                               "stress beside the corner,", hot_spots, ["pull", "lift"], FACTORS)


def reading(h, case):
    """Stress in the lowest ply at the spots (s, 3), and its error."""
    hot_spots, corner = solved(h)
    recovered, found = hot_spots.recovered.case(case), []
    for spot in hot_spots.of(corner):
        (station,) = spot.stations
        row = hot_spots.row(station.cell)
        found.append([station.weights @ values[0, row, :, 0, 0] for values in (
            recovered.ply_stress("wall", [0]), recovered.ply_stress_error("wall", np.abs, [0]))])
    return np.moveaxis(np.array(found), 1, 0)


@pytest.mark.parametrize("case", [0, 1])
@pytest.mark.parametrize(("h", "share"), [(0.8, 0.18), (0.6, 0.10)])
def test_cells_hardly_matter_and_the_error_covers_what_they_do(h, share, case):
    """At the corner itself stress grows without end; a millimetre off it does not."""
    (coarse, error), (fine, less) = reading(h, case), reading(0.4, case)
    assert np.abs(coarse - fine).max() < share * np.abs(fine).max()
    assert (np.abs(coarse - fine) <= error + less).all()


def test_the_stress_is_that_of_the_plies_at_the_distance():
    hot_spots, corner = solved(0.5)
    for spot in hot_spots.of(corner):
        (station,) = spot.stations
        mesh = hot_spots.recovered.recovery.system.structure.mesh
        at = station.weights @ mesh.points[mesh.cells["triangle"][station.cell]]
        assert np.linalg.norm(at) == pytest.approx(DISTANCE)
    check = judged(0.5)[0]
    assert isinstance(check, Check) and check.topic == "local peak"
    assert check.basis.startswith("stress beside the corner, ")
    assert "whitney-nuismer-1974" in check.sources and "memory-M" in check.note


def test_the_limit_from_either_side():
    check = judged(0.5)[0]
    allowed = check.capacity / check.required
    assert check.met == (check.demand <= allowed)
    assert check.utilisation == pytest.approx(check.demand / allowed)


def test_coarse_cells_are_not_read():
    hot_spots, corner = solved(2.0)
    with pytest.raises(UnreadError, match="make them at most 1.0 mm"):
        hot_spots.of(corner)


def test_a_missing_strength_is_not_checked():
    finding, _ = judged(0.5, LIBRARY["carbon-acrylic"])
    assert isinstance(finding, NotChecked) and finding.topic == "local peak"
    assert "compressive strength 1" in finding.because
