# SPDX-License-Identifier: MIT
"""Whether the error stated for a shipped device is the one that its mesh makes.

In every zone the peak of the recovered stress with its error must reach the recovered peak with
cells of half the size. Places where stress does not converge are left out, in both meshes those
that the coarse one leaves out: a small cell counts where the four large ones nearest to it do.
"""

import numpy as np
import pytest
from scipy.spatial import cKDTree

import fea
from fea.limb import Limb
from fea.loadcase.reaction import ground_reactions
from fea.loadcase.reader import read_load_set
from fea.shipped import resolve
from fea.solver.system import prepare
from fea.structure.realise import ground_load, landmark, plate_span, realise
from fea.structure.singular import singular_places
from fea.tensors import von_mises
from fea.wearer import read_wearer

WORN = [
    ("ribbed-polypropylene-child", "demo-child"),
    ("bare-two-upright-polypropylene-child", "demo-child"),
    ("polypropylene-adult", "demo-adult"),
    ("aluminium-bars-adult", "demo-adult"),
    ("carbon-laminate-adult", "demo-adult"),
]


def solved(recipe, wearer, size):
    """The device with cells of a size, and its solutions under the load set of the verdict."""
    limb = Limb.of(wearer)
    device = recipe.fit(limb, size)
    system = prepare(realise(device))
    reactions = ground_reactions(
        read_load_set("walking-envelope"),
        wearer=wearer,
        ankle=landmark(device, "ankle_axis"),
        foot_length=limb.foot_length,
        plate_span=plate_span(device),
    )
    cases = {one.name: [ground_load(device, one)] for one in reactions}
    return device, list(system.solve(cases).values())


def centres(device):
    return device.mesh.points[device.mesh.cells["triangle"]].mean(axis=1)


def judged(device, solutions):
    """(c,) True for the cells where stress converges."""
    places = singular_places(solutions[0].system.structure)
    left_out = np.zeros(len(device.mesh.cells["triangle"]), dtype=bool)
    return ~np.any([left_out, *(place.cells for place in places)], axis=0)


def peaks(device, solutions, keep):
    """Zone to the largest (k,) recovered values over cases and cells to keep, and with their error.

    The value is the von Mises stress, or of plies the size of each component.
    """
    found = {}
    for zone, wall in device.walls.items():
        numbers = device.mesh.zone(zone)[1]
        top, upper = np.zeros(3), np.zeros(3)
        together = solutions[0].system.recovery(solutions)
        for one in (together.case(k) for k in range(len(solutions))):
            if wall.layup is None:
                value = von_mises(one.surface_stress(zone))[0].max(axis=0)[..., None]
                error = one.stress_error(zone)[0].max(axis=0)[..., None]
            else:
                value, error = np.abs(one.ply_stress(zone))[0], one.ply_stress_error(zone)[0]
            value, error = value[keep[numbers]], error[keep[numbers]]
            axes = tuple(range(value.ndim - 1))
            top = np.maximum(top, value.max(axis=axes, initial=0.0))
            upper = np.maximum(upper, (value + error).max(axis=axes, initial=0.0))
        found[zone] = top, upper
    return found


@pytest.mark.slow
@pytest.mark.parametrize(("name", "wearer"), WORN)
def test_the_band_reaches_the_peak_with_cells_of_half_the_size(name, wearer):
    recipe, person = fea.read_device(name), read_wearer(resolve("wearers", wearer))
    device, solutions = solved(recipe, person, None)
    keep = judged(device, solutions)
    finer, fine_solutions = solved(recipe, person, 0.5 * recipe.size)
    nearest = cKDTree(centres(device)).query(centres(finer), k=4)[1]
    coarse = peaks(device, solutions, keep)
    fine = peaks(finer, fine_solutions, keep[nearest].all(axis=1))
    short = {
        zone: (fine[zone][0] / coarse[zone][1]).round(3).tolist()
        for zone in device.walls
        if np.any(fine[zone][0] > coarse[zone][1])
    }
    assert not short
