# SPDX-License-Identifier: MIT
"""The whole path on one page: a device and a wearer in, checks with their evidence out.

wearer ─> limb ─┬─> load cases ────────────┐
                └─> device ─> structure ───┴─> model ─> solver ─> checks ─> assessment
"""

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fea.check.buckling import Buckle, judge_buckling
from fea.check.check import Check, Finding, NotChecked, governing
from fea.check.factors import Factors, read_factors
from fea.check.judgement import STANDING_GAPS, Judgement, judge
from fea.check.readings import (
    BarReading,
    ZoneReading,
    dorsiflexion,
    largest_deflection,
    read_bars,
    read_energy_error,
    read_shells,
)
from fea.check.stiffness import check_ankle_rotation
from fea.check.verdict import Verdict, text_summary, verdict_of, verdict_sentence
from fea.device.device import Device
from fea.errors import LoadError
from fea.limb import Limb
from fea.loadcase.instant import LoadSet
from fea.loadcase.reaction import GroundReaction, ground_reactions
from fea.loadcase.reader import read_load_set
from fea.provenance import provenance
from fea.solver.buckling import Buckling
from fea.solver.solution import Solution
from fea.solver.system import System, prepare
from fea.structure.model import Structure
from fea.structure.realise import device_mass, ground_load, landmark, plate_span, realise
from fea.structure.tissue import FOOT, SHANK
from fea.wearer import Wearer

_FIT = 0.15  # share by which the heels of device and limb may lie apart before fit is doubted


class Wearable(Protocol):
    """A recipe, which is fitted to the limb, or a device of fixed geometry, which is not."""

    def fit(self, limb: Limb, size: float | None = None) -> Device:
        """The device on this limb, with cells of about ``size`` mm."""


@dataclass(frozen=True)
class CaseResult:
    """One solved instant.

    Attributes:
        name: of the case;  title: one sentence for people.
        percent: % of the gait cycle, or None.
        force: (3,) N on the sole;  cop: (3,) mm; device frame.
        dorsiflexing_moment: N·mm, external, about the ankle axis.
        ankle_rotation: rad, of the foot against the shank, dorsiflexion positive.
        max_deflection: mm, of the device;  deflection_place: (3,) mm, where.
        utilisation: zone to share of the allowed stress used.
    """

    name: str
    title: str
    percent: float | None
    force: tuple[float, float, float]
    cop: tuple[float, float, float]
    dorsiflexing_moment: float
    ankle_rotation: float
    max_deflection: float
    deflection_place: tuple[float, float, float]
    utilisation: Mapping[str, float]


@dataclass(frozen=True, eq=False)
class Run:
    """The large part of an assessment: structure, every solution, buckling shape by case."""

    structure: Structure
    solutions: Mapping[str, Solution]
    step: Mapping[str, Solution]
    modes: Mapping[str, Buckling]


