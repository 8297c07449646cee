# SPDX-License-Identifier: MIT
"""Life of a whole device, read from solved cases of a cantilever."""

import numpy as np
import pytest

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.lifezones import LifeJudgement, LoadCycle, _large, judge_life
from fea.check.requirements import Service
from fea.check.spectrum import Spectrum
from fea.device.device import Bar, Device, Fastening, Sole, Wall
from fea.errors import GateError
from fea.material.laminate import Laminate
from fea.material.library import read_library
from fea.mesh.mesh import Mesh
from fea.solver.static import solve
from fea.structure.coupling import Support, Tie
from fea.structure.loads import PointForce
from fea.structure.model import Model
from fea.structure.sections import ShellSection, StrutSection

LIBRARY, FACTORS = read_library(), read_factors()
LENGTH, WIDTH, WALL = 100.0, 20.0, 5.0
SERVICE = Service(12.0, 3000.0, 50.0, 0.1, 4.0)


def strip_mesh(along=20, across=4):
    """A strip along x in the plane z = 0, and a bar that goes on from its tip."""
    x, y = np.meshgrid(np.linspace(0, LENGTH, along + 1), np.linspace(0, WIDTH, across + 1))
    points = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    number = np.arange(x.size).reshape(x.shape)
    a, b = number[:-1, :-1].ravel(), number[:-1, 1:].ravel()
    c, d = number[1:, 1:].ravel(), number[1:, :-1].ravel()
    triangles = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    bar = np.array([[LENGTH, WIDTH / 2, 3.0], [LENGTH + 50, WIDTH / 2, 3.0]])
    start = len(points)
    return Mesh(
        np.concatenate([points, bar]), {"triangle": triangles, "line": [[start, start + 1]]},
        places={"root": number[:, 0], "tip": [start + 1], "rivet bar": [start],
                "rivet shell": number[:, -2:].ravel()},
        zones={"strip": ("triangle", np.arange(len(triangles))), "bar": ("line", [0])},
    )  # fmt: skip


def judged(wall, section, down=20.0, up=8.0, factors=FACTORS):
    """Life where the tip is pushed down by N, then up, then rests."""
    bar = Bar(LIBRARY["aluminium-6061-t6"], width=10.0, depth=3.0, up=(0, 0, 1))
    device = Device(
        name="cantilever", title="A strip with a bar", side="left", mesh=strip_mesh(),
        walls={"strip": wall}, bars={"bar": bar},
        fastenings=(Fastening("rivet", "rivet bar", "rivet shell", 4.0),), plate_zones=(),
        foot_zones=(), shank_zones=(), landmarks={}, sole=Sole(0.0, 0.0, 0.0),
        origin="invented for this test",
    )  # fmt: skip
    strut = StrutSection.rectangle(bar.material.elastic, width=10.0, depth=3.0, up=(0, 0, 1))
    solutions = solve(Model(
        device.mesh, sections={"strip": section, "bar": strut},
        supports=[Support("root", "ux uy uz rx ry rz")],
        cases={"down": [PointForce("tip", (0, 0, -down))], "up": [PointForce("tip", (0, 0, up))]},
        ties=[Tie("rivet bar", "rivet shell")],
    ))  # fmt: skip
    spectrum = Spectrum.of(SERVICE, stairs=1.5, stumble=2.4)
    return judge_life(device, [LoadCycle("step", solutions, True, spectrum)], factors)


@pytest.fixture(scope="module")
def plastic():
    material = LIBRARY["polypropylene-homopolymer"]
    return judged(Wall(material, WALL), ShellSection(material.elastic, WALL), down=2.0, up=0.8)


def rows(found):
    return {row.zone: row for row in found.rows}


