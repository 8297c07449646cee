# SPDX-License-Identifier: MIT
"""Strength of a whole device, read from solved cases of a cantilever."""

from dataclasses import replace

import numpy as np
import pytest

from fea.check.check import Check, governing
from fea.check.factors import read_factors
from fea.check.judgement import judge, outermost_plies
from fea.check.local import UNREAD, left_out_words
from fea.check.plies import PLY_STRENGTHS
from fea.check.readings import read_shells
from fea.device.device import Bar, Device, Fastening, Sole, Wall
from fea.material.criteria import PlyStrength, hashin, maximum_stress, tsai_hill, tsai_wu
from fea.material.laminate import Laminate
from fea.material.library import read_library
from fea.mesh.mesh import Mesh
from fea.solver.static import solve
from fea.structure.coupling import Support, Tie
from fea.structure.loads import PointForce
from fea.structure.model import Model
from fea.structure.region import Region
from fea.structure.sections import ShellSection, StrutSection

LIBRARY = read_library()
FACTORS = read_factors()
LENGTH, WIDTH, WALL = 100.0, 20.0, 5.0
ALONG, ACROSS = 40, 4
CLAMP = ("root", "ux uy uz rx ry rz")


def strip_mesh():
    """A strip along x in the plane z = 0, and a bar of two struts that goes on from its tip."""
    x, y = np.meshgrid(np.linspace(0, LENGTH, ALONG + 1), np.linspace(0, WIDTH, ACROSS + 1))
    points = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    number = np.arange(x.size).reshape(x.shape)
    a, b = number[:-1, :-1].ravel(), number[:-1, 1:].ravel()
    c, d = number[1:, 1:].ravel(), number[1:, :-1].ravel()
    triangles = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    bar = np.array([[LENGTH, WIDTH / 2, 3.0], [LENGTH + 50, WIDTH / 2, 3.0]])
    start = len(points)
    return Mesh(
        np.concatenate([points, bar]),
        {"triangle": triangles, "line": [[start, start + 1]]},
        places={
            "root": number[:, 0],
            "tip": [start + 1],
            "rivet bar": [start],
            "rivet shell": number[:, -2:].ravel(),
        },
        zones={"strip": ("triangle", np.arange(len(triangles))), "bar": ("line", [0])},
    )


def device_of(wall):
    return Device(
        name="cantilever",
        title="A cantilever strip with a bar",
        side="left",
        mesh=strip_mesh(),
        walls={"strip": wall},
        bars={"bar": Bar(LIBRARY["aluminium-6061-t6"], width=10.0, depth=3.0, up=(0, 0, 1))},
        fastenings=(Fastening("rivet", "rivet bar", "rivet shell", 4.0),),
        plate_zones=(),
        foot_zones=(),
        shank_zones=(),
        landmarks={},
        sole=Sole(0.0, 0.0, 0.0),
        origin="invented for this test",
    )


def solved(device, section, force):
    bar = StrutSection.rectangle(
        device.bars["bar"].material.elastic, width=10.0, depth=3.0, up=(0, 0, 1)
    )
    model = Model(
        device.mesh,
        sections={"strip": section, "bar": bar},
        supports=[Support(*CLAMP)],
        cases={
            "down": [PointForce("tip", (0, 0, -force))],
            "half": [PointForce("tip", (0, 0, -force / 2))],
        },
        ties=[Tie("rivet bar", "rivet shell")],
    )
    return solve(model)


