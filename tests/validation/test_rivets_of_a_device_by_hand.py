# SPDX-License-Identifier: MIT
"""The governing rivet of the shipped device with bars, by hand from what the solution hands over.

Each tie hands three forces and three moments from bar to wall; they must balance the bar above the
rivets. From them statics gives shear and pull of the rivet, and the rules of Budynas R G, Nisbett
J K, Mechanical Engineering Design, and EN 1993-1-8 the rest: a rivet of 4.8 mm under a washer of
16 mm through a bar of 22 × 5 mm and a wall of 12 mm sheet, 0.85 of it left. The forces are those of
one case, under the forefoot, pushed laterally, where the uppermost foot rivet of the lateral bar is
asked most.
"""

import numpy as np
import pytest

import fea
from fea.check.check import Check
from fea.check.factors import read_factors
from fea.check.fasteners import Fastened
from fea.check.judgement import judge
from fea.judging import loads_on, worn_on
from fea.limb import Limb
from fea.loadcase.reader import read_load_set
from fea.solver.tieforces import tie_forces

ADULT = fea.Wearer(mass_kg=68, height_mm=1630, side="right", adult=True)
CASE = "under the forefoot, pushed laterally"
NAME, ROW = "lateral foot rivet 3", [f"lateral foot rivet {k}" for k in (1, 2, 3)]
D, WASHER, WIDTH, DEPTH, WALL = 4.8, 16.0, 22.0, 5.0, 0.85 * 12.0


@pytest.fixture(scope="module")
def device():
    return fea.read_device("aluminium-bars-adult").fit(Limb.of(ADULT), 14.0)


@pytest.fixture(scope="module")
def solution(device):
    limb = Limb.of(ADULT)
    loads = loads_on(read_load_set("walking-envelope"), wearer=ADULT, limb=limb, device=device)
    loads = loads.only(CASE)
    return worn_on(device, limb, loads)[0].solve(loads.reactions)[CASE]


@pytest.fixture(scope="module")
def judgement(device, solution):
    return judge(device, {CASE: solution}, read_factors())


@pytest.fixture(scope="module")
def checks(judgement):
    return [c for c in judgement.findings if isinstance(c, Check) and c.zone == NAME]


def demand(checks, topic, words):
    (value,) = (c.demand for c in checks if c.topic == topic and words in c.basis)
    return value


def ties(device, solution):
    """Name of each rivet of the row to node of the bar, its place, and force and moment on it."""
    handed, found = tie_forces(solution), {}
    for each in device.fastenings:
        if each.name in ROW:
            node = int(device.mesh.place(each.bar_place)[0])
            on_bar = handed[each.shell_place].on_node
            found[each.name] = node, device.mesh.points[node], on_bar[:3], on_bar[3:]
    return found


def section(device, solution, upper):
    """Force and moment (2, 3), and the same along, across depth and across width of the bar, at
    its section just above or just below the rivet; of the part above on the part below."""
    node = ties(device, solution)[NAME][0]
    cells = device.mesh.zone_cells("lateral bar")
    end = 0 if upper else 1  # cells run upwards
    (row,) = np.flatnonzero(cells[:, end] == node)
    local = solution.strut_forces("lateral bar")[row, end].reshape(2, 3)
    axes = solution.system.struts.frames.axes[device.mesh.zone("lateral bar")[1][row]]
    return local @ axes, local


def hand(device, solution):
    """Shear and pull of the governing rivet, N.

    Force and moment on the wall are taken where the bar touches it, half its depth from its middle.
    The force in the plane of the wall is shear, and so is the rivet's part of all moments of the
    row about the rivets' axes, in proportion to the distance from the row's middle. The force out
    of the wall is pull, and so is the moment that tilts it, over half a washer.
    """
    walls = Fastened(device, [solution]).walls
    normal, twist, point = {}, {}, {}
    for name, (_, place, force, moment) in ties(device, solution).items():
        wall = walls[name]
        n = wall.axes[2] * np.sign((place - wall.point) @ wall.axes[2])
        touching = -moment + np.cross(0.5 * DEPTH * n, -force)
        normal[name], twist[name], point[name] = n, touching @ n, wall.point
        if name == NAME:
            tilt = np.linalg.norm(touching - twist[name] * n)
            apart = -force @ n
            in_plane = -force - apart * n
    axis = np.sum(list(normal.values()), axis=0)
    axis /= np.linalg.norm(axis)
    middle = np.mean(list(point.values()), axis=0)
    arms = {name: np.cross(axis, at - middle) for name, at in point.items()}
    polar = sum(arm @ arm for arm in arms.values())
    shared = sum(twist.values()) * arms[NAME] / polar
    return np.linalg.norm(in_plane + shared), max(apart + tilt / (0.5 * WASHER), 0.0)


def test_the_governing_joint(judgement, device):
    """No rivet of the device is asked more in this case."""
    rivets = {each.name for each in device.fastenings}
    found = [c for c in judgement.findings if isinstance(c, Check) and c.zone in rivets]
    worst = max(found, key=lambda check: check.utilisation)
    assert (worst.zone, worst.topic) == (NAME, "bearing")


