# SPDX-License-Identifier: MIT
"""Pictures: the same scene whoever paints it, nothing told by colour alone."""

import io
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.image import imread

from fea.drawing.camera import fit_camera, is_hidden
from fea.drawing.colours import band_colours, shades
from fea.drawing.compose import DPI, NAME_HEIGHT, ROW_HEIGHT
from fea.drawing.picture import Beside, Callout, Mark, Picture, Scale, View
from fea.drawing.render import render
from fea.drawing.scene import build_scene, free_edges, strong_edges
from fea.errors import InputError

SIDE = View("from the side", (0.0, -1.0, 0.0))
SCALE = Scale("utilisation, %", 0.0, 1.0, limit=1.0, factor=100.0, limit_text="limit")


def gutter(rows: int = 12, columns: int = 16):
    """Points, triangles of a half cylinder of radius 40 and height 200, open to the front."""
    angle, height = np.meshgrid(np.linspace(0.5, 1.5, columns) * np.pi, np.linspace(0, 200, rows))
    points = np.stack([40 * np.cos(angle), 40 * np.sin(angle), height], axis=-1).reshape(-1, 3)
    corner = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    a, b, c, d = corner, corner + 1, corner + columns + 1, corner + columns
    return points, np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def coloured(values_high: float = 1.2, views=(SIDE,)) -> Picture:
    points, triangles = gutter()
    values = points[triangles].mean(axis=1)[:, 2] / 200 * values_high
    return Picture(points, triangles, views, triangle_values=values, scale=SCALE,
                   lines=np.array([[0, len(points) - 1]]), line_values=np.array([0.5]),
                   callouts=(Callout("highest", (0.0, -40.0, 200.0)),))


def test_the_scale_steps_evenly_and_darkens_all_the_way():
    """Equal steps in OKLab; lightness falls, so the order survives a grey print."""
    rgb = shades(10).astype(float) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    # Forward matrices of the published colour space, not the inverse ones of the code.
    lms = linear @ np.array([[0.4122214708, 0.5363325363, 0.0514459929],
                             [0.2119034982, 0.6806995451, 0.1073969566],
                             [0.0883024619, 0.2817188376, 0.6299787005]]).T
    lab = np.cbrt(lms) @ np.array([[0.2104542553, 0.7936177850, -0.0040720468],
                                   [1.9779984951, -2.4285922050, 0.4505937099],
                                   [0.0259040371, 0.7827717662, -0.8086757660]]).T
    steps = np.linalg.norm(np.diff(lab, axis=0), axis=1)
    assert (np.diff(lab[:, 0]) < -0.02).all()
    assert steps.max() / steps.min() < 1.12


def test_the_limit_itself_is_allowed_and_anything_above_is_not():
    colours = band_colours(np.array([1.0, np.nextafter(1.0, 2.0)]), SCALE)
    assert (colours[0] == shades(10)[-1]).all()
    assert tuple(colours[1]) == (0xB3, 0x26, 0x1E)


def test_cells_beyond_the_limit_are_netted():
    within, _ = build_scene(coloured(0.9), SIDE)
    beyond, _ = build_scene(coloured(1.2), SIDE)
    assert len(within.fine) == 0
    assert len(beyond.fine) > 0
    assert beyond.fine[..., 2].min() > 150  # the net covers only the top


def test_rims_of_the_gutter_are_drawn():
    points, triangles = gutter()
    assert len(free_edges(triangles)) == 2 * (11 + 15)
    # Seen from behind nothing turns away and nothing folds by more than 35 degrees.
    assert len(strong_edges(points, triangles, np.array([-1.0, 0, 0]))) == 2 * (11 + 15)


def test_triangles_of_opposite_sense_make_no_false_fold():
    points = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    flipped = np.array([[0, 1, 2], [0, 3, 2]])
    assert len(strong_edges(points, flipped, np.array([0.0, 0.0, 1.0]))) == 4


def test_a_place_behind_the_wall_is_known_as_hidden():
    points, triangles = gutter()
    wall = np.array([-40.0, 0.0, 100.0])
    from_behind, from_front = View("b", (-1, 0, 0)), View("f", (1, 0, 0))
    behind_the_axis = np.array([0.0, 0.0, 100.0])
    assert not is_hidden(wall, points, triangles, fit_camera(points, from_behind))
    assert is_hidden(behind_the_axis, points, triangles, fit_camera(points, from_behind))
    assert not is_hidden(behind_the_axis, points, triangles, fit_camera(points, from_front))


def test_values_without_a_scale_are_refused():
    points, triangles = gutter()
    with pytest.raises(InputError, match="without a scale"):
        Picture(points, triangles, (SIDE,), triangle_values=np.zeros(len(triangles)))
    with pytest.raises(InputError, match=r"triangle_values must have shape \(330\); got \(3,\)"):
        Picture(points, triangles, (SIDE,), triangle_values=np.zeros(3), scale=SCALE)


def test_a_dead_child_falls_back_and_says_so():
    rendering = render([coloured()], child="fea.drawing.no_such_painter")
    assert rendering.painter == "matplotlib"
    assert "ended with exit 1" in rendering.note
    assert rendering.images[0].startswith(b"\x89PNG")


