# SPDX-License-Identifier: MIT
"""A load set on a worn device: what acts, solved on all models of the limb, and judged."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fea.check.check import Finding
from fea.check.factors import Factors
from fea.check.judgement import Judgement, judge, together, worst_by_instant
from fea.check.purpose import factors_for, judges_strength
from fea.check.readings import dorsiflexion, largest_deflection
from fea.device.device import Device
from fea.errors import LoadError
from fea.limb import Limb
from fea.loadcase.applied import AppliedPush, PlateBend, applied_push, plate_bend
from fea.loadcase.instant import LoadSet, Purpose
from fea.loadcase.reaction import GroundReaction, ground_reactions
from fea.loadcase.shank import shank_to_vertical
from fea.solver.solution import Solution
from fea.stance import CaseResult, case_results
from fea.structure.limbmodel import bounds
from fea.structure.realise import landmark, plate_span
from fea.structure.region import Region
from fea.toebend import Bent, bend_gaps, solve_bends
from fea.wearer import Wearer
from fea.worn import Worn, carries


@dataclass(frozen=True, eq=False)
class Loads:
    """The cases of a load set on one wearer's device, each kind in the order of the set."""

    reactions: tuple[GroundReaction, ...]
    pushes: tuple[AppliedPush, ...] = ()
    bends: tuple[PlateBend, ...] = ()

    def times(self, factor: float) -> "Loads":
        """The loads of a wearer ``factor`` times as heavy whose limb and device stay as they are.

        Forces and moments grow alike; where they act, and how far toes bend a plate if the ground
        can bend it so far, does not change. What the cases say of themselves in words stays.
        """
        return Loads(
            tuple(
                replace(
                    each, force=factor * each.force, free_moment=factor * each.free_moment,
                    dorsiflexing_moment=factor * each.dorsiflexing_moment,
                )
                for each in self.reactions
            ),
            tuple(replace(each, force=factor * each.force) for each in self.pushes),
            tuple(
                replace(each, largest_moment=factor * each.largest_moment) for each in self.bends
            ),
        )  # fmt: skip

    def only(self, name: str) -> "Loads":
        """The case of one name alone."""
        return Loads(
            tuple(each for each in self.reactions if each.name == name),
            tuple(each for each in self.pushes if each.name == name),
            tuple(each for each in self.bends if each.name == name),
        )

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all cases."""
        named = [each.name for each in self.reactions]
        named += [each.name for each in self.pushes]
        return (*named, *(each.name for each in self.bends))


@dataclass(frozen=True)
class AppliedResult:
    """One solved case that is no instant of stance: a push on the device, or a toe bend.

    Attributes:
        name: of the case;  title: one sentence for people.
        percent: % of the gait cycle, or None.
        ankle_rotation: rad, of the foot against the shank, dorsiflexion positive.
        max_deflection: mm, of the device;  deflection_place: (3,) mm, where.
        utilisation: zone to share of the allowed stress used.
    """

    name: str
    title: str
    percent: float | None
    ankle_rotation: float
    max_deflection: float
    deflection_place: tuple[float, float, float]
    utilisation: Mapping[str, float]


@dataclass(frozen=True, eq=False)
class Judged:
    """A load set on one device: strength on all models of the limb, and what each case says.

    Attributes:
        solutions: of the first model, a rigid foot, without toe bends;  every: of all models.
        bent: toe bends.
        strength: of all of them.
        cases: instants of stance;  applied: pushes and toe bends.
        factors: as judged with.
        to_buckle: those of `solutions` that are to be judged for buckling: all, or none.
    """

    solutions: dict[str, Solution]
    every: dict[str, Solution]
    bent: tuple[Bent, ...]
    strength: Judgement
    cases: tuple[CaseResult, ...]
    applied: tuple[AppliedResult, ...]

    factors: Factors
    to_buckle: dict[str, Solution]

    @property
    def shown(self) -> dict[str, Solution]:
        """One solution of each case."""
        return self.solutions | {each.bend.name: each.solution for each in self.bent}

    @property
    def solved(self) -> dict[str, Solution]:
        """Every solution."""
        return self.every | self.shown

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of strength, and of what a bend leaves open."""
        return (*self.strength.findings, *bend_gaps(self.bent))


def loads_on(load_set: LoadSet, *, wearer: Wearer, limb: Limb, device: Device) -> Loads:
    """The cases of a load set on one wearer's device.

    Raises:
        LoadError: a case does not suit wearer or device; the message names it and says what would,
            and what was changed by hand in the set.
    """
    try:
        loads = _loads_on(load_set, wearer, limb, device)
        for reaction in loads.reactions:
            _require_carried(reaction, device)
    except LoadError as error:
        if not load_set.changes:
            raise
        changed = "; ".join(load_set.changes)
        raise LoadError(f"{error}. The load set was changed by hand: {changed}") from None
    return loads


