# SPDX-License-Identifier: MIT
"""Does the device outlive its service: the step as solved, with stairs and stumbles scaled from it.

A device that is rigid at the ankle sees a heel strike that turns the foot the other way than
push-off; where a step does not hold one, it is added. All is judged on every model of the limb that
strength is judged on, with a calf that does no share; what stays open is said, see
`fea.check.lifegaps`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from fea.check.check import NotChecked
from fea.check.factors import Factors
from fea.check.life import LIFE
from fea.check.lifegaps import creep_gaps, turned_gaps
from fea.check.lifezones import LifeJudgement, LoadCycle, judge_life
from fea.check.purpose import CYCLES, factors_for
from fea.check.readings import dorsiflexion
from fea.check.requirements import Requirements
from fea.check.spectrum import Block, Spectrum
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
    worn: Sequence[Worn],
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
        worn: the device on each model of the limb, a rigid foot first; each zone is judged on the
            one that harms it most.
        solved: instants of the step that are solved already on one of them.
        step: one step, mean forces without scatter.
        wearer, limb: who walks.
        requirements: service and partial factors.
        outside: as for `fea.check.judgement.judge`.

    Raises:
        GateError: a stress is not finite.
    """
    device = worn[0].device
    creeps = LifeJudgement(creep_gaps(device))
    if step is None:
        return creeps + _open("no step was given; life is judged on the mean forces of a step "
                              "(--step)")  # fmt: skip
    held = heel_held(step)
    instants = sorted([*step.instants, *([held] if held else [])], key=_time)
    try:
        acting = loads_on(replace(step, instants=tuple(instants)), wearer=wearer, limb=limb,
                          device=device)  # fmt: skip
    except LoadError as error:
        return creeps + _open(f"the step does not fit this device: {error}")
    walking = _grown(step, acting, wearer)
    spectrum = Spectrum.of(
        requirements.service, walking=walking, stairs=_ratio(STAIRS, step),
        stumble=_ratio(STUMBLE, step),
    )  # fmt: skip
    steps = [one for each in worn for one in _rounds(each, acting, _solved(each, acting, solved))]
    cycles = [LoadCycle("step", one, rests=True, spectrum=spectrum) for one in steps]
    turned = {case: dorsiflexion(each) for one in steps for case, each in one.items()}
    gaps = LifeJudgement(turned_gaps(turned, spectrum.blocks))
    return judge_life(device, cycles, requirements.factors, outside) + gaps + creeps


def _solved(
    worn: Worn, acting: Loads, solved: Mapping[str, Solution] | None
) -> dict[str, Solution]:
    """All cases on one model of the limb; those that are known are not solved again."""
    known = {case: each for case, each in (solved or {}).items() if each.system is worn.system}
    reactions = [each for each in acting.reactions
                 if not pushes(worn.model, each, worn.carries).keys() <= known.keys()]  # fmt: skip
    applied = [each for each in acting.pushes if worn.case_of(each) not in known]
    return known | worn.solve(reactions, applied)


def _rounds(
    worn: Worn, acting: Loads, solved: Mapping[str, Solution]
) -> Iterator[dict[str, Solution]]:
    """Solutions in the order of the loads, once for each side to which pushes are moved."""
    moved = [pushes(worn.model, reaction, worn.carries) for reaction in acting.reactions]
    applied = [worn.case_of(push) for push in acting.pushes]
    for cases in zip(*moved, strict=True):
        yield {case: solved[case] for case in (*cases, *applied)}


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
    factors = factors_for(factors, "cyclic")
    for group in groups.values():
        rests = len({round(float(np.linalg.norm(one.force)), 3) for one in group}) == 1
        rounds = [
            LoadCycle(load_set.name, one, rests, spectrum, CYCLES)
            for each in worn
            for one in _rounds(each, Loads(tuple(group)), solved)
        ]
        judged += judge_life(worn[0].device, rounds, factors, outside)
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


def _grown(step: LoadSet, acting: Loads, wearer: Wearer) -> float:
    """What an adult asks of the ankle over what the shipped step of children gives, at least 1."""
    if step.name != CHILDREN or not wearer.is_adult:
        return 1.0
    adults = read_load_set(ADULTS).instants
    asked = max(each.moment_nm_per_kg or 0.0 for each in adults) * 1000.0 * wearer.mass_kg
    given = max(reaction.dorsiflexing_moment for reaction in acting.reactions)
    return max(asked / given, 1.0) if given > 0.0 else 1.0


def _ratio(name: str, step: LoadSet) -> float:
    """Largest vertical force of a shipped set over that of a step."""
    sets = (read_load_set(name), step)
    high, usual = (max(instant.fz_bw for instant in each.instants) for each in sets)
    return high / usual


def _time(instant: StanceInstant) -> float:
    """Of an instant, % of the gait cycle; those without a time come last."""
    return float("inf") if instant.percent is None else instant.percent


def _open(because: str) -> LifeJudgement:
    gap = NotChecked(topic=LIFE, zone="device", because=because, horizon="service life")
    return LifeJudgement((gap,))
