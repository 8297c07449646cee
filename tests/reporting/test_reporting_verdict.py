# SPDX-License-Identifier: MIT
"""The pictures of what governs and of the bench show what their words say."""

from dataclasses import replace

import numpy as np
import pytest
from fake_assessment import assessment

from fea.check.check import Check
from fea.device.device import Fastening
from fea.drawing.camera import fit_camera, is_hidden
from fea.reporting.nextsteps import FEW, next_steps, step_pictures
from fea.reporting.verdictfigures import best_view, governing_pictures


@pytest.fixture(scope="module")
def result():
    return assessment(1.21)


def test_each_place_that_governs_is_seen_in_its_picture(result):
    mesh = result.device.mesh
    for _, picture, alt, caption in governing_pictures(result):
        (view,), (callout,) = picture.views, picture.callouts
        camera = fit_camera(mesh.points, view)
        at = np.array(callout.place)
        assert not is_hidden(at, mesh.points, mesh.cells["triangle"], camera)
        assert view.name in f"{alt} {caption}".replace("Seen", "seen")
        assert "mm above the floor" in alt


def test_the_zone_is_marked_whether_wall_or_bar(result):
    pictures = {picture.callouts[0].place: picture for _, picture, _, _ in
                governing_pictures(result)}
    for check in result.checks:
        kind, numbers = result.device.mesh.zone(check.zone)
        (mark,) = pictures[check.place].marks
        marked = mark.triangles if kind == "triangle" else mark.lines
        assert set(np.flatnonzero(marked)) == set(numbers)


def test_what_has_no_place_and_no_zone_is_said_to_have_none(result):
    turn = Check(topic="ankle rotation", zone="device", case="c", place=None, demand=9.0,
                 capacity=8.0, unit="deg", required=1.0, basis="", sources=())
    _, picture, alt, caption = governing_pictures(replace(result, checks=(turn,)))[0]
    assert picture.callouts == () and not picture.marks[0].triangles.any()
    assert "no zone is marked" in caption and "the device as a whole" in alt


def test_a_view_from_outside_is_preferred(result):
    outer = best_view(result, (0.0, 45.0, 100.0))  # the left leg's outer side
    assert outer.towards[1] > 0.0 and "outer side" in outer.name


def test_the_bench_pictures_number_what_the_tables_number(result):
    drafts = {key: (picture, caption) for key, picture, _, caption in step_pictures(result)}
    parts = next_steps(result)
    assert len(drafts["measure"][0].callouts) == len(parts[0].tables[0].rows) == 2
    assert drafts["measure"][0].callouts[0].text == "1: 4 mm"
    assert len(drafts["watch"][0].callouts) == len(parts[2].tables[0].rows)
    assert [mark.netted for mark in drafts["clear"][0].marks] == [False, True]


def test_a_picture_has_room_for_few_rivets_and_says_where_the_rest_stands(result):
    mesh = result.device.mesh.with_places({"s": np.array([5]), "b": np.array([6])})
    rivets = tuple(Fastening(f"rivet {k}", "b", "s", 4.0) for k in range(FEW + 3))
    device = replace(result.device, mesh=mesh, fastenings=rivets)
    many = replace(result, device=device)
    _, picture, _, caption = next(d for d in step_pictures(many) if d[0] == "watch")
    rows = next_steps(many)[2].tables[0].rows
    assert len(rows) - len(picture.callouts) == 3
    assert "3 more rivets, screws or strap ends stand in the table only." in caption
