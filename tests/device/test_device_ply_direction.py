# SPDX-License-Identifier: MIT
"""Where plies lie: along the foot, round the heel and up the shank, or as the file says."""

import numpy as np
import pytest
from angle_piece import angle_piece, refusal

import fea
from fea.device.meshdevice import read_mesh_device
from fea.device.meshwriter import write_mesh_device
from fea.element.shell import facets
from fea.limb import Limb
from fea.mesh.topology import edges_of
from fea.structure.patches import smooth_patches
from fea.wearer import Wearer

PERSON = Limb.of(Wearer(mass_kg=75.0, height_mm=1750.0, side="left"))
RECIPE = fea.read_device("carbon-laminate-adult")
LAYUP = {"angles_deg": [0, 45, 45, 0], "thicknesses_mm": 0.25}


@pytest.fixture(scope="module")
def device():
    return RECIPE.fit(PERSON, 12.0)


def axes(device):
    """Middles (c, 3) of all cells, and their axes (c, 3, 3): ply axis 1, 2 and the normal."""
    triangles = device.mesh.cells["triangle"]
    along = np.full((len(triangles), 3), np.nan)
    for zone, wall in device.walls.items():
        along[device.mesh.zone(zone)[1]] = wall.direction
    return device.mesh.points[triangles].mean(axis=1), facets(device.mesh.points, triangles,
                                                              along).axes


def test_axis_1_runs_forward_under_the_foot_and_up_the_shank(device):
    _, frames = axes(device)
    plate = device.mesh.zone("foot plate")[1]
    flat = plate[frames[plate, 2, 2] < -0.99]
    assert np.abs(frames[flat, 0, 0]).min() > 0.99
    for zone in ("upright medial", "upright lateral", "front piece", "posterior shell"):
        assert np.abs(frames[device.mesh.zone(zone)[1], 0, 2]).min() > 0.93


def test_axis_1_runs_round_the_heel(device):
    """Under the heel forward, behind it down, between them square to the radius of the turn."""
    middles, frames = axes(device)
    heel = np.concatenate([device.mesh.zone(zone)[1] for zone in ("heel", "foot plate")])
    heel = heel[middles[heel, 0] < -25.0]
    back = heel[np.abs(middles[heel, 1]) < 12.0]
    assert len(back) > 10
    # on the midline the part is a plane curve: axis 1 has no part across it
    assert np.abs(frames[back, 0, 1]).max() < 0.25
    lowest, rearmost = back[np.argmin(middles[back, 2])], back[np.argmin(middles[back, 0])]
    assert abs(frames[lowest, 0, 0]) > 0.95 and abs(frames[rearmost, 0, 2]) > 0.95
    side = heel[np.abs(frames[heel, 2, 1]) > 0.9]
    slope = np.degrees(np.arctan2(-frames[side, 0, 2], frames[side, 0, 0]))
    assert len(side) and (slope > 10.0).all() and (slope < 85.0).all()


def test_plies_run_through_the_borders_of_zones(device):
    middles, frames = axes(device)
    pairs, _ = edges_of(device.mesh.cells["triangle"]).two_sided_pairs()
    a, b = pairs.T
    smooth = np.sum(frames[a, 2] * frames[b, 2], axis=1) > np.cos(np.radians(20.0))
    zone = np.empty(len(middles), dtype=int)
    for k, name in enumerate(device.walls):
        zone[device.mesh.zone(name)[1]] = k
    turn = np.degrees(np.arccos(np.clip(np.sum(frames[a, 0] * frames[b, 0], axis=1), -1, 1)))
    assert (zone[a] != zone[b])[smooth].sum() > 40
    assert turn[smooth].max() < 35.0 and np.median(turn[smooth]) < 6.0


def test_one_layup_is_one_patch_across_zones(device):
    """Heel, ankle and uprights share a layup, and now a direction: stress is continuous there."""
    sections = {zone: fea.ShellSection(wall.layup, direction=wall.direction)
                for zone, wall in device.walls.items()}
    patches = smooth_patches(fea.Structure(device.mesh, sections))
    most = {zone: np.bincount(patches[device.mesh.zone(zone)[1]]).argmax() for zone in sections}
    assert most["heel"] == most["ankle medial"] == most["upright lateral"]
    assert most["foot plate"] == most["foot walls"] != most["heel"]


def test_a_direction_in_the_file_replaces_it():
    turned = RECIPE.changed({"walls.heel.direction": [0.0, 1.0, 0.3]}).fit(PERSON, 14.0)
    assert turned.walls["heel"].direction == (0.0, 1.0, 0.3)
    assert turned.walls["ankle medial"].direction.shape[1:] == (3,)


def test_a_written_mesh_keeps_the_plies(device, tmp_path):
    write_mesh_device(device, tmp_path / "again.toml", name="again", licence="MIT")
    again = read_mesh_device(tmp_path / "again.toml")
    np.testing.assert_allclose(axes(again)[1][:, 0], axes(device)[1][:, 0], atol=1e-6)


def laminated(content, **more):
    content["zones"]["cuff"] = {"material": "carbon-cloth-epoxy", "cell_data": "zone", "value": 3,
                                "layup": LAYUP, **more}
    return content


def test_a_direction_field_lies_in_the_axes_of_the_mesh(content, write):
    points, cells, _ = angle_piece()
    moved = points[:, [0, 2, 1]] * [1, 1, -1]  # y up and z to the right
    content = laminated(content, direction_field="fibres")
    content["axes"] = ["x", "-z", "y"]
    content["landmarks"] = {"ankle_axis": [0, 80, 0], "heel": [-55, 10, 0],
                            "plate_end": [160, 10, 0]}
    fibres = np.tile([0.0, 2.0, 0.0], (len(cells), 1))
    wall = read_mesh_device(write(content, moved, fibres=fibres)).walls["cuff"]
    np.testing.assert_allclose(wall.direction, np.tile([0.0, 0.0, 2.0], (56, 1)))


def test_plies_of_which_nothing_is_said_are_named_in_a_note(content, write):
    notes = read_mesh_device(write(laminated(content))).notes
    assert any("Where 0° of the plies lies is not said of cuff" in note for note in notes)


def test_directions_that_cannot_be_are_refused(content, write):
    both = laminated(content, direction=[0, 0, 1], direction_field="fibres")
    assert any("takes direction or direction_field" in words for words in refusal(write(both)))
    _, cells, _ = angle_piece()
    content = laminated(content, direction_field="fibres")
    words = refusal(write(content, fibres=np.zeros(len(cells))))
    assert any("no array 'fibres' of three numbers a cell" in each for each in words)
    words = refusal(write(content, fibres=np.zeros((len(cells), 3))))
    assert any("cells of the zone without a direction" in each for each in words)
