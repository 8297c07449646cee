# SPDX-License-Identifier: MIT
"""A small invented assessment with the shape of a real one, for tests of the report alone."""

import math
from dataclasses import dataclass, field, replace
from functools import cache
from types import SimpleNamespace

import numpy as np

from fea.check.buckling import Buckle
from fea.check.check import Check, NotChecked
from fea.check.factors import Factors
from fea.check.readings import BarReading, ZoneReading
from fea.check.requirements import Requirements, read_requirements
from fea.check.touch import PadReading, PressureReading, StrapReading
from fea.check.whereabouts import Whereabouts
from fea.device.device import Bar, Device, Sole, Wall
from fea.limb import Limb
from fea.loadcase.instant import LoadSet
from fea.loadcase.knee import knee_demand
from fea.loadcase.reader import read_load_set
from fea.material.isotropic import Isotropic
from fea.material.library import read_library
from fea.mesh.mesh import Mesh
from fea.reporting.figures import draw_figures
from fea.skin import Band, Skin
from fea.solver.buckling import Buckling
from fea.solver.gates import Gate
from fea.stance import AnkleMoment, CaseResult, KneeResult
from fea.structure.coupling import Bed, Body
from fea.structure.limbmodel import RIGID_FOOT, LimbModel
from fea.structure.model import Structure
from fea.structure.sections import ShellSection, StrutSection
from fea.turning import Turning
from fea.wearer import Wearer

ROWS, COLUMNS = 24, 20


@dataclass(frozen=True)
class FakeSolution:
    """A solved case with the methods that the report reads."""

    displacement: np.ndarray
    stresses: dict
    gates: tuple
    system: SimpleNamespace = None

    def stress(self, zone, at):
        return self.stresses[zone] * (1.0 if at == "top" else -0.8)

    def pressure(self, zone):
        nodes = self.system.structure.mesh.zone_nodes(zone)
        height = self.system.structure.mesh.points[nodes, 2]
        return nodes, 0.03 * np.clip(height / 300.0, 0.0, 1.0), np.full(len(nodes), 40.0)


def recovery(solutions):
    """Stress at the corners of cells: 1, 1.1 and 1.2 times that of the cell; its error 0.5 MPa."""
    def surface_stress(zone):
        layers = [[solution.stress(zone, "bottom"), 0.1 * solution.stress(zone, "top"),
                   solution.stress(zone, "top")] for solution in solutions]
        corners = np.array([1.0, 1.1, 1.2])[:, None]
        return np.array(layers)[..., None, :] * corners

    return SimpleNamespace(
        surface_stress=surface_stress,
        stress_error=lambda zone: np.full(surface_stress(zone).shape[:-1], 0.5))


@dataclass(frozen=True)
class FakeAssessment:
    """The fields of an assessment."""

    device: Device
    wearer: Wearer
    limb: Limb
    load_set: LoadSet
    step_set: LoadSet | None
    requirements: Requirements
    factors: Factors
    checks: tuple
    not_checked: tuple
    zones: tuple
    bars: tuple
    cases: tuple
    step: tuple
    device_mass_kg: float
    buckles: tuple
    cell_utilisation: np.ndarray
    provenance: dict
    assumptions: tuple
    run: SimpleNamespace = field(repr=False)
    step_limb: LimbModel = RIGID_FOOT
    life: tuple = ()

    def __str__(self):
        return self.verdict_sentence

    applied = ()
    fall_set = None
    findings = ()

    @property
    def where(self):
        return Whereabouts.of(self.device, self.limb)

    @property
    def pressures(self):
        place = (20.0, 0.0, 300.0)
        return tuple(PressureReading(zone, case.name, (-200.0, 0, 5), 9000.0, 0.02, 0.03, place)
                     for zone in ("calf-shell", "foot-plate") for case in self.cases)

    @property
    def straps(self):
        return tuple(StrapReading("calf strap", case.name, 20.0, 0.011) for case in self.cases)

    @property
    def skin(self):
        parts = (("calf-shell", "wall", 0.025), ("calf strap", "strap", 0.011),
                 ("tibial crest", "bone", 0.031))
        pads = [PadReading(part, kind, "cop-7", mean, 1.2 * mean, (20.0, 0.0, 290.0))
                for part, kind, mean in parts]
        return Skin((), tuple(
            Band(pad, *(replace(pad, mean=share * pad.mean) for share in (0.9, 1.1)))
            for pad in pads))

    @property
    def turning(self):
        return Turning((), "cop-7", math.radians(4.19), math.radians(6.34))

    @property
    def every_case(self):
        return self.cases

    @property
    def energy_error(self):
        return {case.name: 0.01 * number for number, case in enumerate(self.cases, start=1)}

    @property
    def verdict(self):
        if not all(check.met for check in self.checks):
            return "not met"
        return "not fully checked" if self.not_checked else "met"

    @property
    def verdict_sentence(self):
        return {"met": "The device keeps every required factor.",
                "not met": "The shell at the ankle does not keep its required factor.",
                "not fully checked": "What was judged is met, but not all could be judged."
                }[self.verdict]


