# SPDX-License-Identifier: MIT
"""Torsion of a bar in the section that a hole leaves of it, and in its life."""

import numpy as np
import pytest
from riveted import BAR_WIDTH, DEPTH, LIBRARY, METAL, OUTER, RIVET, TIP, WALL, riveted

from fea.check.check import Check
from fea.check.factors import read_factors
from fea.check.fasteners import BarRound
from fea.check.judgement import judge
from fea.check.lifezones import LoadCycle, _Reader
from fea.check.requirements import Service
from fea.check.spectrum import Spectrum
from fea.device.device import Bar, Wall
from fea.solver.static import solve
from fea.structure.coupling import Support, Tie
from fea.structure.loads import PointForce
from fea.structure.model import Model
from fea.structure.sections import ShellSection, StrutSection

ACROSS, TORQUE = 20.0, 1500.0  # N sideways at the tip, N·mm about the bar
PLASTIC = LIBRARY["polypropylene-homopolymer"]

# Timoshenko S P, Goodier J N, Theory of Elasticity, table of rectangles: T / (k b t²) with k 0.231
# for b/t 1.5, 0.219 for 1.2, 0.282 for 4
SQUAT, FLAT = 0.231, 0.282


@pytest.fixture(scope="module")
def device():
    return riveted(Wall(PLASTIC, WALL))


@pytest.fixture(scope="module")
def solutions(device):
    bar = StrutSection.rectangle(METAL.elastic, width=BAR_WIDTH, depth=DEPTH, up=(0, 1, 0))
    return solve(Model(
        device.mesh, {"strip": ShellSection(PLASTIC.elastic, WALL), "bar": bar},
        [Support("root", "ux uy uz rx ry rz")],
        {"twisted": [PointForce("tip", (0.0, ACROSS, 0.0), (TORQUE, 0.0, 0.0))]},
        ties=[Tie(f.bar_place, f.shell_place) for f in device.fastenings]))


def test_each_side_of_a_hole_takes_half_of_the_torsion():
    bar = BarRound("bar", Bar(METAL, 16.8, 4.0, (0, 1, 0)), np.eye(3), 4.0, 16.8, True, (9.0, 9.0))
    twist = 0.5 * 1000.0 / (SQUAT * 6.0 * 4.0**2)  # 22.55 MPa in each of two rectangles, 6 x 4 mm
    only = bar.net_stress(np.array([0.0, 0, 0, 1000.0, 0, 0]), 4.8)
    assert only == pytest.approx(np.sqrt(3.0) * twist, rel=0.003)
    both = bar.net_stress(np.array([4800.0, 0, 0, -1000.0, 0, 0]), 4.8)  # and 100 MPa of pull
    assert both == pytest.approx(np.hypot(100.0, np.sqrt(3.0) * twist), rel=0.001)


def test_the_torsion_of_the_solution_is_in_the_net_section(device, solutions):
    (net,) = (c for c in judge(device, solutions, read_factors()).findings
              if isinstance(c, Check) and (c.zone, c.topic) == ("outer", "net section")
              and "of 'bar'" in c.basis)
    bending = ACROSS * (TIP - OUTER) * 6.0 * BAR_WIDTH / (DEPTH * (BAR_WIDTH**3 - RIVET**3))
    # 5.6 x 4 mm on each side: k by the table between b/t 1.2 and 1.5
    share = 0.219 + (1.4 - 1.2) / 0.3 * (SQUAT - 0.219)
    twist = 0.5 * TORQUE / (share * 5.6 * DEPTH**2)
    assert net.demand == pytest.approx(np.sqrt(bending**2 + 3.0 * twist**2), rel=0.005)


def test_the_torsion_of_the_solution_is_in_the_life(device, solutions):
    spectrum = Spectrum.of(Service(12.0, 3000.0, 50.0, 0.1, 4.0), stairs=1.0, stumble=1.0)
    reader = _Reader(device, LoadCycle("step", solutions, True, spectrum), read_factors(), None)
    (points,) = reader.points("bar")
    bending = 6.0 * ACROSS * (TIP - OUTER) / (DEPTH * BAR_WIDTH**2)
    twist = TORQUE / (FLAT * BAR_WIDTH * DEPTH**2)
    whole = np.sqrt(bending**2 + 3.0 * twist**2)
    assert points.ranges.amplitude.max() == pytest.approx(0.5 * whole, rel=0.003)  # from rest
