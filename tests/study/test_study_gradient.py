# SPDX-License-Identifier: MIT
"""Sensitivities by adjoint against two-sided differences of whole solves."""

import numpy as np
import pytest

import fea
from fea.errors import ModelError
from fea.study.gradient import total_rates
from fea.study.response import (
    Reading,
    bar_response,
    motion_response,
    reading_value,
    wall_response,
)
from fea.study.thickening import Thickening, cell_mass, thickened

PLASTIC = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42, density=0.9e-6)
CLOTH = fea.Ply(e1=60e3, e2=60e3, nu12=0.04, g12=3e3, density=1.5e-6)
SHARE = 2e-4  # of a thickness; two-sided, so about 4e-8 of the rate


def sheet(surface, nx=8, ny=6):
    """Mesh of a sheet over u, v in 0 to 1, with its edge u = 0, corner u = v = 1 and two halves."""
    u, v = np.meshgrid(np.linspace(0, 1, nx + 1), np.linspace(0, 1, ny + 1), indexing="ij")
    points = np.array([surface(a, b) for a, b in zip(u.ravel(), v.ravel(), strict=True)])
    number = np.arange(points.shape[0]).reshape(nx + 1, ny + 1)
    a, b, c, d = (each.ravel() for each in (
        number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]))
    cells = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    half = np.isin(cells, number[: nx // 2]).all(axis=1)
    return fea.Mesh(
        points, {"triangle": cells},
        places={"root": number[0], "end": number[-1], "tip": [number[-1, -1]]},
        zones={"near": ("triangle", np.flatnonzero(half)),
               "far": ("triangle", np.flatnonzero(~half))})  # fmt: skip


def flat(u, v):
    return 100.0 * u, 60.0 * v + 5.0 * u, 0.0


def curved(u, v):
    angle = np.radians(70.0) * (v - 0.5)
    return 90.0 * u, 40.0 * np.sin(angle), 40.0 * np.cos(angle)


def walls_of(material):
    if isinstance(material, fea.Laminate):
        other = fea.Laminate(CLOTH, [0, 45, 45, 0], 0.25)  # else the halves would be one patch
        return fea.ShellSection(material, offset=0.3), fea.ShellSection(other, offset=0.3)
    return fea.ShellSection(material, thickness=4.0), fea.ShellSection(material, thickness=3.0)


def model_of(surface, material):
    mesh = sheet(surface)
    near, far = walls_of(material)
    return fea.Model(
        mesh, {"near": near, "far": far}, [fea.Support("root", "ux uy uz rx ry rz")],
        {"tip": [fea.PointForce("tip", (3.0, -2.0, -8.0))]})  # fmt: skip


CASES = {
    "plate": (flat, PLASTIC, "top"),
    "plate, middle": (curved, PLASTIC, "middle"),
    "curved": (curved, PLASTIC, "bottom"),
    "curved laminate": (curved, fea.Laminate(CLOTH, [0, 45, 0, 45], 0.25), (3, 2)),
}


def value_of(system, cases, reading):
    solution = system.solve(cases)["tip"]
    return reading_value(system.recovery([solution]), reading)


def differences(structure, cases, zone, reading):
    """Two-sided difference of a response by the thickness of a whole zone."""
    found = []
    for sign in (1.0, -1.0):
        section = thickened(structure.sections[zone], 1.0 + sign * SHARE)
        system = fea.prepare(structure.with_sections({zone: section}))
        found.append(value_of(system, cases, reading))
    return (found[0] - found[1]) / (2.0 * SHARE)


@pytest.mark.parametrize("name", CASES)
def test_the_stress_of_a_wall_answers_as_whole_solves_say(name):
    surface, material, layer = CASES[name]
    model = model_of(surface, material)
    system = fea.prepare(model)
    solution = system.solve(model.cases)["tip"]
    for cell in (4, int(model.mesh.zone("far")[1][3])):
        reading = Reading(cell, 1, layer)
        response = wall_response(system.recovery([solution]), Thickening.of(system), reading)
        assert response.value == pytest.approx(value_of(system, model.cases, reading), rel=1e-12)
        rates, _ = total_rates(response, Thickening.of(system))
        for zone in ("near", "far"):
            mine = rates[model.mesh.zone(zone)[1]].sum()
            whole = differences(model, model.cases, zone, reading)
            small = 1e-6 * np.abs(rates).sum()
            assert mine == pytest.approx(whole, rel=1e-4, abs=small), (cell, zone)


def test_a_map_says_what_each_cell_does():
    model = model_of(curved, PLASTIC)
    reading, system = Reading(4, 1, "top"), fea.prepare(model)
    solution = system.solve(model.cases)["tip"]
    response = wall_response(system.recovery([solution]), Thickening.of(system), reading)
    rates, _ = total_rates(response, Thickening.of(system))
    numbers = model.mesh.zone("near")[1]
    for row in np.argsort(-np.abs(rates[numbers]))[:3]:
        found = []
        for sign in (1.0, -1.0):
            walls = np.full(len(numbers), 4.0)
            walls[row] *= 1.0 + sign * SHARE
            other = model.with_sections({"near": fea.ShellSection(PLASTIC, thickness=walls)})
            found.append(value_of(fea.prepare(other), model.cases, reading))
        whole = (found[0] - found[1]) / (2.0 * SHARE)
        assert rates[numbers[row]] == pytest.approx(whole, rel=1e-4)


def test_turning_and_bars_answer_as_whole_solves_say():
    steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3, density=7.8e-6)
    mesh = fea.Mesh([[0, 0, 0], [60, 0, 0], [100, 10, 0]], {"line": [[0, 1], [1, 2]]},
                    places={"root": [0], "tip": [2]},
                    zones={"lower": ("line", [0]), "upper": ("line", [1])})  # fmt: skip
    bars = {zone: fea.StrutSection.rectangle(steel, width=12.0, depth=4.0, up=(0, 0, 1))
            for zone in ("lower", "upper")}  # fmt: skip
    load = {"tip": [fea.PointForce("tip", (3.0, 20.0, -15.0), (40.0, 0.0, 25.0))]}
    model = fea.Model(mesh, bars, [fea.Support("root", "ux uy uz rx ry rz")], load)
    turn = np.zeros(18)
    turn[12 + 4] = 1.0

    def responses(sections):
        system = fea.prepare(model.with_sections(sections))
        solution = system.solve(load)["tip"]
        return (bar_response(solution, Thickening.of(system), 0, 0, 2),
                motion_response(solution, turn))  # fmt: skip

    for k, base in enumerate(responses({})):
        _, rates = total_rates(base, Thickening.of(base.solution.system))
        for number, zone in enumerate(("lower", "upper")):
            high, low = (
                responses({zone: thickened(bars[zone], 1.0 + sign * SHARE)})[k].value
                for sign in (1.0, -1.0)
            )
            whole = (high - low) / (2.0 * SHARE)
            assert rates[number] == pytest.approx(whole, rel=1e-4, abs=1e-6 * base.value)


def test_a_statically_determinate_plate_strip_answers_by_hand():
    """Pure bending of a strip: stress 6 M / t² goes with t to the power -2."""
    mesh = sheet(lambda u, v: (100.0 * u, 4.0 * v, 0.0), nx=20, ny=1)
    free = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.0)
    wall = fea.ShellSection(free, thickness=2.0)
    force = {"tip": [fea.PointForce("end", (0.0, 0.0, 0.0), (0.0, 20.0, 0.0))]}
    model = fea.Model(mesh, {"near": wall, "far": wall},
                      [fea.Support("root", "ux uy uz rx ry rz")], force)  # fmt: skip
    system = fea.prepare(model)
    solution = system.solve(force)["tip"]
    response = wall_response(
        system.recovery([solution]), Thickening.of(system), Reading(10, 1, "top", doubt=None)
    )
    rates, _ = total_rates(response, Thickening.of(system))
    assert rates.sum() / response.value == pytest.approx(-2.0, rel=1e-6)


def test_mass_grows_in_step_with_thickness():
    model = model_of(curved, PLASTIC)
    mass, _ = cell_mass(model)
    numbers = model.mesh.zone("far")[1]
    thick, _ = cell_mass(
        model.with_sections({"far": thickened(model.sections["far"], 1.5)})
    )
    assert thick[numbers] == pytest.approx(1.5 * mass[numbers], rel=1e-12)
    near = np.setdiff1d(np.arange(len(mass)), numbers)
    assert thick[near] == pytest.approx(mass[near], rel=1e-12)


def test_what_has_no_thickness_is_refused():
    with pytest.raises(ModelError, match="no thickness"):
        thickened(fea.SolidSection(PLASTIC), 1.1)
    round_bar = fea.StrutSection(PLASTIC, 10.0, 8.0, 8.0, 16.0, (0, 0, 1))
    with pytest.raises(ModelError, match="no known depth"):
        thickened(round_bar, 1.1)
