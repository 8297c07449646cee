# SPDX-License-Identifier: MIT
"""Hot spots where a rib ends on a wall, a strut enters it, and a strut along it ends."""

import numpy as np
import pytest
from cornered import ribbed_plate
from small_models import ALL, STEEL, flat, grid

import fea
from fea.check.hotspot import HotSpots, UnreadError
from fea.structure.singular import singular_places
from fea.tensors import von_mises

PULL = fea.EdgeForce("u1", (10.0, 0, 0))
ROOT = [(40, 40, 0), (40, 40, 30.0)]
BAR = fea.StrutSection.rectangle(STEEL, width=6.0, depth=4.0, up=(0, 1, 0))


def read(mesh, sections, supports, cases):
    """Hot spots of a structure, its singular places, and the plain maximum (cases,) of the skin."""
    structure = fea.Structure(mesh, sections, supports)
    system = fea.prepare(structure)
    stress = system.recovery(list(system.solve(cases).values()))
    plain = von_mises(stress.surface_stress("skin")).max(axis=(1, 2, 3))
    return HotSpots(stress), singular_places(structure), plain


def worst(spots, place):
    """Largest von Mises stress (cases,) over the hot spots of a place, and how many there are."""
    found = spots.of(place)
    values = [von_mises(spots.stress(spot)[0]).max(axis=1) for spot in found]
    return np.max(values, axis=0), len(found)


def rib(cells):
    mesh = ribbed_plate(cells, (20, 60))
    wall = fea.ShellSection(STEEL, thickness=5.0)
    spots, places, plain = read(
        mesh, {"skin": wall, "rib": wall}, [fea.Support("u0", ALL)], {"pull": [PULL]})
    (end,) = (place for place in places
              if place.reason == "end of a rib" and place.point[0] > 50)
    return *worst(spots, end), plain


def struts(cells, line, load):
    """A plate of 80 × 80 held all round, with struts from its middle; loaded at their tip."""
    sheet = grid(cells, cells, flat(80, 80))
    middle = int(sheet.place("centre")[0])
    points = np.concatenate([sheet.points, np.asarray(line, dtype=float)[1:]])
    last = len(sheet.points) + len(line) - 2
    nodes = [middle, *range(len(sheet.points), last + 1)]
    lines = np.stack([nodes[:-1], nodes[1:]], axis=1)
    mesh = fea.Mesh(points, {**sheet.cells, "line": lines}, {**sheet.places, "tip": [last]},
                    {**sheet.zones, "bar": ("line", np.arange(len(lines)))})
    spots, places, plain = read(
        mesh, {"skin": fea.ShellSection(STEEL, thickness=5.0), "bar": BAR},
        [fea.Support("border", ALL)], {"case": [fea.PointForce("tip", load)]})
    (end,) = (place for place in places if place.reason == "end of a strut")
    return *worst(spots, end), plain


def test_the_hot_spot_ahead_of_a_rib_converges_where_the_plain_maximum_does_not():
    (coarse, paths, rough), (fine, _, sharp) = rib(32), rib(64)
    assert paths == 3
    np.testing.assert_allclose(fine, coarse, rtol=0.06)
    assert sharp > 1.15 * rough
    # nominal: 10 N/mm over 5 mm, and more where the rib gives its share back
    assert 2.0 < fine[0] < 2.0 * 2.0


@pytest.mark.parametrize("load", [(20.0, 0, 0), (0, 0, 200.0)])
def test_the_hot_spot_at_the_root_of_a_strut_converges(load):
    (coarse, paths, rough), (fine, _, sharp) = struts(48, ROOT, load), struts(64, ROOT, load)
    assert paths == 8
    np.testing.assert_allclose(fine, coarse, rtol=0.04)
    assert sharp > 1.05 * rough


def test_the_root_of_a_strut_bears_more_than_a_thin_plate_under_a_couple_and_less_than_twice():
    """In a thin plate a couple gives M_r = M_θ = (1 + ν) M / (4 π r) along its lever.

    Shear in a wall as thick as the readings are far adds to that. Source of the moment: the
    deflection M r ln r cos θ / (4 π D) (Timoshenko S P, Woinowsky-Krieger S, Theory of Plates and
    Shells, 2nd ed., 1959).
    """
    hot, _, _ = struts(48, ROOT, (20.0, 0, 0))
    r = 2.0 + np.array([0.5, 1.5]) * 5.0  # from the middle of a bar of 4 mm
    thin = 1.3 * 20.0 * 30.0 / (4 * np.pi * r) * 6 / 5.0**2
    line = 1.5 * thin[0] - 0.5 * thin[1]
    assert line < hot[0] < 2.0 * line


def test_ahead_of_a_strut_along_the_wall_three_paths_are_read():
    sheet = grid(48, 48, flat(80, 80))
    along = np.flatnonzero((np.abs(sheet.points[:, 1] - 40) < 1e-9) & (sheet.points[:, 0] < 40.1))
    along = along[np.argsort(sheet.points[along, 0])]
    mesh = fea.Mesh(
        sheet.points, {**sheet.cells, "line": np.stack([along[:-1], along[1:]], axis=1)},
        sheet.places, {**sheet.zones, "bar": ("line", np.arange(len(along) - 1))})
    spots, places, _ = read(
        mesh, {"skin": fea.ShellSection(STEEL, thickness=5.0), "bar": BAR},
        [fea.Support("u0", ALL)], {"pull": [PULL]})
    (end,) = (place for place in places
              if place.reason == "end of a strut" and place.point[0] > 1.0)
    assert end.point == pytest.approx((40, 40, 0))
    (value,), paths = worst(spots, end)
    assert paths == 3 and 2.0 < value < 4.0  # nominal 2, and what the bar gives back


def test_cells_too_coarse_for_the_root_of_a_strut_are_refused():
    with pytest.raises(UnreadError, match="make them at most 2.0 mm, 0.4 of the wall thickness"):
        struts(24, ROOT, (20.0, 0, 0))