def _require_carried(reaction: GroundReaction, device: Device) -> None:
    """Refuse a ground reaction that the plate cannot carry, before anything is solved."""
    if carries(device, reaction):
        return
    along, across = math.hypot(*reaction.force[:2]), float(reaction.force[2])
    raise LoadError(
        f"'{reaction.name}': {across:.0f} N across the sole and {along:.0f} N along it lean "
        f"{math.degrees(math.atan2(along, across)):.0f} deg, and their line through the centre "
        f"of pressure at x = {reaction.cop[0]:.0f} mm, y = {reaction.cop[1]:.0f} mm on the "
        f"floor passes the plate, or runs nearer to its edge than the "
        f"{reaction.patch_half_length:.0f} mm of the load patch allow: raise fz_bw, lower "
        "fx_bw or fy_bw with it, or move the centre of pressure inwards"
    )


def _loads_on(load_set: LoadSet, wearer: Wearer, limb: Limb, device: Device) -> Loads:
    ankle, span = landmark(device, "ankle_axis"), plate_span(device)
    return Loads(
        ground_reactions(
            load_set, wearer=wearer, ankle=ankle, foot_length=limb.foot_length, plate_span=span,
            shank_length=limb.shank_length,
            shank_to_vertical=shank_to_vertical(device.sole, limb.measures["ball_length_mm"]),
        ),
        tuple(
            applied_push(
                push, wearer=wearer, foot_length=limb.foot_length,
                zones=device.mesh.zones, landmarks=device.landmarks,
            )
            for push in load_set.pushes
        ),
        tuple(
            plate_bend(
                bend, wearer=wearer, ankle=ankle, foot_length=limb.foot_length, plate_span=span
            )
            for bend in load_set.bends
        ),
    )  # fmt: skip


def worn_on(device: Device, limb: Limb, loads: Loads, solver: str = "auto") -> list[Worn]:
    """The device on every model of the limb that these loads need; a rigid foot first."""
    models = bounds(limb) if loads.reactions or loads.pushes else bounds(limb)[:1]
    return [Worn.on(device, model, solver) for model in models]


def judge_loads(
    worn: Sequence[Worn],
    limb: Limb,
    loads: Loads,
    factors: Factors,
    *,
    purpose: Purpose = "verdict",
    solver: str = "auto",
    outside: Region | None = None,
) -> Judged:
    """Solve a load set on a device and judge it.

    Args:
        worn: the device on each model of the limb, a rigid foot first.
        limb: the wearer's.
        loads: on this device.
        factors: partial factors, as for a verdict.
        purpose: of the load set, which changes them, see `fea.check.purpose`; under one that is not
            about a single load the cases are solved only.
        solver: for toe bends, which have a structure of their own.
        outside: as for `judge`.

    Raises:
        LoadError: a push misses the zones that are to take it.
        SolveError: the equations have no answer that can be trusted.
    """
    device, factors = worn[0].device, factors_for(factors, purpose)
    solved = [each.solve(loads.reactions, loads.pushes) for each in worn]
    bent = tuple(solve_bends(device, loads.bends, solver))
    strength = judges_strength(purpose)
    groups = [*solved, *_by_structure(bent)] if strength else [{}]
    judgement = together([judge(device, group, factors, outside) for group in groups])
    every = {case: solution for group in solved for case, solution in group.items()}
    stands_for = {
        case: name
        for each in worn
        for case, name in each.instants(loads.reactions, loads.pushes).items()
    } | {each.bend.name: each.bend.name for each in bent}
    shares: dict[str, dict[str, float]] = {name: {} for name in stands_for.values()}
    shares |= worst_by_instant(judgement.utilisation, stands_for)
    results = case_results(worn[0], limb, loads.reactions, solved[0], shares)
    applied = [
        _applied(push.name, push.description, None, solved[0][push.name], shares)
        for push in loads.pushes
    ]
    applied += [
        _applied(each.bend.name, each.description, each.bend.percent, each.solution, shares)
        for each in bent
    ]
    return Judged(
        solutions=solved[0], every=every, bent=bent, strength=judgement, cases=results,
        applied=tuple(applied), factors=factors, to_buckle=solved[0] if strength else {},
    )  # fmt: skip


def _by_structure(bent: Sequence[Bent]) -> list[dict[str, Solution]]:
    """Solutions of toe bends, those of one structure together."""
    groups: dict[int, dict[str, Solution]] = {}
    for each in bent:
        groups.setdefault(id(each.solution.system), {})[each.bend.name] = each.solution
    return list(groups.values())


def _applied(
    name: str,
    title: str,
    percent: float | None,
    solution: Solution,
    utilisation: Mapping[str, Mapping[str, float]],
) -> AppliedResult:
    deflection, place = largest_deflection(solution)
    return AppliedResult(
        name, title, percent, dorsiflexion(solution), deflection, place, utilisation[name]
    )
