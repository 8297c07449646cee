# SPDX-License-Identifier: MIT
"""The whole path on one page: a device and a wearer in, checks with their evidence out.

wearer ─> limb ─┬─> load cases ────────────┐
                └─> device ─> structure ───┴─> model ─> solver ─> checks ─> assessment
"""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fea.assumptions import assumptions, step_assumptions, step_words
from fea.check.buckling import Buckle, BucklingJudgement, judge_buckling
from fea.check.check import Check, Finding, NotChecked, governing
from fea.check.factors import Factors
from fea.check.life import LifeRow
from fea.check.lifezones import LifeJudgement
from fea.check.memory import FORBIDDEN, forgotten
from fea.check.purpose import fall_words, purpose_gaps, purpose_words
from fea.check.readings import (
    BarReading,
    ZoneReading,
    read_bars,
    read_energy_error,
    read_shells,
)
from fea.check.requirements import Requirements
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.check.summarytext import text_summary
from fea.check.touch import PressureReading, StrapReading, read_pressures, read_straps
from fea.check.verdict import Verdict, verdict_of, verdict_sentence
from fea.check.whereabouts import Whereabouts
from fea.device.device import Device
from fea.errors import LoadError
from fea.fall import judge_fall
from fea.given import Given
from fea.judging import Acting, AppliedResult, Judged, Loads, judge_loads, loads_on, worn_on
from fea.lasting import judge_cycles, judge_service
from fea.limb import Limb
from fea.loadcase.instant import LoadSet
from fea.misfit import misfits, narrow
from fea.provenance import provenance
from fea.shipped import AUTO_STEP
from fea.skin import Skin, judge_skin
from fea.solver.buckling import Buckling
from fea.solver.solution import Solution
from fea.stance import CaseResult, knee_gap
from fea.structure.limbmodel import RIGID_FOOT, LimbModel
from fea.structure.model import Structure
from fea.structure.realise import device_mass
from fea.structure.region import Region
from fea.turning import Turning, judge_turning
from fea.wearer import Wearer
from fea.worn import Worn


class Wearable(Protocol):
    """A recipe, which is fitted to the limb, or a device of fixed geometry, which is not."""

    def fit(self, limb: Limb, size: float | None = None) -> Device:
        """The device on this limb, with cells of about ``size`` mm."""


@dataclass(frozen=True, eq=False)
class Run:
    """The large part of an assessment.

    Attributes:
        structure: of the device on a rigid foot;  solutions, step: one of each case.
        modes: buckling shape by case.
        worn: the device on each model of the limb, prepared, for whoever solves more.
        large_from_deg: as it was asked for, see `assess`.
    """

    structure: Structure
    solutions: Mapping[str, Solution]
    step: Mapping[str, Solution]
    modes: Mapping[str, Buckling]
    worn: Sequence[Worn] = ()
    large_from_deg: float | None = None


