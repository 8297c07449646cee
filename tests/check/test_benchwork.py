# SPDX-License-Identifier: MIT
"""The bench is told what the numbers say: no wall, hole or rim but those that they name."""

import math
from dataclasses import replace

import numpy as np
import pytest
from fake_assessment import assessment
from riveted import LIBRARY, WALL, riveted, solved

from fea.check.benchwork import APART, HOLE, bench_work
from fea.check.check import Check, governing
from fea.check.factors import read_factors
from fea.check.judgement import judge
from fea.check.neededwall import least_wall, wall_times
from fea.device.device import Fastening, Hole, Strap, Wall

# Kirsch: stress round a hole is 3 s1 - s2 at most; over von Mises stress for r = s2/s1.
FASTENING = Fastening("rivet", "rivet bar", "rivet shell", 4.0)
RATIOS = np.linspace(-1.0, 1.0, 2001)


@pytest.fixture(scope="module")
def result():
    return assessment(0.9)


@pytest.fixture(scope="module")
def work(result):
    return bench_work(result.device, result.cell_utilisation, result.checks)


def check(**changes):
    values = {"topic": "yield", "zone": "calf-shell", "case": "c", "place": (-40.0, 0.0, 70.0),
              "demand": 1.0, "capacity": 1.0, "unit": "MPa", "required": 1.0, "basis": "",
              "sources": ()}
    return Check(**values | changes)


def test_no_hole_raises_stress_more_than_taken():
    worst = (3.0 - RATIOS) / np.sqrt(1.0 - RATIOS + RATIOS**2)
    assert worst.max() == pytest.approx(HOLE, rel=1e-6)
    assert RATIOS[worst.argmax()] == pytest.approx(0.2, abs=1e-3)


def test_every_wall_is_measured_where_it_works_hardest(result, work):
    mesh = result.device.mesh
    assert {point.zone for point in work.measure} == {"calf-shell", "foot-plate"}
    first = work.measure[0]
    hardest = mesh.points[mesh.cells["triangle"][result.cell_utilisation.argmax()]].mean(axis=0)
    assert first.place == pytest.approx(tuple(hardest))
    assert (first.zone, first.wall, first.utilisation) == ("calf-shell", 4.0, pytest.approx(0.9))
    assert first.least == 3.8  # 4.0 × √(16 × 0.9 × 1.5 / 24 = 0.9) = 3.79


def test_a_wall_that_fails_asks_for_more_and_a_buckle_asks_for_its_own():
    assert least_wall(4.0, wall_times(0.25)) == 2.0  # 4 √0.25
    assert least_wall(4.0, wall_times(0.512, buckling=True)) == 3.2  # 4 ∛0.512
    assert least_wall(4.0, wall_times(1.25)) == 5.0  # in tension: 4 × 1.25
    assert least_wall(4.0, wall_times(1.44, buckling=True)) == 4.8  # 4 √1.44


def test_what_is_missing_is_taken_from_the_slope_of_the_check_where_it_is_known():
    assert wall_times(1.44, slope=-2.0) == pytest.approx(1.2)  # 1.2² = 1.44
    assert wall_times(1.44, slope=-0.5) == pytest.approx(1.44**2)
    assert wall_times(1.44, slope=-0.05) == math.inf  # hardly by this wall
    assert wall_times(1.44, slope=0.4) == math.inf  # a thicker one hurts
    assert least_wall(4.0, math.inf) == math.inf


def test_room_to_spare_is_never_more_than_for_bending():
    for slope in (None, 0.4, -0.5, -2.0):
        assert wall_times(0.25, slope=slope) == 0.5
    assert wall_times(0.25, slope=-4.0) == pytest.approx(0.25**0.25)


def test_needed_walls_take_the_slopes_that_are_given():
    result = assessment(1.44)
    own = {("yield", "calf-shell", "today"): -2.0}
    plain, known = (
        {one.zone: one.least for one in bench_work(
            result.device, result.cell_utilisation, result.checks, (), slopes).measure}
        for slopes in ({}, own)
    )  # fmt: skip
    assert (plain["calf-shell"], known["calf-shell"]) == (5.8, 4.8)  # 4 × 1.44; 4 √1.44
    assert plain["foot-plate"] == known["foot-plate"]


def test_where_a_hole_would_break_the_wall_it_is_not_drilled(result, work):
    cells = result.cell_utilisation
    assert (work.drill == (HOLE * cells > 1.0)).all()
    assert work.drill.any() and not work.drill.all()
    shell = next(one for one in work.clear if one.zone == "calf-shell")
    assert 0.0 < shell.drill < 1.0 and shell.utilisation == pytest.approx(0.9)


def test_only_hard_worked_rims_are_left_alone(result, work):
    assert work.trim.any()
    assert (result.cell_utilisation[work.trim] > 0.5).all()
    lengths = {one.zone: one.trim for one in work.clear}
    assert lengths["calf-shell"] > 0.0 and lengths["foot-plate"] == 0.0


def test_what_is_not_judged_is_neither_drilled_nor_trimmed(result):
    cells = result.cell_utilisation.copy()
    numbers = result.device.mesh.zone("foot-plate")[1]
    cells[numbers] = np.nan
    work = bench_work(result.device, cells, result.checks)
    assert work.drill[numbers].all() and work.trim[numbers].any()
    point = next(point for point in work.measure if point.zone == "foot-plate")
    assert (point.why, point.utilisation) == ("middle", None)