def test_a_child_killed_by_a_signal_falls_back(tmp_path, monkeypatch):
    (tmp_path / "dying.py").write_text("import os, signal\nos.kill(os.getpid(), signal.SIGSEGV)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    rendering = render([coloured()], child="dying")
    assert (rendering.painter, len(rendering.images)) == ("matplotlib", 1)
    assert "signal 11" in rendering.note


def test_a_slow_child_falls_back(tmp_path, monkeypatch):
    (tmp_path / "sleeping.py").write_text("import time\ntime.sleep(60)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    rendering = render([coloured()], child="sleeping", time_limit=0.5)
    assert rendering.painter == "matplotlib"
    assert "longer than 0.5 s" in rendering.note


def test_the_flat_painter_shows_the_colours_of_the_bar():
    picture = coloured(0.95, views=(View("from behind", (-1.0, 0.0, 0.0)),))
    image = imread(io.BytesIO(render([picture], child="no_such").images[0]))
    assert_bands_visible(image)


@pytest.mark.slow
def test_the_child_paints_every_picture_with_the_colours_of_the_bar():
    rendering = render([coloured(0.95, views=(View("from behind", (-1.0, 0.0, 0.0)),)), coloured()])
    if rendering.painter != "pyvista":
        pytest.skip(rendering.note)
    assert len(rendering.images) == 2
    assert_bands_visible(imread(io.BytesIO(rendering.images[0])))


def assert_bands_visible(image):
    """Each band fills part of the panel above the bar, within 3 % of its colour on the bar."""
    panel = image[: int(0.75 * len(image)), :, :3].reshape(-1, 3)
    for shade in shades(10)[:9] / 255.0:
        close = (np.abs(panel - shade) < 0.03).all(axis=1)
        assert close.sum() > 500, shade


def test_cells_without_value_are_netted_too():
    picture = coloured(0.5)
    values = picture.triangle_values.copy()
    values[:3] = np.nan
    scene, _ = build_scene(replace(picture, triangle_values=values), SIDE)
    assert 3 <= len(scene.fine) <= 9
    assert (scene.triangle_rgb[:3] == 255).all()


def test_marked_parts_are_set_off_and_the_darker_ones_netted():
    points, triangles = gutter()
    half = np.arange(len(triangles)) < 100
    few = np.arange(len(triangles)) < 10
    picture = Picture(points, triangles, (SIDE,), marks=(
        Mark("light", half), Mark("dark", few, netted=True)))
    scene, _ = build_scene(picture, SIDE)
    colours = {tuple(row) for row in scene.triangle_rgb}
    assert len(colours) == 3
    assert len({tuple(row) for row in scene.triangle_rgb[few]}) == 1
    assert 0 < len(scene.fine) < len(free_edges(triangles[few])) * 3
    with pytest.raises(InputError, match="would hide values"):
        replace(coloured(), marks=(Mark("light", half),))
    with pytest.raises(InputError, match="mark 'light' must have shape"):
        replace(picture, marks=(Mark("light", half[:3]),))


def test_a_tight_picture_is_only_as_wide_as_it_needs():
    points, triangles = gutter()
    picture = Picture(points, triangles, (SIDE,))
    wide, tight = (imread(io.BytesIO(image)) for image in
                   render([picture, replace(picture, tight=True)], child="no.such.module").images)
    assert wide.shape[0] == tight.shape[0] and tight.shape[1] < wide.shape[1]


def smaller(picture: Picture, factor: float) -> Picture:
    return replace(picture, points=factor * picture.points, callouts=())


def test_pictures_beside_each_other_share_camera_and_colours():
    """Half the size is drawn half as large, and the same value has the same colour."""
    first, second = coloured(), smaller(coloured(), 0.5)
    (_, one), (_, other) = (build_scene(each, SIDE, (first, second)) for each in (first, second))
    assert (one.half_height, one.half_width) == (other.half_height, other.half_width)
    assert np.array_equal(one.centre, other.centre)
    spans = [np.ptp(camera.project(each.points)[:, 1])
             for each, camera in ((first, one), (second, other))]  # fmt: skip
    assert spans[1] == pytest.approx(0.5 * spans[0])


@pytest.mark.parametrize(("pictures", "names", "message"), [
    ((coloured(),), ("before", "now"), "1 pictures beside each other have 2 names"),
    ((coloured(), coloured(views=(SIDE, SIDE))), ("before", "now"), "the same views"),
    ((coloured(), replace(coloured(), scale=replace(SCALE, high=2.0))), ("before", "now"),
     "the same scale"),
])  # fmt: skip
def test_pictures_that_no_eye_can_compare_are_refused(pictures, names, message):
    with pytest.raises(InputError, match=message):
        Beside(pictures, names)


def test_pictures_beside_each_other_are_one_image_with_a_row_for_each_view():
    first = coloured(views=(SIDE, View("from behind", (-1.0, 0.0, 0.0))))
    rendering = render([Beside((first, smaller(first, 0.5)), ("before", "now"))], child="no.such")
    image = imread(io.BytesIO(rendering.images[0]))
    assert image.shape[1] == 1800
    panels = 2 * (ROW_HEIGHT + 1.5 * NAME_HEIGHT) * DPI
    for top in (0.0, 0.5 * panels):
        row = image[int(top) : int(top + ROW_HEIGHT * DPI), :, :3]
        drawn = (row.min(axis=(0, 2)) < 0.9).astype(int)
        assert drawn[:900].any() and drawn[900:].any()
        assert not drawn[880:920].any()  # white between the two
