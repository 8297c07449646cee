# SPDX-License-Identifier: MIT
"""Which joints of walls make stress grow with every refinement, and which do not."""

import numpy as np
import pytest
from cornered import ribbed_plate
from small_models import ALL, STEEL, flat, grid

import fea
from fea.tensors import von_mises

NEAR = 6.0  # mm round a place, in which its peak is read
LOADS = {"tension": (10.0, 0, 0), "bending": (0, 0, 1.0), "shear": (0, 10.0, 0)}  # N/mm


def peaks(mesh, walls, place, sides=("u0", "u1")):
    """Largest von Mises stress (loads,) near a place of a plate held at one side, drawn at another.

    LOADS are along the plate from u0 to u1; across it tension is shear, and the other way round.
    """
    sections = {zone: fea.ShellSection(STEEL, thickness=wall) for zone, wall in walls.items()}
    system = fea.prepare(fea.Structure(mesh, sections, [fea.Support(sides[0], ALL)]))
    cases = {name: [fea.EdgeForce(sides[1], force)] for name, force in LOADS.items()}
    recovered = system.recovery(list(system.solve(cases).values()))
    found = []
    for zone in walls:
        near = np.linalg.norm(mesh.points[mesh.zone_cells(zone)].mean(axis=1) - place, axis=1)
        stress = von_mises(recovered.surface_stress(zone)).max(axis=(1, 3))
        found.append(stress[:, near < NEAR].max(axis=1))
    return np.max(found, axis=0)


def stepped(cells):
    """A plate of 100 × 50 whose wall halves at x = 50."""
    mesh = grid(2 * cells, cells, flat(100, 50))
    thick = mesh.points[mesh.zone_cells("skin")].mean(axis=1)[:, 0] < 50
    return mesh.with_zones(
        {
            "thick": ("triangle", np.flatnonzero(thick)),
            "thin": ("triangle", np.flatnonzero(~thick)),
        }
    )


def growth(of, cells=20):
    """How much the peaks grow when the cells are halved, by load."""
    return dict(zip(LOADS, of(2 * cells) / of(cells), strict=True))


def test_where_a_rib_ends_on_the_wall_the_peak_grows():
    grown = growth(lambda n: peaks(ribbed_plate(n, (20, 60)), {"skin": 4, "rib": 4}, (60, 25, 0)))
    assert grown["tension"] > 1.2 and grown["bending"] > 1.3


@pytest.mark.slow
@pytest.mark.parametrize("x", [0.0, 100.0])
def test_where_a_rib_runs_to_a_free_rim_it_hardly_does(x):
    walls, across = {"skin": 4, "rib": 4}, ("v0", "v1")
    grown = growth(lambda n: peaks(ribbed_plate(n, (0, 100)), walls, (x, 25, 0), across), 40)
    assert max(grown.values()) < 1.05


@pytest.mark.parametrize("y", [0.0, 50.0])
def test_where_a_step_in_the_wall_meets_the_rim_it_hardly_does(y):
    grown = growth(lambda n: peaks(stepped(n), {"thick": 8, "thin": 4}, (50, y, 0)))
    assert max(grown.values()) < 1.05
