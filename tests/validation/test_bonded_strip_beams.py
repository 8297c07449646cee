# SPDX-License-Identifier: MIT
"""Strips bonded on uprights against beams of two materials, by the transformed section.

Without Poisson's ratio an upright with a sheet bonded on is a beam of two layers. About the neutral
axis that both share, E I = Σ E (b t³/12 + b t d²), wherever the mesh may lie; the stress at the
distance e from it is E M e / E I. On a flat upright it makes no odds on which face the sheet lies,
save that stress changes its sign. On opposite walls of a tube the outer faces lie further from the
axis of bending than the inner ones, and so do strips on them.
"""

import numpy as np
import pytest
from standing_walls import LIBRARY, SOFT, STIFF, tube, upright

import fea
from fea.device.change import apply_change
from fea.device.changefile import Change, Overlay
from fea.structure.realise import realise

pytestmark = pytest.mark.source("transformed section, Timoshenko, Strength of Materials I, 1955")

WIDTH, HEIGHT, WALL, SHEET = 20.0, 200.0, 4.0, 1.0
SIDE, LONG, THIN = 40.0, 400.0, 3.0


def with_strip(device, **keys):
    keys = {"name": "strip", "zones": tuple(device.walls), "face": "outer", "material": "stiff",
            "thickness_mm": SHEET} | keys
    change = Change(title="A strip", overlays=(Overlay.model_validate(keys),))
    return apply_change(device, change, LIBRARY)


def clamped(device, loads, **places):
    """The solution of a device held at its foot."""
    points = device.mesh.points
    feet = np.flatnonzero(points[:, 2] < 1e-6)
    mesh = device.mesh.with_places({"feet": feet, **places})
    held = fea.Support("feet", "ux uy uz rx ry rz")
    structure = fea.Structure(mesh, realise(device).sections, [held])
    return fea.solve(structure.with_cases({"load": loads}))["load"]


def at_height(device, height, where=lambda points: points[:, 2] > -1.0):
    points = device.mesh.points
    return np.flatnonzero((np.abs(points[:, 2] - height) < 1e-6) & where(points))


def two_layers(first, second):
    """E I per width of two layers (E, thickness), and the neutral axis above the first's bottom."""
    (e1, t1), (e2, t2) = first, second
    axis = (e1 * t1 * t1 / 2 + e2 * t2 * (t1 + t2 / 2)) / (e1 * t1 + e2 * t2)
    stiffness = sum(e * (t**3 / 12 + t * (at - axis) ** 2)
                    for e, t, at in ((e1, t1, t1 / 2), (e2, t2, t1 + t2 / 2)))
    return stiffness, axis


def pushed(device):
    """Deflection at the top of an upright under 1 N forward, and the solution."""
    top = at_height(device, HEIGHT)
    push = fea.EdgeForce("top", (1.0 / WIDTH, 0.0, 0.0))
    solution = clamped(device, [push], top=top)
    return float(solution.displacement[top, 0].mean()), solution


@pytest.mark.parametrize("face", ["outer", "inner"])
def test_sheet_over_a_whole_upright(face):
    deflection, solution = pushed(with_strip(upright(), face=face))
    stiffness, axis = two_layers((SOFT, WALL), (STIFF, SHEET))
    assert deflection == pytest.approx(HEIGHT**3 / (3 * stiffness * WIDTH), rel=0.01)

    # stress at a quarter of the height; pushed forward, the inner face is pulled
    zone, layers = "strip on upright", solution.ply_stress("strip on upright")
    heights = solution.system.structure.mesh.points[
        solution.system.structure.mesh.zone_cells(zone)].mean(axis=1)[:, 2]
    near = np.abs(heights - 0.25 * HEIGHT) < 6.0
    moment = HEIGHT - heights[near]
    pulled = 1.0 if face == "outer" else -1.0  # the bare face of the wall is pulled, or pushed
    bare = layers[near, 0, 0, 0] if face == "outer" else layers[near, 1, 2, 0]
    sheet = layers[near, 1, 2, 0] if face == "outer" else layers[near, 0, 0, 0]
    in_wall, in_sheet = float(np.mean(bare / moment)), float(np.mean(sheet / moment))
    fibre = WALL + SHEET - axis
    assert in_wall == pytest.approx(pulled * SOFT * axis / (stiffness * WIDTH), rel=0.01)
    assert in_sheet == pytest.approx(-pulled * STIFF * fibre / (stiffness * WIDTH), rel=0.01)