@dataclass(frozen=True, eq=False)
class Found:
    """All that a load set says of a device on a limb.

    Attributes:
        envelope: strength;  turning: of the ankle;  buckling, skin: as named.
        fall: of the first fall.
        cycles: of the cycles that a borrowed set asks for.
        gaps: what does not fit between device, limb and loads, and what never is judged.
    """

    envelope: Judged
    turning: Turning
    buckling: BucklingJudgement
    skin: Skin
    fall: Sequence[Finding]
    cycles: LifeJudgement
    gaps: Sequence[Finding]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of all of them."""
        parts = (self.envelope, self.turning, self.buckling, self.skin, self.cycles)
        judged = (each for part in parts for each in part.findings)
        return (*judged, *self.fall, *self.gaps)


@dataclass(frozen=True, eq=False)
class Assessment:
    """Checks of one device for one wearer, and what they rest on.

    Attributes:
        device, wearer, limb, load_set, requirements: what went in; the device as fitted.
        factors: those of the requirements, as the purpose of the load set changes them.
        fall_set: the rare load of a first fall; None where it was not asked for.
        step_set: instants of the step, as solved; None without one.
        step_limb: how the limb is modelled in the step.
        checks: the governing check of each topic and zone, worst first.
        not_checked: what could not be judged, and why; never a pass.
        findings: every check of every case, of which `checks` are the governing ones.
        cases: instants that the verdict rests on;  applied: its other cases, pushes and bends.
        step: the step, for charts and the knee.
        turning: how far the ankle turns, as new and cool, and warm on soft flesh.
        buckles: how each case buckles: factor, place, proof.
        skin: how hard the device presses on the skin, over the band of flesh stiffness.
        cell_utilisation: (c,) highest share used of each triangle; NaN where not judged.
        provenance: hash of the inputs, versions, solver, sizes.
        run: structure, solutions, buckling shapes.
        life: how long each zone lasts, the shortest life first.
    """

    device: Device
    wearer: Wearer
    limb: Limb
    load_set: LoadSet
    fall_set: LoadSet | None
    step_set: LoadSet | None
    step_limb: LimbModel
    requirements: Requirements
    factors: Factors
    checks: tuple[Check, ...]
    not_checked: tuple[NotChecked, ...]
    findings: tuple[Finding, ...] = field(repr=False)
    cases: tuple[CaseResult, ...]
    applied: tuple[AppliedResult, ...]
    step: tuple[CaseResult, ...]
    turning: Turning = field(repr=False)
    buckles: tuple[Buckle, ...]
    skin: Skin = field(repr=False)
    cell_utilisation: NDArray[np.float64]
    provenance: Mapping[str, object]
    run: Run = field(repr=False)
    life: tuple[LifeRow, ...] = field(default=(), repr=False)

    @cached_property
    def zones(self) -> tuple[ZoneReading, ...]:
        """Stress and section forces of each shell zone and case."""
        return read_shells(self.run.solutions)

    @cached_property
    def bars(self) -> tuple[BarReading, ...]:
        """Forces and fibre stress of each bar and case."""
        return read_bars(self.run.solutions)

    @cached_property
    def pressures(self) -> tuple[PressureReading, ...]:
        """How each zone touches the limb in each case."""
        return read_pressures(self.run.solutions) if self.requirements.allow_memory else ()

    @cached_property
    def straps(self) -> tuple[StrapReading, ...]:
        """Tension and pressure of each strap in each case."""
        allowed = self.requirements.allow_memory
        return read_straps(self.device, self.run.solutions) if allowed else ()

    @cached_property
    def energy_error(self) -> Mapping[str, float]:
        """Relative energy error of the shells in each case, estimated."""
        return read_energy_error(self.run.solutions)

    @property
    def every_case(self) -> tuple[CaseResult | AppliedResult, ...]:
        """All cases that the verdict rests on."""
        return (*self.cases, *self.applied)

    @property
    def device_mass_kg(self) -> float:
        """Mass of walls and bars, without liner, straps and shoe."""
        return device_mass(self.run.structure)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the numbers rest on, one sentence each."""
        return (
            *(() if self.requirements.allow_memory else (FORBIDDEN,)),
            *assumptions(self.device, self.wearer, self.load_set),
            *purpose_words(self.load_set),
            *fall_words(self.fall_set),
            *step_assumptions(self.step_set, self.step_limb, self.load_set, self.wearer),
        )

    @property
    def where(self) -> Whereabouts:
        """Names places on this limb."""
        return Whereabouts.of(self.device, self.limb)

    @property
    def verdict(self) -> Verdict:
        """ "met", "not met" or "not fully checked"."""
        return verdict_of(self.checks, self.not_checked)

    @property
    def verdict_sentence(self) -> str:
        """The verdict in one plain sentence."""
        return verdict_sentence(self.checks, self.not_checked, self.where)

    def __str__(self) -> str:
        wearer = f"{self.wearer.mass_kg:g} kg, {self.wearer.height_mm:g} mm, {self.device.side} leg"
        title = f"{self.device.title} ({self.device.name}) for a wearer of {wearer}"
        title += f"\nLoads: {self.load_set.title}\n{step_words(self.load_set, self.step_set)}"
        return text_summary(title, self.checks, self.not_checked, self.where)