def test_the_fall_counts_where_it_asks_more_than_today(result):
    fall = check(demand=1.8, horizon="first fall")
    work = bench_work(result.device, result.cell_utilisation, [*result.checks, fall])
    shell = result.device.mesh.zone("calf-shell")[1]
    assert (work.drill[shell] == (2.0 * HOLE * result.cell_utilisation[shell] > 1.0)).all()
    assert work.watch[0].utilisation == 1.8
    other = check(demand=1.8, topic="local peak")  # says nothing of the cells round it
    same = bench_work(result.device, result.cell_utilisation, [*result.checks, other])
    assert same.drill.sum() < work.drill.sum()


def test_places_to_watch_keep_their_distance_and_name_the_skin_apart(result):
    skin = [check(topic="skin pressure", unit="kPa", place=(x, 0.0, 300.0), demand=0.5)
            for x in (0.0, 1.0, 60.0)]
    work = bench_work(result.device, result.cell_utilisation, [*result.checks, *skin])
    walls = [one for one in work.watch if one.kind == "thermoplastic"]
    for k, one in enumerate(walls):
        assert all(math.dist(one.place, other.place) >= APART for other in walls[:k])
    assert [one.place[0] for one in work.watch if one.kind == "skin"] == [0.0, 60.0]
    assert [one.kind for one in work.watch] == ["thermoplastic"] * 6 + ["metal"] + ["skin"] * 2
    assert work.watch[6].zone == "lateral-bar"  # however hard the walls work, bars are watched


def test_the_thinnest_place_of_an_uneven_wall_is_measured_too(result):
    walls = dict(result.device.walls)
    thickness = np.full(len(result.device.mesh.zone("foot-plate")[1]), 5.0)
    thickness[7] = 4.0
    walls["foot-plate"] = replace(walls["foot-plate"], thickness=thickness)
    device = replace(result.device, walls=walls)
    points = bench_work(device, result.cell_utilisation, result.checks).measure
    assert {(one.why, one.wall) for one in points if one.zone == "foot-plate"} == {
        ("hardest worked", 5.0), ("thinnest", 4.0)}


def test_every_fastening_is_watched_judged_or_not(result):
    places = {"rivet shell": np.array([5]), "rivet bar": np.array([6])}
    mesh = result.device.mesh.with_places(places)
    device = replace(result.device, mesh=mesh, fastenings=(
        replace(FASTENING, name="rivet 1"), replace(FASTENING, name="rivet 2")))
    joints = [check(zone="rivet 2", topic="bearing", demand=share) for share in (0.2, 0.7)]
    work = bench_work(device, result.cell_utilisation, [*result.checks, *joints])
    watched = [(one.zone, one.utilisation) for one in work.watch if one.kind == "fastening"]
    assert watched == [("rivet 2", 0.7), ("rivet 1", None)]


def test_strap_ends_and_holes_are_watched_too_judged_or_not(result):
    places = {"strap left": np.array([5, 6]), "strap right": np.array([7]),
              "drilled": np.array([8])}
    mesh = result.device.mesh.with_places(places)
    strap = Strap("calf strap", ("strap left", "strap right"), "shank", (-1.0, 0.0, 0.0),
                  40.0, 10.0, "assumed", "assumed", "calf-shell", 0.5)
    device = replace(result.device, mesh=mesh, straps=(strap,), fastenings=(),
                     holes=(Hole("window", "calf-shell", "drilled", 6.0),))
    end = check(zone="strap right", topic="bearing", demand=0.4, part="calf-shell")
    work = bench_work(device, result.cell_utilisation, [*result.checks, end])
    watched = {one.zone: one for one in work.watch if one.kind == "fastening"}
    assert {zone: one.utilisation for zone, one in watched.items()} == {
        "strap right": 0.4, "strap left": None, "window": None}
    assert watched["strap left"].place == pytest.approx(tuple(mesh.points[[5, 6]].mean(axis=0)))


def test_a_wall_need_not_be_thicker_for_the_bar_that_is_riveted_to_it(result):
    def least(*joints):
        """Of the calf shell, with the governing checks alone and the rest among the findings."""
        known = [*result.checks, *joints]
        work = bench_work(result.device, result.cell_utilisation, governing(known)[0], known)
        return next(one.least for one in work.measure if one.zone == "calf-shell")

    bar = check(zone="rivet", topic="bearing", demand=2.0, part="lateral-bar")
    wall = check(zone="rivet", topic="bearing", demand=1.25, part="calf-shell")
    assert least() == 3.8
    assert least(bar) == 3.8
    assert least(wall) == least(bar, wall) == 5.0  # 4 × 1.25, though the bar's check governs


def test_every_stress_at_a_joint_says_of_which_part_it_is():
    device = riveted(Wall(LIBRARY["polypropylene-homopolymer"], WALL))
    found = judge(device, solved(device, {"sideways": (0.0, 20.0, 5.0)}), read_factors()).findings
    names = {each.name for each in device.fastenings}
    joints = [one for one in found if isinstance(one, Check) and one.zone in names]
    parts = {(one.topic, one.part) for one in joints}
    (wall,), (bar,) = device.walls, device.bars
    topics = ("bearing", "shear-out", "pull-through", "net section")
    assert parts == {(topic, part) for topic in topics for part in (wall, bar)} | {("fastener", "")}
    assert all(not one.part for one in found if isinstance(one, Check) and one not in joints)