def test_strip_over_the_middle_half_cut_between_rows_of_cells():
    bare = SOFT * WALL**3 / 12
    stiffness, _ = two_layers((SOFT, WALL), (STIFF, SHEET))
    low, high = 48.0, 147.0  # rows of cells end at multiples of 5 mm

    def bent(e_i, a, b):
        """∫ (H - z)² dz / E I, the share of a piece from a to b in the deflection."""
        return ((HEIGHT - a) ** 3 - (HEIGHT - b) ** 3) / (3 * e_i * WIDTH)

    expected = bent(bare, 0, low) + bent(stiffness, low, high) + bent(bare, high, HEIGHT)
    device = with_strip(upright(rows=40), from_mm=low, to_mm=high)
    assert pushed(device)[0] == pytest.approx(expected, rel=0.01)


def test_strip_narrower_than_the_upright():
    strip = 7.0  # columns of cells are 5 mm wide, so its edges are cut
    whole, sheet = SOFT * WALL * WIDTH, STIFF * SHEET * strip
    axis = (whole * WALL / 2 + sheet * (WALL + SHEET / 2)) / (whole + sheet)
    stiffness = whole * (WALL**2 / 12 + (WALL / 2 - axis) ** 2)
    stiffness += sheet * (SHEET**2 / 12 + (WALL + SHEET / 2 - axis) ** 2)
    device = with_strip(upright(), width_mm=strip)
    assert pushed(device)[0] == pytest.approx(HEIGHT**3 / (3 * stiffness), rel=0.01)


def bending_stiffness(device):
    """E I of a tube from its curvature under an end moment, a pair of forces on two walls."""
    half = 0.5 * SIDE
    front, back = (at_height(device, LONG, lambda p, s=sign: np.abs(p[:, 0] - s * half) < 1e-6)
                   for sign in (1.0, -1.0))
    loads = [fea.EdgeForce("front", (0.0, 0.0, -1.0)), fea.EdgeForce("back", (0.0, 0.0, 1.0))]
    solution = clamped(device, loads, front=front, back=back)
    at = [solution.displacement[at_height(device, share * LONG), 0].mean()
          for share in (0.25, 0.5, 0.75)]
    curvature = (at[0] - 2 * at[1] + at[2]) / (0.25 * LONG) ** 2
    return SIDE * SIDE / curvature


def tube_stiffness(*strip):
    """E I of the tube, with strips (modulus, middle from the axis) on front and back."""
    half = 0.5 * SIDE
    walls = 2 * THIN * SIDE**3 / 12 + 2 * SIDE * (THIN * half**2 + THIN**3 / 12)
    return SOFT * walls + sum(
        2 * SIDE * modulus * (SHEET * at**2 + SHEET**3 / 12) for modulus, at in strip)


def test_bare_tube():
    assert bending_stiffness(tube()) == pytest.approx(tube_stiffness(), rel=0.01)


@pytest.mark.parametrize(("face", "sign"), [("outer", 1.0), ("inner", -1.0)])
def test_strips_on_opposite_walls_of_a_tube(face, sign):
    device = with_strip(tube(), zones=("front", "back"), face=face)
    middle = 0.5 * SIDE + sign * 0.5 * (THIN + SHEET)
    assert bending_stiffness(device) == pytest.approx(tube_stiffness((STIFF, middle)), rel=0.01)