def test_polypropylene_strip_and_its_bar_by_hand():
    material = LIBRARY["polypropylene-homopolymer"]
    device = device_of(Wall(material, WALL))
    solutions = solved(device, ShellSection(material.elastic, WALL), force=5.0)
    judged = judge(device, solutions, FACTORS)
    checks, not_checked = governing(judged.findings)
    by_topic = {check.topic: check for check in checks}
    # At the clamp: M = 5 N · 150 mm, σ = 6 M / (20 · 5²) = 9.0 MPa along the strip, and ν times
    # that across, which the clamp does not let contract: von Mises σ √(1 − ν + ν²). The clamp is
    # a held edge, left out of the plain maximum and judged by its hot-spot stress.
    clamped, nu = by_topic["local peak"], material.elastic.poisson_ratio
    expected = 9.0 * np.sqrt(1.0 - nu + nu**2)
    assert clamped.demand - clamped.error == pytest.approx(expected, rel=0.06)
    assert clamped.place[0] == 0.0 and "held edge at (0, 10, 0)" in clamped.basis
    # Beyond it σ falls with the arm, and nothing keeps the strip from contracting.
    plain = by_topic["yield"]
    assert 7.0 < plain.place[0] < 15.0
    beyond = 6 * 5.0 * (150.0 - plain.place[0]) / (20 * 5**2)
    assert plain.demand - plain.error == pytest.approx(beyond, rel=0.06)
    assert by_topic["yield"].case == "down" and by_topic["yield"].met
    # Bar at the rivet: M = 5 N · 50 mm, σ = 6 M / (3 · 10²) = 5 MPa
    assert by_topic["bar stress"].demand == pytest.approx(5.0, rel=1e-6)
    assert by_topic["bar stress"].error is None
    assert "exact between the nodes" in by_topic["bar stress"].basis
    assert plain.error > 0.0
    assert judged.utilisation["down"]["strip"] == clamped.utilisation > plain.utilisation
    assert judged.utilisation["half"]["bar"] == pytest.approx(
        0.5 * judged.utilisation["down"]["bar"]
    )
    assert np.nanmax(judged.cells) == pytest.approx(by_topic["yield"].utilisation)
    assert [place.reason for place in judged.left_out] == ["held edge", "under a washer"]
    left_out = np.any([place.cells for place in judged.left_out], axis=0)
    np.testing.assert_array_equal(np.isnan(judged.cells), left_out)
    topics = {(entry.topic, entry.zone) for entry in not_checked}
    # the washer is judged with its rivet, of which the material is not known; it stands on the rim
    assert topics == {(topic, "rivet") for topic in ("fastener", "net section", "shear-out")}
    assert {("bearing", "rivet"), ("pull-through", "rivet")} <= {(c.topic, c.zone) for c in checks}


def split_device(right):
    """The strip in two halves, left and right of its middle line; its ends belong to both."""
    material = LIBRARY["polypropylene-homopolymer"]
    whole = device_of(Wall(material, WALL))
    mesh = whole.mesh
    half = mesh.points[mesh.zone_cells("strip")].mean(axis=1)[:, 1] > WIDTH / 2
    zones = {"left": ("triangle", np.flatnonzero(half)),
             "right": ("triangle", np.flatnonzero(~half)), "bar": mesh.zone("bar")}
    return replace(whole, mesh=Mesh(mesh.points, mesh.cells, mesh.places, zones),
                   walls={"left": Wall(material, WALL), "right": Wall(LIBRARY[right], WALL)})


def solved_halves(device):
    sections = {zone: ShellSection(wall.material.elastic, WALL)
                for zone, wall in device.walls.items()}
    bar = StrutSection.rectangle(
        device.bars["bar"].material.elastic, width=10.0, depth=3.0, up=(0, 0, 1))
    return solve(Model(
        device.mesh, sections={**sections, "bar": bar}, supports=[Support(*CLAMP)],
        cases={"down": [PointForce("tip", (0, 0, -5.0))]}, ties=[Tie("rivet bar", "rivet shell")]))


def test_a_place_that_spans_zones_is_said_of_each():
    device = split_device("polypropylene-homopolymer")
    checks, not_checked = governing(judge(device, solved_halves(device), FACTORS).findings)
    peaks = {check.zone: check for check in checks if check.topic == "local peak"}
    # one held edge, and the same worst point of it, whichever half that lies in
    assert set(peaks) == {"left", "right"}
    assert peaks["left"].place == peaks["right"].place
    assert peaks["left"].utilisation == peaks["right"].utilisation
    assert sum("read in the wall of zone" in check.basis for check in peaks.values()) == 1
    # the rivet stands where both meet, and the hole is judged in both
    assert {c.zone for c in checks if c.topic == "bearing"} == {"rivet"}
    assert not any("under a washer" in entry.because for entry in not_checked)


