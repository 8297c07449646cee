# SPDX-License-Identifier: MIT
"""Beside a corner the plain maximum grows with every refinement; the hot-spot stress does not."""

import numpy as np
import pytest
from cornered import cut_plate, hollow_strip, l_plate
from small_models import ALL, STEEL, flat, grid

import fea
from fea.check.hotspot import COARSE, FINE, HotSpots, UnreadError
from fea.structure.singular import left_out, singular_places
from fea.tensors import von_mises

WALL = 10.0
IN_PLANE = fea.EdgeForce("right", (0, -10.0, 0))
BENDING = fea.EdgeForce("right", (0, 0, -10.0))


def recovered(mesh, held, cases, wall=WALL):
    """The recovered stress of a sheet held at one side, and its singular places."""
    section = fea.ShellSection(STEEL, thickness=wall)
    structure = fea.Structure(mesh, {"skin": section}, [fea.Support(held, ALL)])
    system = fea.prepare(structure)
    solutions = system.solve({str(k): [load] for k, load in enumerate(cases)})
    return system.recovery(list(solutions.values())), singular_places(structure)


def largest(stress):
    """Largest von Mises stress (cases, c) of each cell."""
    return von_mises(stress.surface_stress("skin")).max(axis=(1, 3))


def mises(spots, spot):
    """Von Mises stress (cases, 3) of a hot spot and its error."""
    stress, error = spots.stress(spot)
    return von_mises(stress), error


@pytest.fixture(scope="module")
def corners():
    """By cells along the side: at the corner of an L, under forces in its plane and across it.

    Plain maximum there, plain maximum elsewhere, hot-spot stress and its error, each (2,).
    """
    found = {}
    for cells in (80, 160):
        stress, places = recovered(l_plate(cells, jitter=0.15), "top", [IN_PLANE, BENDING])
        plain, out = largest(stress), np.any([place.cells for place in places], axis=0)
        (corner,) = (place for place in places if place.reason == "re-entrant corner")
        spots = HotSpots(stress)
        value, error = zip(*(mises(spots, spot) for spot in spots.of(corner)), strict=True)
        there, elsewhere = plain[:, corner.cells].max(axis=1), plain[:, ~out].max(axis=1)
        found[cells] = there, elsewhere, np.max(value, axis=(0, 2)), np.max(error, axis=(0, 2))
    return found


def test_refinement_raises_the_plain_maximum_at_a_corner_without_end(corners):
    in_plane, bending = corners[160][0] / corners[80][0]
    # Williams' power, 2^(1 − 0.5445) = 1.37 for halved cells, less what the smooth part adds
    assert 1.25 < in_plane < 1.37
    assert bending > 1.2


def test_outside_what_is_left_out_the_plain_maximum_converges(corners):
    # the border of what is left out follows the cells, and the stress falls steeply across it
    np.testing.assert_allclose(corners[160][1], corners[80][1], rtol=0.03)


def test_what_one_mesh_leaves_out_must_be_held_to_compare_it_with_finer_ones():
    own, held, outside = [], [], None
    for cells in (10, 20, 40):  # cells of 10 to 2.5 mm round a wall of 1 mm: the cells decide
        mesh = l_plate(cells, jitter=0.15)
        stress, places = recovered(mesh, "top", [IN_PLANE], wall=1.0)
        region = left_out(stress.recovery.system.structure, places)
        outside = outside or region
        plain = largest(stress)[0]
        own.append(plain[~region.cells].max())
        held.append(plain[~outside.on(mesh)].max())
    # outside of two cells, however small, the peak slides into the corner and climbs
    assert own[1] > 1.2 * own[0] and own[2] > 1.1 * own[1]
    # outside of the same part of the sheet it settles
    assert held[0] == own[0]
    assert 0.0 < held[2] - held[1] < 0.5 * (held[1] - held[0]) < 0.02 * held[2]