def gutter():
    """A leaf behind the shank (0 to 300 mm) on a foot plate, with one bar on the outer side."""
    angle, up = np.meshgrid(np.linspace(-1, 1, COLUMNS), np.linspace(0, 1, ROWS))
    narrow = 0.45 + 0.55 * np.clip(np.abs(300 * up - 70) / 110, 0, 1)
    turn, radius = np.pi + angle * 1.9 * narrow, 36 + 20 * up
    leaf = np.stack([radius * np.cos(turn), radius * np.sin(turn), 4 + 296 * up], axis=-1)
    x, y = np.meshgrid(np.linspace(-36, 150, ROWS), np.linspace(-1, 1, COLUMNS), indexing="ij")
    width = 30 + 9 * np.sin((x + 36) / 186 * np.pi)
    plate = np.stack([x, y * width, np.full_like(x, 4.0)], axis=-1)
    corner = (np.arange(ROWS - 1)[:, None] * COLUMNS + np.arange(COLUMNS - 1)).ravel()
    a, b, c, d = corner, corner + 1, corner + COLUMNS + 1, corner + COLUMNS
    grid = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    count, bar = ROWS * COLUMNS, np.array([[0, 42, 10.0], [0, 45, 100], [0, 52, 220]])
    return Mesh(
        np.concatenate([leaf.reshape(-1, 3), plate.reshape(-1, 3), bar]),
        {"triangle": np.concatenate([grid, grid + count]),
         "line": np.array([[0, 1], [1, 2]]) + 2 * count},
        zones={"calf-shell": ("triangle", np.arange(len(grid))),
               "foot-plate": ("triangle", np.arange(len(grid)) + len(grid)),
               "lateral-bar": ("line", np.arange(2))},
    )


def assessment(peak=0.9, not_checked=True):
    """An assessment whose hardest shell cell has the utilisation `peak`."""
    mesh, library = gutter(), read_library()
    wearer = Wearer(mass_kg=35, height_mm=1410, side="left", name="Anouk, an invented child")
    limb = Limb.of(wearer)
    plastic, metal = library["polypropylene-homopolymer"], library["aluminium-6061-t6"]
    device = Device(
        name="leaf", title="Polypropylene leaf with one bar, invented", side="left", mesh=mesh,
        walls={"calf-shell": Wall(plastic, 4.0), "foot-plate": Wall(plastic, 5.0)},
        bars={"lateral-bar": Bar(metal, 12.0, 4.0, (1, 0, 0))}, plate_zones=("foot-plate",),
        foot_zones=("foot-plate",), shank_zones=("calf-shell",),
        landmarks={"ankle_axis": np.array([0, 0, 70.0])}, sole=Sole(4.0, 0.0, 0.0),
        origin="invented for tests", notes=("Two duplicate points were merged.",),
    )
    centre = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    cells = np.exp(-(((centre[:, 2] - 70) / 45) ** 2)) * (0.5 + 0.5 * np.abs(centre[:, 1]) / 40)
    cells = np.where(centre[:, 2] > 4.1, cells + 0.1, 0.35 * np.exp(-((centre[:, 0] / 70) ** 2)))
    cells *= peak / cells.max()
    cases = [_case(f"cop-{k}", f"push at {10 * k} % of the foot", None, share, peak)
             for k, share in enumerate(np.linspace(0.05, 0.8, 7), start=1)]
    percents, shares = (2, 12, 20, 31, 40, 48, 54), np.linspace(0.1, 0.75, 7)
    step = [_case(f"step-{p}", f"{p} % of the cycle", p, share, 0.6 * peak)
            for p, share in zip(percents, shares, strict=True)]
    at = tuple(centre[cells.argmax()])
    common = {"case": "cop-7", "unit": "MPa", "sources": ("mpe-1999", "practice")}
    checks = (
        Check(topic="yield", zone="calf-shell", place=at, demand=16.0 * peak, capacity=24.0,
              required=1.5, basis="von Mises stress against yield", error=1.25, **common),
        Check(topic="yield", zone="foot-plate", place=(40, 0, 4), demand=5.0, capacity=24.0,
              required=1.5, basis="von Mises stress against yield", note="from memory", **common),
        Check(topic="yield", zone="lateral-bar", place=(0, 45, 100), demand=61.0, capacity=240.0,
              required=1.5, basis="fibre stress against yield", **common),
    )
    missing = (NotChecked(topic="fatigue", zone="calf-shell",
                          because="no life is known beyond 100 000 cycles; test coupons"),)
    solutions = {case.name: _solution(mesh, case) for case in cases}
    return FakeAssessment(
        device, wearer, limb, replace(read_load_set("walking-envelope"), name="walking"),
        read_load_set("typical-step"),
        read_requirements(), read_requirements().factors, checks,
        missing if not_checked else (), *_readings(cases, at), tuple(cases), tuple(step), 0.412,
        (Buckle("cop-7", 6.0, True, "calf-shell", at, (0, 0, 300), 12.0),), cells,
        {"inputs": "sha256:" + 64 * "0", "versions": {"stanchion": "0.1.0", "numpy": "2.4"},
         "gates": {"backward error": {"worst": 3e-14, "limit": 1e-12}}, "seconds": 3.2},
        ("The heel is loaded through the shoe.",),
        SimpleNamespace(solutions=solutions, modes={"cop-7": _mode(mesh)}, worn=(),
                        structure=solutions["cop-7"].system.structure,
                        step={case.name: _solution(mesh, case) for case in step}),
    )