def assess(
    device: Wearable,
    wearer: Wearer,
    *,
    loads: str | Path | LoadSet = "walking-envelope",
    fall: str | Path | None = "stumble",
    step: str | Path | None = AUTO_STEP,
    step_limb: LimbModel = RIGID_FOOT,
    size: float | None = None,
    requirements: Requirements | None = None,
    large_from_deg: float | None = ROTATION_LIMIT_DEG,
    solver: str = "auto",
    outside: Region | None = None,
    start: Sequence[Worn] = (),
    progress: Callable[[str], None] = lambda message: None,
) -> Assessment:
    """Judge a device for a wearer.

    Args:
        device: from `read_device`; a recipe is fitted to the wearer, a mesh is never resized.
        wearer: who wears it.
        loads: load set that the verdict rests on: a shipped name, a file, or one that was read, as
            with numbers changed by hand.
        fall: load set of the first fall, under which the device may bend but must not break; None
            goes without, and so do sets borrowed from a standard, which have their own.
        step: load set of a step, for its charts, the knee and the service life, such as measured
            gait; None goes without, and leaves life open. It is interpolated to 25 instants
            through stance. "auto" takes the loads themselves where they are a step; else the
            typical step, and none beside held postures, borrowed loads, and loads that are no
            instants of stance.
        step_limb: how the limb is modelled in the step, such as with a calf that does its share;
            the verdict always rests on a calf that does none. Name and push aside are passed over.
        size: cell size of a recipe, mm; None takes the recipe's own.
        requirements: life asked for, partial factors, use of numbers from memory; None takes the
            shipped ones, for a grown wearer or a child.
        large_from_deg: instants that turn the ankle further in a linear solve are solved again with
            large rotations, and strength is judged on that; None leaves them to the linear one.
        solver: "auto", "superlu" or "pardiso".
        outside: region that the plain maximum of stress leaves out, to compare meshes; None leaves
            out what this mesh cannot resolve, as a verdict needs.
        start: `run.worn` of another assessment; what is of the same shape saves work.
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
    given = Given.read(wearer, loads, fall, step, step_limb, requirements)
    progress("fitting the device to the limb")
    limb = Limb.of(wearer)
    fitted = device.fit(limb, size)
    day, rare = given.acting(limb, fitted)
    progress("preparing the structure")
    acting = [each.loads for each in (day, rare) if each is not None]
    worn = worn_on(fitted, limb, *acting, steps=given.step_set is not None, solver=solver,
                   start=start)  # fmt: skip
    found = find(worn, limb, day, given.requirements.factors, fall=rare, solver=solver,
                 large_from_deg=large_from_deg, outside=outside, progress=progress)  # fmt: skip
    progress("solving the step")
    typical, gaps = _typical(given, worn[0], limb, solver)
    progress("judging the service life")
    life = judge_service(
        worn, typical.solutions, given.step_set, wearer=wearer, limb=limb,
        requirements=given.requirements, outside=outside,
    )  # fmt: skip
    stance = [case for case in found.envelope.cases if case.knee] or list(typical.cases)
    findings = (*found.findings, *gaps, *life.findings, *knee_gap(stance, wearer.clinical))
    return _assessment(given, limb, worn, found, typical, life + found.cycles, findings, started)


def find(
    worn: Sequence[Worn],
    limb: Limb,
    day: Acting,
    factors: Factors,
    *,
    fall: Acting | None = None,
    large_from_deg: float | None = None,
    solver: str = "auto",
    outside: Region | None = None,
    progress: Callable[[str], None] = lambda message: None,
) -> Found:
    """Solve and judge a load set on a device that is prepared on each model of the limb.

    Args:
        worn: the device on each model of the limb, a rigid foot first.
        limb: the wearer's.
        day: what acts on the device day by day;  fall: in a first fall, None leaves it out.
        factors, large_from_deg, solver, outside, progress: as for `assess`.
    """
    device, loads, purpose = worn[0].device, day.loads, day.load_set.purpose
    progress("solving and judging the load cases")
    envelope = judge_loads(
        worn, limb, loads, factors, held=day.held, purpose=purpose, solver=solver, outside=outside,
        large_from_deg=large_from_deg,
    )  # fmt: skip
    progress("turning the ankle in a warm device on soft flesh")
    turning = judge_turning(worn, loads, envelope.best, envelope.factors, solver=solver)
    progress("looking for buckling in each load case")
    buckling = judge_buckling(device, envelope.to_buckle, envelope.factors, day.held)
    progress("judging the pressure on the skin")
    skin = judge_skin(worn, loads, envelope.every, purpose=purpose, held=day.load_set.held,
                      solver=solver)  # fmt: skip
    fell: Sequence[Finding] = ()
    if fall is not None:
        progress("judging the first fall")
        fell = judge_fall(worn, fall.loads, loads=loads, solved=envelope.every, buckling=buckling,
                          factors=factors)  # fmt: skip
    cycles = judge_cycles(worn, day.load_set, loads, envelope.every, factors, outside)
    fall_set = None if fall is None else fall.load_set
    gaps = [*narrow(worn, loads), *misfits(device, limb, loads)]
    gaps += purpose_gaps(day.load_set, fall_set)
    return Found(envelope, turning, buckling, skin, fell, cycles, gaps)


def _typical(given: Given, worn: Worn, limb: Limb, solver: str) -> tuple[Judged, list[Finding]]:
    """The typical step, or why it does not fit this device: it serves charts, not the verdict."""
    factors, wearer = given.requirements.factors, given.wearer
    if given.step_limb != worn.model:
        worn = Worn.on(worn.device, given.step_limb, solver)
    if given.step_set is None:
        return judge_loads([worn], limb, Loads(()), factors), []
    try:
        loads = loads_on(given.step_set, wearer=wearer, limb=limb, device=worn.device)
        return judge_loads([worn], limb, loads, factors), []
    except LoadError as error:
        gap = NotChecked(topic="typical step", zone="device", because=str(error))
        return judge_loads([worn], limb, Loads(()), factors), [gap]


def _assessment(
    given: Given,
    limb: Limb,
    worn: Sequence[Worn],
    found: Found,
    typical: Judged,
    life: LifeJudgement,
    findings: tuple[Finding, ...],
    started: float,
) -> Assessment:
    """Everything in one value, with what it was made from."""
    checks, not_checked = governing(findings)
    envelope, modes, system = found.envelope, found.buckling.modes, worn[0].system
    large = envelope.large_from_deg
    inputs = [worn[0].device, *vars(given).values(), envelope.factors, large]
    result = Assessment(
        **vars(given), device=worn[0].device, limb=limb, factors=envelope.factors, checks=checks,
        not_checked=not_checked, findings=findings, cases=envelope.cases,
        applied=envelope.applied, step=typical.cases, turning=found.turning,
        buckles=found.buckling.buckles, skin=found.skin, cell_utilisation=envelope.strength.cells,
        provenance=provenance(system, inputs, typical.solved | envelope.solved, started),
        run=Run(system.structure, envelope.shown, typical.solutions, modes, worn, large),
        life=life.rows,
    )  # fmt: skip
    return result if result.requirements.allow_memory else forgotten(result, typical.findings)