@dataclass(frozen=True, eq=False)
class Assessment:
    """Checks of one device for one wearer, and what they rest on.

    Attributes:
        device, wearer, limb, load_set, factors: what went in; the device as fitted.
        checks: the governing check of each topic and zone, worst first.
        not_checked: what could not be judged, and why; never a pass.
        findings: every check of every case, of which `checks` are the governing ones.
        cases: the load cases that the verdict rests on;  step: the typical step, for charts.
        buckles: how each case buckles: factor, place, proof.
        cell_utilisation: (c,) highest share used of each triangle; NaN where not judged.
        provenance: hash of the inputs, versions, solver, sizes.
        run: structure, solutions, buckling shapes.
    """

    device: Device
    wearer: Wearer
    limb: Limb
    load_set: LoadSet
    factors: Factors
    checks: tuple[Check, ...]
    not_checked: tuple[NotChecked, ...]
    findings: tuple[Finding, ...] = field(repr=False)
    cases: tuple[CaseResult, ...]
    step: tuple[CaseResult, ...]
    buckles: tuple[Buckle, ...]
    cell_utilisation: NDArray[np.float64]
    provenance: Mapping[str, object]
    run: Run = field(repr=False)

    @cached_property
    def zones(self) -> tuple[ZoneReading, ...]:
        """Stress and section forces of each shell zone and case."""
        return read_shells(self.run.solutions)

    @cached_property
    def bars(self) -> tuple[BarReading, ...]:
        """Forces and fibre stress of each bar and case."""
        return read_bars(self.run.solutions)

    @cached_property
    def energy_error(self) -> Mapping[str, float]:
        """Relative energy error of the shells in each case, estimated."""
        return read_energy_error(self.run.solutions)

    @property
    def device_mass_kg(self) -> float:
        """Mass of walls and bars, without liner, straps and shoe."""
        return device_mass(self.run.structure)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the numbers rest on, one sentence each."""
        return _assumptions(self.device, self.wearer, self.load_set)

    @property
    def verdict(self) -> Verdict:
        """ "met", "not met" or "not fully checked"."""
        return verdict_of(self.checks, self.not_checked)

    @property
    def verdict_sentence(self) -> str:
        """The verdict in one plain sentence."""
        return verdict_sentence(self.checks, self.not_checked)

    def __str__(self) -> str:
        wearer = f"{self.wearer.mass_kg:g} kg, {self.wearer.height_mm:g} mm, {self.device.side} leg"
        title = f"{self.device.title} ({self.device.name}) for a wearer of {wearer}"
        return text_summary(title, self.checks, self.not_checked)


def assess(
    device: Wearable,
    wearer: Wearer,
    *,
    loads: str | Path = "walking-envelope",
    step: str | Path | None = "typical-step",
    size: float | None = None,
    factors: Factors | None = None,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Assessment:
    """Judge a device for a wearer.

    Args:
        device: from `read_device`; a recipe is fitted to the wearer, a mesh is never resized.
        wearer: who wears it.
        loads: load set that the verdict rests on, a shipped name or a file.
        step: load set for the charts of a step; None goes without.
        size: cell size of a recipe, mm; None takes the recipe's own.
        factors: partial factors; None takes the shipped ones.
        solver: "auto", "superlu" or "pardiso".
        progress: called with a few words before each part of the work.

    Returns:
        The assessment.

    Raises:
        InputError: device, wearer and loads do not go together; the message says what to change.
        SolveError: the equations have no answer that can be trusted.

    Example:
        >>> import fea
        >>> wearer = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.assess(fea.read_device("bare-two-upright-polypropylene-child"), wearer)
        >>> bare.verdict
        'not met'
    """
    started = time.perf_counter()
    factors = read_factors() if factors is None else factors
    load_set = read_load_set(loads)
    step_set = None if step is None else read_load_set(step)
    progress("fitting the device to the limb")
    limb = Limb.of(wearer)
    fitted = device.fit(limb, size)
    reactions = _reactions(load_set, wearer, limb, fitted)
    step_reactions, gap = _step_reactions(step_set, wearer, limb, fitted)
    progress("preparing the structure")
    system = prepare(realise(fitted), solver)
    progress("solving and judging the load cases")
    envelope = _solve(system, fitted, reactions, factors)
    typical = _solve(system, fitted, step_reactions, factors)
    progress("looking for buckling in each load case")
    buckling = judge_buckling(fitted, envelope.solutions, factors)
    gaps = (*gap, *_gaps(fitted, limb, reactions))
    findings = (*envelope.findings, *buckling.findings, *gaps)
    checks, not_checked = governing(findings)
    made_from = [fitted, wearer, load_set, step_set, factors]
    return Assessment(
        device=fitted, wearer=wearer, limb=limb, load_set=load_set, factors=factors,
        checks=checks, not_checked=not_checked, findings=findings,
        cases=envelope.cases, step=typical.cases, buckles=buckling.buckles,
        cell_utilisation=envelope.judged.cells,
        provenance=provenance(system, made_from, typical.solutions | envelope.solutions, started),
        run=Run(system.structure, envelope.solutions, typical.solutions, buckling.modes),
    )


@dataclass(frozen=True, eq=False)
class _Solved:
    """A load set on one device: solutions, strength, and what each case says."""

    solutions: dict[str, Solution]
    judged: Judgement
    cases: tuple[CaseResult, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        return (*self.judged.findings, *_rotations(self.solutions))


def _solve(
    system: System, device: Device, reactions: tuple[GroundReaction, ...], factors: Factors
) -> _Solved:
    cases = {reaction.name: [ground_load(device, reaction)] for reaction in reactions}
    solutions = system.solve(cases) if cases else {}
    judged = judge(device, solutions, factors)
    return _Solved(solutions, judged, _cases(reactions, solutions, judged.utilisation))


def _reactions(
    load_set: LoadSet, wearer: Wearer, limb: Limb, device: Device
) -> tuple[GroundReaction, ...]:
    return ground_reactions(
        load_set,
        wearer=wearer,
        ankle=landmark(device, "ankle_axis"),
        foot_length=limb.foot_length,
        plate_span=plate_span(device),
    )


def _step_reactions(
    step_set: LoadSet | None, wearer: Wearer, limb: Limb, device: Device
) -> tuple[tuple[GroundReaction, ...], list[Finding]]:
    """The typical step, or why it does not fit this device: it serves charts, not the verdict."""
    if step_set is None:
        return (), []
    try:
        return _reactions(step_set, wearer, limb, device), []
    except LoadError as error:
        return (), [NotChecked(topic="typical step", zone="device", because=str(error))]


def _gaps(device: Device, limb: Limb, reactions: tuple[GroundReaction, ...]) -> list[NotChecked]:
    """What is not judged: what does not fit between device, limb and loads, and what never is."""
    gaps = []
    moved = [reaction for reaction in reactions if reaction.moved_back > 0.0]
    if moved:
        because = (
            f"the plate ends before the push of {len(moved)} load cases, which was moved back by "
            f"up to {max(reaction.moved_back for reaction in moved):.0f} mm; a shoe or foot that "
            "reaches further loads the device harder than judged here"
        )
        gaps.append(NotChecked(topic="push beyond the plate", zone="device", because=because))
    heel = abs(landmark(device, "heel")[0] - landmark(device, "ankle_axis")[0])
    wanted = abs(limb.landmarks["heel"][0])
    if abs(heel - wanted) > _FIT * wanted:
        because = (
            f"the device's heel lies {heel:.0f} mm behind the ankle axis, this wearer's foot "
            f"{wanted:.0f} mm: the mesh is not resized, and looks made for another foot"
        )
        gaps.append(NotChecked(topic="fit", zone="device", because=because))
    return [*gaps, *STANDING_GAPS]


def _rotations(solutions: Mapping[str, Solution]) -> list[Finding]:
    rotations = {case: dorsiflexion(solution) for case, solution in solutions.items()}
    worst = max(rotations, key=lambda case: abs(rotations[case]))
    return list(check_ankle_rotation(worst, rotations[worst]))


def _cases(
    reactions: tuple[GroundReaction, ...],
    solutions: Mapping[str, Solution],
    utilisation: Mapping[str, Mapping[str, float]],
) -> tuple[CaseResult, ...]:
    results = []
    for reaction in reactions:
        solution = solutions[reaction.name]
        deflection, place = largest_deflection(solution)
        results.append(
            CaseResult(
                name=reaction.name,
                title=reaction.description,
                percent=reaction.percent,
                force=_triple(reaction.force),
                cop=_triple(reaction.cop),
                dorsiflexing_moment=reaction.dorsiflexing_moment,
                ankle_rotation=dorsiflexion(solution),
                max_deflection=deflection,
                deflection_place=place,
                utilisation=utilisation[reaction.name],
            )
        )
    return tuple(results)


def _assumptions(device: Device, wearer: Wearer, load_set: LoadSet) -> tuple[str, ...]:
    estimated = [name for name, measure in wearer.measures.items() if measure.estimated]
    names = ", ".join(name.removesuffix("_mm").replace("_", " ") for name in estimated)
    shank, foot = (f"{1000 * tissue.bed_stiffness:.0f} kPa/mm" for tissue in (SHANK, FOOT))
    return (
        *((f"Measures estimated from published surveys, not taken: {names}.",) if names else ()),
        "Foot and shank are rigid and joined by a hinge at the ankle axis; the shank is held.",
        "The calf does no work: the device carries the whole external ankle moment.",
        f"Skin, flesh and liner press and pull alike, {shank} under the front piece and {foot} "
        "under the foot (confined layer; moduli from memory, not measured on this wearer; stress "
        "in plate and foot walls and the ankle rotation depend on them).",
        "Materials are linear elastic, displacements small.",
        "Stress in walls is recovered at the corners of cells from the means of the cells round "
        "them, never over folds or steps in wall; what a check asks contains an estimate of its "
        "discretisation error. Bars are exact between their nodes.",
        " ".join(load_set.note.split()),
        *device.notes,
    )


def _triple(values: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z