def test_a_bar_by_hand():
    material = LIBRARY["aluminium-7075-t6"]
    found = judged(Wall(material, WALL), ShellSection(material.elastic, WALL))
    row = rows(found)["bar"]
    # 6 M / (b h²) with M = 20 N · 50 mm, b 3 and h 10 mm: 20 MPa, and 8/20 of it the other way
    assert row.amplitude == pytest.approx(0.5 * 20.0 * 1.4, rel=1e-6)
    assert row.mean == pytest.approx(0.5 * 20.0 * 0.6, rel=1e-6)  # the fibre in tension first
    assert {row.first, row.second} == {"down", "up"}
    check = next(each for each in found.findings if each.zone == "bar" and each.topic == "life")
    assert check.error is None and check.place == pytest.approx((125.0, 10.0, 3.0))


def test_a_wall_by_hand(plastic):
    row = rows(plastic)["strip"]
    # beyond the clamp 6 F (150 mm − x) / (20 · 5²), half of 1.4 times that
    high = 6 * 2.0 * (150.0 - row.place[0]) / (20 * 25)
    check = next(each for each in plastic.findings
                 if isinstance(each, Check) and each.zone == "strip")  # fmt: skip
    assert check.demand - check.error == pytest.approx(0.5 * high * 1.4, rel=0.08)
    assert row.mean - check.error == pytest.approx(0.5 * high * 0.6, rel=0.12)
    assert "top of the wall" in row.what  # the push down stretches it
    assert row.state == "beyond published life"


def test_a_stress_that_is_no_number_is_refused_and_never_dropped():
    judged_cells = np.array([True, True, False])
    assert _large(np.array([5.0, 0.1, np.nan]), judged_cells, "strip").tolist()[:2] == [True, False]
    with pytest.raises(GateError, match="the stress in 'strip' is not finite at 1 of 2"):
        _large(np.array([5.0, np.nan, 1.0]), judged_cells, "strip")


def test_what_stays_open_is_said(plastic):
    gaps = [gap for gap in plastic.findings if isinstance(gap, NotChecked)]
    assert all(gap.horizon == "service life" for gap in gaps)
    left_out = [gap.because for gap in gaps if gap.zone == "strip" and "left out" in gap.because]
    assert all("look at them at every visit" in words for words in left_out)
    assert any("held edge" in words for words in left_out)
    assert any("under a washer" in words for words in left_out)
    assert any("rivets, screws, straps" in gap.because and "(rivet)" in gap.because
               for gap in gaps)  # fmt: skip
    assert not any("plies" in gap.because for gap in gaps)


@pytest.fixture(scope="module")
def cloth():
    material = LIBRARY["carbon-cloth-epoxy"]
    layup = Laminate(material.elastic, [0, 0, 0, 0], 0.5)
    wall = Wall(material, 2.0, layup=layup, direction=(1, 0, 0))
    return judged(wall, ShellSection(layup, direction=(1, 0, 0)))


def test_a_laminate_by_hand(cloth):
    row = rows(cloth)["strip"]
    # the governing fibre is pushed first and pulled less after: the mean is compression
    assert "along axis 1 at the bottom of ply 1 at 0°" in row.what
    high = 6 * 20.0 * (150.0 - row.place[0]) / (20 * 4)
    assert row.amplitude == pytest.approx(0.5 * high * 1.4, rel=0.15)
    assert row.mean < 0.0 and row.months is not None
    because = [gap.because for gap in cloth.findings if isinstance(gap, NotChecked)]
    assert any("between the plies" in words for words in because)


def test_a_material_without_fatigue_numbers_is_not_checked():
    material = LIBRARY["titanium-6al-4v"]
    found = judged(Wall(material, WALL), ShellSection(material.elastic, WALL))
    gap = next(each for each in found.findings if each.zone == "strip" and each.topic == "life")
    assert isinstance(gap, NotChecked) and "fatigue amplitude" in gap.because
    assert list(rows(found)) == ["bar"]


def test_judgements_add_up(plastic):
    assert (plastic + plastic).findings == tuple(dict.fromkeys(plastic.findings))
    assert (plastic + plastic).rows == plastic.rows
    assert (LifeJudgement() + plastic).rows == plastic.rows