def test_a_place_that_spans_zones_is_weighed_with_the_wall_it_is_read_in():
    device = split_device("polypropylene-copolymer")
    judged = judge(device, solved_halves(device), FACTORS)
    capacity = {check.zone: check.capacity for check in judged.findings
                if isinstance(check, Check) and check.topic == "yield"}
    assert capacity["left"] != capacity["right"]
    peaks = [check for check in judged.findings
             if isinstance(check, Check) and check.topic == "local peak"]
    assert len(peaks) == 4  # of each half, read in itself and in the other
    for check in peaks:
        other = {"left": "right", "right": "left"}[check.zone]
        read = other if f"read in the wall of zone '{other}'" in check.basis else check.zone
        assert check.capacity == capacity[read]


def test_the_plain_maximum_can_be_taken_outside_of_a_region():
    material = LIBRARY["polypropylene-homopolymer"]
    device = device_of(Wall(material, WALL))
    solutions = solved(device, ShellSection(material.elastic, WALL), force=5.0)
    far = device.mesh.points[device.mesh.zone_cells("strip")][..., 0].min(axis=1) < 30.0
    judged = judge(device, solutions, FACTORS, Region(device.mesh, far))
    np.testing.assert_array_equal(np.isnan(judged.cells), far)
    (plain,) = (check for check in governing(judged.findings)[0] if check.topic == "yield")
    assert plain.place[0] == pytest.approx(30.0)
    # the places are still those of these cells
    assert [place.reason for place in judged.left_out] == ["held edge", "under a washer"]


def test_readings_are_taken_outside_of_what_is_left_out():
    material = LIBRARY["polypropylene-homopolymer"]
    device = device_of(Wall(material, WALL))
    solutions = solved(device, ShellSection(material.elastic, WALL), force=5.0)
    plain = [check for check in judge(device, solutions, FACTORS).findings
             if isinstance(check, Check) and check.topic == "yield"]
    for reading, check in zip(read_shells(solutions), plain, strict=True):
        assert (reading.case, reading.place) == (check.case, check.place)
        assert reading.mises_top == pytest.approx(check.computed)
        assert reading.error == pytest.approx(check.error)
        assert reading.place[0] > 7.0  # beyond the held edge


def test_a_zone_that_is_left_out_as_a_whole_has_no_reading():
    device = split_device("polypropylene-homopolymer")
    mesh = device.mesh
    centre = mesh.points[mesh.cells["triangle"]].mean(axis=1)[:, 0]
    zones = {"root": ("triangle", np.flatnonzero(centre < 4.0)),
             "rest": ("triangle", np.flatnonzero(centre > 4.0)), "bar": mesh.zone("bar")}
    wall = device.walls["left"]
    device = replace(device, mesh=Mesh(mesh.points, mesh.cells, mesh.places, zones),
                     walls={"root": wall, "rest": wall})
    assert {reading.zone for reading in read_shells(solved_halves(device))} == {"rest"}


def test_a_held_edge_of_cells_larger_than_the_wall_is_not_checked():
    material = LIBRARY["polypropylene-homopolymer"]
    device = device_of(Wall(material, 2.0))
    judged = judge(device, solved(device, ShellSection(material.elastic, 2.0), 1.0), FACTORS)
    checks, not_checked = governing(judged.findings)
    assert "local peak" not in {check.topic for check in checks}
    (edge,) = (entry for entry in not_checked if "held edge" in entry.because)
    assert "make them at most 2.0 mm, the wall thickness" in edge.because