def test_the_rivets_balance_the_force_in_the_bar(device, solution):
    """Sum of three forces against N, Qy and Qz of the bar above them, N."""
    force = section(device, solution, upper=True)[0][0]
    total = np.sum([force for _, _, force, _ in ties(device, solution).values()], axis=0)
    assert np.linalg.norm(total) == pytest.approx(np.linalg.norm(force), rel=1e-6)
    assert total == pytest.approx(-force, abs=1e-6 * np.linalg.norm(force))


def test_the_rivets_balance_the_moment_in_the_bar(device, solution):
    """Sum of moments about the uppermost rivet against T, My and Mz of the bar above it, N·mm."""
    every = ties(device, solution)
    here = every[NAME][1]
    total = sum(moment + np.cross(at - here, force) for _, at, force, moment in every.values())
    moment = section(device, solution, upper=True)[0][1]
    assert np.linalg.norm(total) == pytest.approx(np.linalg.norm(moment), rel=1e-6)
    assert total == pytest.approx(-moment, abs=1e-6 * np.linalg.norm(moment))


def test_shear_of_the_rivet(device, solution):
    """N."""
    forces = Fastened(device, [solution]).forces[NAME]
    assert np.linalg.norm(forces.shear[0]) == pytest.approx(hand(device, solution)[0], rel=1e-6)


def test_pull_of_the_rivet(device, solution):
    """N."""
    forces = Fastened(device, [solution]).forces[NAME]
    assert forces.pull[0] == pytest.approx(hand(device, solution)[1], rel=1e-6)


@pytest.mark.parametrize(("part", "thickness"), [("wall 'ankle wall'", WALL),
                                                 ("'lateral bar'", DEPTH)])
def test_bearing(device, solution, checks, part, thickness):
    """V / (d t), MPa."""
    shear = hand(device, solution)[0]
    assert demand(checks, "bearing", f"on {part}") == pytest.approx(
        shear / (D * thickness), rel=1e-6)


def test_shear_to_the_rim_of_the_wall(device, solution, checks):
    """V over two planes, MPa; the rim ahead is further than the six diameters that are counted."""
    shear = hand(device, solution)[0]
    assert demand(checks, "shear-out", "of wall") == pytest.approx(
        shear / (2 * (6 * D - D / 2) * WALL), rel=1e-6)


def test_pull_through_the_wall(device, solution, checks):
    """P over the shear area round the washer, MPa."""
    pull = hand(device, solution)[1]
    assert demand(checks, "pull-through", "of wall") == pytest.approx(
        pull / (np.pi * WASHER * WALL), rel=1e-6)


def test_the_shank(device, solution, checks):
    """√3 τ/180 + σ/(1.4 · 180): least yield strength of rivet steel, below 0.6 · 310 in pull."""
    shear, pull = hand(device, solution)
    area = np.pi / 4 * D**2
    assert demand(checks, "fastener", "shank") == pytest.approx(
        np.sqrt(3) * shear / (area * 180) + pull / (1.4 * area * 180), rel=1e-6)


def test_net_section_of_the_bar(device, solution, checks):
    """Axial force, both bendings and half of the torsion on each side of the hole, MPa.

    The hole goes through the depth. A rectangle of 8.6 × 5 mm has T / (k b t²) with k = 0.238
    (table of Timoshenko and Goodier, between 0.231 for b/t 1.5 and 0.246 for 2).
    """
    worst = 0.0
    for upper in (True, False):
        (n, _, _), (torque, about_depth, about_width) = section(device, solution, upper)[1]
        left = WIDTH - D
        # local axes: along, across the depth, across the width
        axial = abs(n) / (left * DEPTH)
        axial += abs(about_depth) * 6 * WIDTH / (DEPTH * (WIDTH**3 - D**3))
        axial += abs(about_width) * 6 / (left * DEPTH**2)
        k = 0.231 + (8.6 / 5.0 - 1.5) / 0.5 * 0.015
        twist = 0.5 * torque / (k * 8.6 * DEPTH**2)
        worst = max(worst, np.sqrt(axial**2 + 3 * twist**2))
    assert demand(checks, "net section", "of 'lateral bar'") == pytest.approx(worst, rel=0.005)


def test_net_section_of_the_wall(device, solution, judgement, checks):
    """Gross stress under the washer, its error with it, over what two holes leave of the way from
    rivet to rivet, MPa."""
    (cells,) = (place.cells for place in judgement.left_out
                if place.name == next(f.shell_place for f in device.fastenings if f.name == NAME))
    recovered = solution.system.recovery([solution])
    rows = cells[device.mesh.zone("ankle wall")[1]]
    s11, s22, s12 = np.moveaxis(recovered.surface_stress("ankle wall")[0][:, rows], -1, 0)
    gross = np.sqrt(s11**2 - s11 * s22 + s22**2 + 3 * s12**2)
    gross += recovered.stress_error("ankle wall")[0][:, rows]
    walls = Fastened(device, [solution]).walls
    pitch = np.linalg.norm(walls[ROW[2]].point - walls[ROW[1]].point)
    assert demand(checks, "net section", "of wall 'ankle wall'") == pytest.approx(
        gross.max() * pitch / (pitch - D), rel=1e-6)