def _case(name, title, percent, share, peak):
    force = np.array([40.0 - 30 * share, 5.0, 300.0 + 60 * share])
    cop = np.array([220 * (share - 0.25), 0.0, 0.0])
    moment = force[2] * cop[0] + force[0] * 70
    level = peak * abs(share - 0.2) / 0.6
    lean = math.radians(20.0)
    demand = knee_demand((float(force[0]), float(force[2])), shank_angle=lean, shank_length=347.0,
                         ankle_moment=moment)
    return CaseResult(
        name=name, title=title, percent=percent, pitch=0.2 * share, force=force, cop=cop,
        moved_back=0.0,
        dorsiflexing_moment=moment, ankle=AnkleMoment(moment, moment),
        knee=KneeResult(lean, demand, 0.8, 0.93) if percent else None, shin_force=moment / 250.0,
        ankle_rotation=math.radians(moment / 12000), max_deflection=abs(moment) / 4000,
        deflection_place=(0, 0, 300),
        utilisation={"calf-shell": level, "foot-plate": 0.3 * level + 0.1,
                     "lateral-bar": 0.4 * level},
    )


def _solution(mesh, case):
    moved = np.zeros((len(mesh.points), 6))
    height = mesh.points[:, 2]
    moved[:, 0] = case.max_deflection * (height / 300) ** 2
    moved[:, 3:] = np.nan
    stresses = {zone: np.full((len(mesh.zone_cells(zone)), 3), 3.0)
                for zone in ("calf-shell", "foot-plate")}
    gates = (Gate("backward error", 3e-15 * (1 + len(case.name)), 1e-12),
             Gate("softest pivot", 1e-6, 1e-14, at_least=True))
    beds = [Bed(zone, body, 0.02) for zone, body in (("calf-shell", "shank"),
                                                     ("foot-plate", "foot"))]
    bodies = [Body("shank", (0, 0, 70)), Body("foot", (0, 0, 70))]
    plastic = Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4, density=0.9e-6)
    sections = {"calf-shell": ShellSection(plastic, thickness=4.0),
                "foot-plate": ShellSection(plastic, thickness=5.0),
                "lateral-bar": StrutSection.rectangle(plastic, width=12, depth=4, up=(1, 0, 0))}
    structure = Structure(mesh, sections, beds=beds, bodies=bodies)
    system = SimpleNamespace(structure=structure, recovery=recovery)
    return FakeSolution(moved, stresses, gates, system)


def _mode(mesh):
    shape = np.zeros((1, len(mesh.points), 6))
    shape[0, :, 1] = np.exp(-(((mesh.points[:, 2] - 70) / 45) ** 2))
    return Buckling("cop-7", np.array([6.0]), shape, True)


@cache
def drawn(peak):
    """The figures of `assessment(peak)`, drawn once for all tests of a process."""
    return draw_figures(assessment(peak))


def buckling(result):
    """The same assessment with a check of buckling in the hardest case."""
    place = result.buckles[0].place
    check = Check(topic="buckling", zone="calf-shell", case="cop-7", place=place, demand=1.0,
                  capacity=2.0, unit="1", required=1.8, basis="critical factor 6.00", sources=())
    return replace(result, checks=(*result.checks, check))


def _readings(cases, at):
    shells = [ZoneReading(zone, case.name, 14 * share, 3 * share, 12 * share, share, at, (0.0,) * 8)
              for zone, share in (("calf-shell", 1.0), ("foot-plate", 0.4))
              for case in cases]
    bars = [BarReading("lateral-bar", case.name, (120, 4, 5, 90, 800, 1200), -61.0, (0, 45, 100))
            for case in cases]
    return tuple(shells), tuple(bars)


def just_over(result):
    """The same assessment with one check a hair beyond its limit."""
    check = result.checks[0]
    over = replace(check, demand=check.capacity / check.required * 1.0004)
    return replace(result, checks=(over, *result.checks[1:]))
