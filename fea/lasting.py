# SPDX-License-Identifier: MIT
"""Does the device outlive its service: the step as solved, with stairs and stumbles scaled from it.

A device that is rigid at the ankle sees a heel strike that turns the foot the other way than
push-off; where a step does not hold one, it is added. All is judged on a rigid foot, with a calf
that does no share; what that leaves open is said, see `fea.check.lifegaps`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fea.check.check import NotChecked
from fea.check.factors import Factors
from fea.check.life import LIFE
from fea.check.lifegaps import creep_gaps, limb_gap, turned_gaps
from fea.check.lifezones import LifeJudgement, LoadCycle, judge_life
from fea.check.purpose import CYCLES, factors_for
from fea.check.readings import dorsiflexion
from fea.check.requirements import Requirements
from fea.check.spectrum import Block, Spectrum
from fea.device.device import Device
from fea.errors import LoadError
from fea.judging import Loads, loads_on
from fea.limb import Limb
from fea.loadcase.instant import LoadSet, Provenance, StanceInstant
from fea.loadcase.reaction import GroundReaction
from fea.loadcase.reader import read_load_set
from fea.loadcase.timeline import timed
from fea.solver.solution import Solution
from fea.structure.region import Region
from fea.wearer import Wearer
from fea.worn import Worn, pushes

STAIRS, STUMBLE = "stairs", "stumble"
"""Shipped load sets whose largest vertical force, over that of the step, scales its stress."""
CHILDREN, ADULTS = "typical-step", "typical-step-adult"
"""Shipped steps. That of children serves adults too, whose ankle asks for more."""
LOADING = 7.0
"""When the heel takes the load, % of the gait cycle. Source: schwartz-2008 (loading response)."""


def judge_service(
    worn: Worn,
    solved: Mapping[str, Solution] | None,
    step: LoadSet | None,
    *,
    wearer: Wearer,
    limb: Limb,
    requirements: Requirements,
    outside: Region | None = None,
) -> LifeJudgement:
    """Life of a device under the steps of its wearer.

    Args:
        worn: the device on a rigid foot.
        solved: instants of the step on it; None where they are still to be solved.
        step: one step, mean forces without scatter.
        wearer, limb: who walks.
        requirements: service and partial factors.
        outside: as for `fea.check.judgement.judge`.

    Raises:
        GateError: a stress is not finite.
    """
    device, creeps = worn.device, LifeJudgement(creep_gaps(worn.device))
    if step is None:
        return creeps + _open("no step was given; life is judged on the mean forces of a step "
                              "(--step)")  # fmt: skip
    try:
        held = heel_held(step)
        acting = _on(device, step if solved is None else None, wearer, limb)
        extra = None if held is None else replace(step, instants=(held,))
        added = _on(device, extra, wearer, limb)
    except LoadError as error:
        return creeps + _open(f"the step does not fit this device: {error}")
    found = dict(worn.solve(acting.reactions, acting.pushes) if solved is None else solved)
    found |= worn.solve(added.reactions)
    walking = _grown(device, step, wearer, limb)
    spectrum = Spectrum.of(
        requirements.service, walking=walking, stairs=_ratio(STAIRS, step),
        stumble=_ratio(STUMBLE, step),
    )  # fmt: skip
    cycle = LoadCycle("step", _in_time(found, step, held), rests=True, spectrum=spectrum)
    turned = {case: walking * dorsiflexion(solution) for case, solution in found.items()}
    gaps = LifeJudgement((limb_gap(), *turned_gaps(turned)))
    return judge_life(device, cycle, requirements.factors, outside) + gaps + creeps


def heel_held(step: LoadSet) -> StanceInstant | None:
    """The heel strike that a rigid device makes of a step; None where the step holds one.

    Example:
        >>> heel_held(read_load_set("typical-step")) is None
        True
    """
    curve = timed(step.instants)
    if not curve or any(instant.cop == "heel-edge" for instant in step.instants):
        return None
    nearest = min(curve, key=lambda instant: abs((instant.percent or 0.0) - LOADING))
    origin = Provenance("assumed", "assumed", "a rigid device keeps the load on the heel")
    return replace(
        nearest, name=f"{nearest.name}, heel held down by a rigid device", cop="heel-edge",
        moment_nm_per_kg=None, provenance={**nearest.provenance, "cop": origin},
    )  # fmt: skip


def judge_cycles(
    worn: Sequence[Worn],
    load_set: LoadSet,
    loads: Loads,
    solved: Mapping[str, Solution],
    factors: Factors,
    outside: Region | None = None,
) -> LifeJudgement:
    """Whether a device outlives the cycles of a borrowed set; nothing for another set.

    Instants with the same centre of pressure form one cycle, which comes as often as the set says.
    Where all of them push alike, as one alone does, the device is unloaded in between: that swings
    further than from any least force, so that a place written a little differently errs to the
    safe side.

    Args:
        worn: the device on each model of the limb.
        load_set, loads: what is borrowed, and its cases on this device.
        solved: solutions on all models.
        factors: partial factors.
        outside: as for `fea.check.judgement.judge`.
    """
    if load_set.purpose != "cyclic":
        return LifeJudgement()
    cycles = load_set.cycles or 0.0
    spectrum = Spectrum((Block("cycles", 1.0, cycles),), None)
    places = {instant.name: _place(instant) for instant in load_set.instants}
    groups: dict[object, list[GroundReaction]] = {}
    for reaction in loads.reactions:
        groups.setdefault(places[reaction.name], []).append(reaction)
    others = [each.name for each in loads.pushes] + [each.name for each in loads.bends]
    judged = LifeJudgement(tuple(map(_uncycled, others)))
    for each in worn:
        for group in groups.values():
            rests = len({round(float(np.linalg.norm(one.force)), 3) for one in group}) == 1
            moved = (pushes(each.model, reaction, each.carries) for reaction in group)
            for cases in zip(*moved, strict=True):
                solutions = {case: solved[case] for case in cases}
                cycle = LoadCycle(load_set.name, solutions, rests, spectrum, CYCLES)
                judged += judge_life(each.device, cycle, factors_for(factors, "cyclic"), outside)
    return judged


def _place(instant: StanceInstant) -> object:
    """Where an instant pushes; the moment per body weight where that is what it gives."""
    if instant.moment_nm_per_kg is None:
        return instant.cop, instant.cop_medial_mm
    if not instant.fz_bw:
        return instant.name
    return round(instant.moment_nm_per_kg / instant.fz_bw, 3), instant.cop_medial_mm


def _uncycled(name: str) -> NotChecked:
    because = (
        f"'{name}' is a push on the device or a bend of its plate; a cycle is made of instants of "
        "stance only, so that nobody looked at how often the device outlives it"
    )
    return NotChecked(topic=CYCLES, zone="device", because=because, horizon="service life")


def _on(device: Device, load_set: LoadSet | None, wearer: Wearer, limb: Limb) -> Loads:
    if load_set is None:
        return Loads(())
    return loads_on(load_set, wearer=wearer, limb=limb, device=device)


def _grown(device: Device, step: LoadSet, wearer: Wearer, limb: Limb) -> float:
    """What an adult asks of the ankle over what the shipped step of children gives, at least 1."""
    if step.name != CHILDREN or not wearer.is_adult:
        return 1.0
    adults = read_load_set(ADULTS).instants
    asked = max(each.moment_nm_per_kg or 0.0 for each in adults) * 1000.0 * wearer.mass_kg
    reactions = loads_on(step, wearer=wearer, limb=limb, device=device).reactions
    given = max(reaction.dorsiflexing_moment for reaction in reactions)
    return max(asked / given, 1.0) if given > 0.0 else 1.0


def _ratio(name: str, step: LoadSet) -> float:
    """Largest vertical force of a shipped set over that of a step."""
    sets = (read_load_set(name), step)
    high, usual = (max(instant.fz_bw for instant in each.instants) for each in sets)
    return high / usual


def _in_time(
    solved: Mapping[str, Solution], step: LoadSet, held: StanceInstant | None
) -> dict[str, Solution]:
    """Solutions in the order of their instants in time; those without a time last."""
    instants = [*step.instants, *([held] if held else [])]
    percent = {each.name: each.percent for each in instants}
    late = float("inf")

    def time(name: str) -> float:
        found = percent.get(name)
        return late if found is None else found

    return {name: solved[name] for name in sorted(solved, key=time)}


def _open(because: str) -> LifeJudgement:
    gap = NotChecked(topic=LIFE, zone="device", because=because, horizon="service life")
    return LifeJudgement((gap,))