def test_laminated_strip_by_hand():
    material = LIBRARY["carbon-cloth-epoxy"]
    layup = Laminate(material.elastic, [0, 0, 0, 0], 0.5)
    device = device_of(Wall(material, 2.0, layup=layup, direction=(1, 0, 0)))
    solutions = solved(device, ShellSection(layup, direction=(1, 0, 0)), force=5.0)
    judged = judge(device, solutions, FACTORS)
    checks, not_checked = governing(judged.findings)
    stress = next(check for check in checks if check.topic == "ply stress")
    # σ = 6 · 5 · arm / (20 · 2²) beyond the held edge; compression 518 / 1.20 · 0.73 governs
    assert stress.place[0] > 7.0
    bending = 6 * 5 * (150.0 - stress.place[0]) / (20 * 2**2)
    assert stress.demand - stress.error == pytest.approx(bending, rel=0.03)
    assert 0.0 < stress.error < 0.25 * stress.demand
    assert "compression along axis 1" in stress.basis
    assert stress.capacity == pytest.approx(518.0 / 1.20 * 0.73)
    assert {"ply interaction", "fibre or matrix"} <= {check.topic for check in checks}
    topics = {entry.topic for entry in not_checked}
    assert topics == {
        "local peak", "fastener", "net section", "shear-out", "interlaminar tension", UNREAD}
    # τ = 1.5 Q / t with Q = 5 N over 20 mm, and more beside the washer
    shear = next(check for check in checks if check.topic == "interlaminar shear")
    assert 1.5 * 5.0 / 20.0 / 2.0 < shear.demand < 1.0
    assert shear.capacity == pytest.approx(38.0 / 1.20 * 0.73, rel=1e-2)
    assert "between plies 2 and 3" in shear.basis
    edge = next(entry for entry in not_checked
                if entry.topic == "local peak" and "held edge" in entry.because)
    assert "make them at most 1.0 mm" in edge.because


def test_what_is_not_judged_of_a_laminate_where_stress_peaks_is_said():
    material = LIBRARY["carbon-cloth-epoxy"]
    layup = Laminate(material.elastic, [0, 0, 0, 0], 0.5)
    device = device_of(Wall(material, 2.0, layup=layup, direction=(1, 0, 0)))
    found = judge(device, solved(device, ShellSection(layup, direction=(1, 0, 0)), 5.0), FACTORS)
    assert found.left_out
    (gap,) = (each for each in found.findings if each.topic == UNREAD)
    assert gap.zone in device.walls
    assert all(left_out_words([place]).split(" at (")[0] in gap.because for place in found.left_out)
    plain = device_of(Wall(LIBRARY["polypropylene-homopolymer"], 2.0))
    section = ShellSection(plain.walls[gap.zone].material.elastic, 2.0)
    found = judge(plain, solved(plain, section, 5.0), FACTORS).findings
    assert not [each for each in found if each.topic == UNREAD]


def test_the_outermost_plies_of_each_kind_hold_the_worst_of_all():
    material = LIBRARY["carbon-cloth-epoxy"]
    layup = Laminate(material.elastic, [0, 45, 0, 30, 45, 0, 45], 0.3)
    outer = outermost_plies(layup)
    assert outer == [0, 1, 3, 5, 6]
    generator = np.random.default_rng(7)
    strength = PlyStrength(*(value.value for value in (
        material.property(name) for name in PLY_STRENGTHS)))
    for strain, curvature in generator.normal(size=(50, 2, 3)) * [[[1e-3], [2e-3]]]:
        stress = layup.ply_stresses(strain, curvature)
        for criterion in (tsai_wu, tsai_hill, hashin, maximum_stress):
            assert criterion(stress, strength).max() == criterion(stress[outer], strength).max()


def test_without_cases_nothing_is_judged():
    device = device_of(Wall(LIBRARY["polypropylene-homopolymer"], WALL))
    judged = judge(device, {}, FACTORS)
    assert judged.utilisation == {} and np.isnan(judged.cells).all()
    assert governing(judged.findings)[0] == ()
