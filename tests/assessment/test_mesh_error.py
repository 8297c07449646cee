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
from fea.check.plies import PLY_STRENGTHS, outermost_plies
from fea.device.facing import landmark
from fea.limb import Limb
from fea.loadcase.reaction import ground_reactions
from fea.loadcase.reader import read_load_set
from fea.material.criteria import PlyStrength, hashin, stress_ratios, tsai_hill, tsai_wu
from fea.shipped import resolve
from fea.solver.edgeshear import beside_an_edge, edge_shear
from fea.solver.interlaminar import interlaminar_shear
from fea.solver.system import prepare
from fea.structure.realise import ground_load, plate_span, realise
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
    """Zone and criterion to the largest value over cases and cells to keep, and with its error."""
    found = {}
    together = solutions[0].system.recovery(solutions)
    for one in (together.case(k) for k in range(len(solutions))):
        for zone, wall in device.walls.items():
            kept = keep[device.mesh.zone(zone)[1]]
            for criterion, value, error in read(one, zone, wall):
                peak = value[kept].max(initial=0.0), (value + error)[kept].max(initial=0.0)
                key = f"{criterion}, {zone}"
                found[key] = np.maximum(found.get(key, 0.0), peak)
    return found


def read(recovered, zone, wall):
    """What is judged in a zone (c, ...), and its error, for each criterion."""
    if wall.layup is None:
        value, error = von_mises(recovered.surface_stress(zone)), recovered.stress_error(zone)
        yield "von Mises", np.moveaxis(value[0], 0, -1), np.moveaxis(error[0], 0, -1)
        return
    values = [wall.material.property(name).value for name in PLY_STRENGTHS]
    strength, outer = PlyStrength(*values), outermost_plies(wall.layup)
    stress = recovered.ply_stress(zone, outer)[0]
    errors = recovered.ply_stress_error(zone, np.abs, outer)[0]
    yield "ply", stress_ratios(stress, strength), np.abs(stress_ratios(errors, strength))

    for criterion in (tsai_wu, tsai_hill, hashin):

        def size(some, of=criterion):
            return np.maximum(of(some, strength), of(-some, strength))

        error = recovered.ply_stress_error(zone, size, outer)[0]
        yield criterion.__name__, criterion(stress, strength), error
    shear = interlaminar_shear(recovered, zone)
    inside = ~beside_an_edge(recovered, zone)[..., None]
    value = np.linalg.norm(shear.stress[0], axis=-1) * inside
    yield "interlaminar", value, shear.error[0] * inside
    edge, count = edge_shear(recovered, zone), recovered.recovery.rim_distance.shape
    at_nodes = np.zeros((2, *count))
    at_nodes[:, edge.nodes] = edge.stress[0], edge.error[0]
    mesh = recovered.recovery.system.structure.mesh
    # the check takes the worse of both: what fades away from an edge is largest at it
    yield "interlaminar", *at_nodes[:, mesh.zone_cells(zone)]


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
    short = {key: fine[key][0] / coarse[key][1] for key in fine if fine[key][0] > coarse[key][1]}
    assert not short