def test_the_hot_spot_stress_converges_and_its_error_covers_what_is_left(corners):
    (_, elsewhere, fine, fine_error), (_, _, coarse, coarse_error) = corners[160], corners[80]
    np.testing.assert_allclose(fine, coarse, rtol=0.05)
    assert (fine_error < coarse_error).all()
    assert (coarse + coarse_error > fine).all()
    assert (fine > elsewhere).all()  # leaving the corner out alone would hide the worst place


def test_coarse_cells_take_the_coarse_rule_and_coarser_ones_none():
    mesh = l_plate(20)  # cells of 5 mm
    for wall, rule in ((40.0, FINE), (8.0, COARSE)):
        stress, (corner, _) = recovered(mesh, "top", [IN_PLANE], wall)
        spots = HotSpots(stress).of(corner)
        assert len(spots) == 3 and {spot.extrapolation for spot in spots} == {rule}
    stress, (corner, _) = recovered(mesh, "top", [IN_PLANE], wall=4.0)
    with pytest.raises(UnreadError, match=r"up to 5\.7 mm there; make them at most 4\.0 mm"):
        HotSpots(stress).of(corner)


@pytest.mark.parametrize("rule", [FINE, COARSE])
def test_both_rules_carry_a_straight_line_back_exactly(rule):
    near, far = rule.distances
    assert sum(rule.weights) == pytest.approx(1.0)
    # σ = 1 − r: at the place itself it is 1
    carried = rule.weights[0] * (1 - near) + rule.weights[1] * (1 - far)
    assert carried == pytest.approx(1.0, abs=0.005)


def test_the_hot_spot_of_a_clamped_strip_is_the_stress_of_beam_theory():
    # a strip of 100 × 20 × 4 mm under 10 N at its end; ν = 0 leaves no peak at the clamp
    mesh = grid(100, 20, flat(100, 20), diagonal="random")
    free = fea.Isotropic(youngs_modulus=1000.0, poisson_ratio=0.0)
    structure = fea.Structure(
        mesh, {"skin": fea.ShellSection(free, thickness=4.0)}, [fea.Support("u0", ALL)]
    )
    system = fea.prepare(structure)
    solution = system.solve({"case": [fea.EdgeForce("u1", (0, 0, -0.5))]})
    stress = system.recovery(list(solution.values()))
    (edge,) = singular_places(structure)
    spots = HotSpots(stress)
    top = [mises(spots, spot)[0][0, 2] for spot in spots.of(edge)]
    assert len(top) == 21
    # σ = 6 F L / (b t²)
    np.testing.assert_allclose(top, 6 * 10 * 100 / (20 * 4**2), rtol=0.01)


def test_a_place_inside_the_sheet_or_near_an_end_is_not_read():
    mesh = cut_plate(40, 100.0, lambda x, y: x > -1)
    inside = np.flatnonzero(np.abs(mesh.points[:, 0] - 50) < 1e-9)
    stress, (line,) = recovered(mesh.with_places({"line": inside}), "line", [IN_PLANE])
    with pytest.raises(UnreadError, match="not lie on the rim"):
        HotSpots(stress).of(line)
    narrow = grid(60, 6, flat(60, 6))  # 1.5 walls of 8 mm do not fit into a strip of 6 mm
    stress, (edge,) = recovered(narrow, "v0", [fea.EdgeForce("v1", (0, 0, 1.0))], wall=8.0)
    with pytest.raises(UnreadError, match="ends, folds or changes within"):
        HotSpots(stress).of(edge)


def test_a_fillet_needs_no_hot_spot_since_its_plain_maximum_converges():
    peaks = []
    for step in (2.0, 1.0):
        mesh = hollow_strip(12.0, step)
        stress, (held,) = recovered(mesh, "u0", [fea.EdgeForce("u1", (0, 5.0, 0))])
        peaks.append(largest(stress)[0, ~held.cells].max())
    assert peaks[1] == pytest.approx(peaks[0], rel=0.03)
