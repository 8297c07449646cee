# SPDX-License-Identifier: MIT
"""A load set on a worn device: what acts, solved on all models of the limb, and judged."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from fea.check.check import Finding
from fea.check.factors import Factors
from fea.check.judgement import Judgement, judge, together, worst_by_instant
from fea.check.purpose import factors_for, judges_strength
from fea.check.readings import dorsiflexion, largest_deflection
from fea.device.device import Device
from fea.device.facing import landmark
from fea.errors import LoadError
from fea.farturn import FarTurned, far_gaps, turn_far
from fea.limb import Limb
from fea.loadcase.applied import AppliedPush, PlateBend, applied_push, plate_bend
from fea.loadcase.instant import LoadSet, Purpose
from fea.loadcase.reaction import GroundReaction, ground_reactions
from fea.loadcase.shank import shank_to_vertical
from fea.solver.largesolution import LargeSolution
from fea.solver.solution import Solution
from fea.stance import CaseResult, case_results
from fea.structure.limbmodel import bounds
from fea.structure.realise import plate_span
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


@dataclass(frozen=True, eq=False)
class Acting:
    """A load set, and its cases on one wearer's device."""

    load_set: LoadSet
    loads: Loads

    @classmethod
    def on(cls, load_set: LoadSet, *, wearer: Wearer, limb: Limb, device: Device) -> "Acting":
        """A load set on one wearer's device; raises what `loads_on` raises."""
        return cls(load_set, loads_on(load_set, wearer=wearer, limb=limb, device=device))

    @property
    def held(self) -> frozenset[str]:
        """Cases whose load stays: all of a set of held postures, and pushes on the device."""
        pushes = [each.name for each in self.loads.pushes]
        return frozenset(self.loads.names if self.load_set.held else pushes)

    def times(self, factor: float) -> "Acting":
        """Under the same set with a wearer ``factor`` times as heavy, see `Loads.times`."""
        return Acting(self.load_set, self.loads.times(factor))


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
        solutions: of the first model, a rigid foot, without toe bends;  every: of all models; both
            linear, as buckling, skin, falls and life take them.
        bent: toe bends.
        strength: of all of them.
        cases: instants of stance;  applied: pushes and toe bends.
        factors: as judged with; where only some cases are held, those of the others.
        to_buckle: those of `solutions` that are to be judged for buckling: all, or none.
        far: instants that turn the ankle far, solved with large rotations, for each model.
        large_from_deg: from which angle on they were; None where none was to be.
    """

    solutions: dict[str, Solution]
    every: dict[str, Solution]
    bent: tuple[Bent, ...]
    strength: Judgement
    cases: tuple[CaseResult, ...]
    applied: tuple[AppliedResult, ...]

    factors: Factors
    to_buckle: dict[str, Solution]
    far: tuple[FarTurned, ...] = ()
    large_from_deg: float | None = None

    @property
    def shown(self) -> dict[str, Solution]:
        """One solution of each case, with large rotations where there is one."""
        bent = {each.bend.name: each.solution for each in self.bent}
        return self.solutions | {c: self.large[c] for c in self.solutions if c in self.large} | bent

    @property
    def large(self) -> dict[str, LargeSolution]:
        """Solutions with large rotations, on which strength is judged in place of linear ones."""
        return {case: each for far in self.far for case, each in far.solutions.items()}

    @property
    def best(self) -> dict[str, Solution]:
        """Those of `every`, with large rotations where there is such a one."""
        return self.every | self.large

    @property
    def solved(self) -> dict[str, Solution]:
        """Every solution."""
        return self.every | self.shown | self.large

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of strength, and of what large rotations and a bend leave open."""
        return (*self.strength.findings, *far_gaps(self.far), *bend_gaps(self.bent))


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


def worn_on(
    device: Device,
    limb: Limb,
    *loads: Loads,
    steps: bool = False,
    solver: str = "auto",
    start: Sequence[Worn] = (),
) -> list[Worn]:
    """The device on every model of the limb that any of these loads, or a step, needs.

    A rigid foot comes first. What was prepared before and is of the same shape (``start``) is used
    again, see `Worn.on`.
    """
    stands = steps or any(each.reactions or each.pushes for each in loads)
    models = bounds(limb) if stands else bounds(limb)[:1]
    return [Worn.on(device, model, solver, start) for model in models]


def judge_loads(
    worn: Sequence[Worn],
    limb: Limb,
    loads: Loads,
    factors: Factors,
    *,
    held: Collection[str] = (),
    purpose: Purpose = "verdict",
    solver: str = "auto",
    outside: Region | None = None,
    large_from_deg: float | None = None,
) -> Judged:
    """Solve a load set on a device and judge it.

    Args:
        worn: the device on each model of the limb, a rigid foot first.
        limb: the wearer's.
        loads: on this device.
        factors: partial factors, as for a verdict.
        held: cases whose load stays, as `Acting.held` names them, so that material creeps under it
            for all hours of standing; the others are a step's peak.
        purpose: of the load set, which changes them, see `fea.check.purpose`; under one that is not
            about a single load the cases are solved only.
        solver: for toe bends, which have a structure of their own.
        outside: as for `judge`.
        large_from_deg: instants that turn the ankle further than this in a linear solve are solved
            again with large rotations, and their strength is judged on that; None leaves them.

    Raises:
        LoadError: a push misses the zones that are to take it.
        SolveError: the equations have no answer that can be trusted.
    """
    device, factors = worn[0].device, factors_for(factors, purpose)
    solved = [each.solve(loads.reactions, loads.pushes) for each in worn]
    bent = tuple(solve_bends(device, loads.bends, solver))
    strength = judges_strength(purpose)
    pairs = zip(worn, solved, strict=True)
    far = [turn_far(each, loads.reactions, group, large_from_deg) for each, group in pairs]
    turned = [{**group, **each.solutions} for group, each in zip(solved, far, strict=True)]
    every = {case: solution for group in solved for case, solution in group.items()}
    stands_for = {
        case: name
        for each in worn
        for case, name in each.instants(loads.reactions, loads.pushes).items()
    } | {each.bend.name: each.bend.name for each in bent}
    stay = {case for case, name in stands_for.items() if name in held}
    groups = [*turned, *_by_structure(bent)] if strength else [{}]
    judgement = _judge_by_time(device, groups, stay, factors, outside)
    if stay and stay == set(stands_for):
        factors = factors.held()
    shares: dict[str, dict[str, float]] = {name: {} for name in stands_for.values()}
    shares |= worst_by_instant(judgement.utilisation, stands_for)
    results = case_results(worn[0], limb, loads.reactions, turned[0], shares)
    return Judged(
        solutions=solved[0], every=every, bent=bent, strength=judgement, cases=results,
        applied=_all_applied(loads, bent, solved[0], shares), factors=factors,
        to_buckle=solved[0] if strength else {}, far=tuple(far), large_from_deg=large_from_deg,
    )  # fmt: skip


def _judge_by_time(
    device: Device,
    groups: Sequence[Mapping[str, Solution]],
    stay: Collection[str],
    factors: Factors,
    outside: Region | None,
) -> Judgement:
    """Strength in groups of one structure each; material creeps in the cases that stay."""
    return together([
        judge(device, part, factors.held() if creeps else factors, outside)
        for group in groups
        for creeps, part in _by_time(group, stay).items()
    ])  # fmt: skip


def _by_time(
    group: Mapping[str, Solution], stay: Collection[str]
) -> dict[bool, dict[str, Solution]]:
    """Solutions by whether their load stays; one part even where there are none."""
    parts: dict[bool, dict[str, Solution]] = {}
    for case, solution in group.items():
        parts.setdefault(case in stay, {})[case] = solution
    return parts or {False: {}}


def _by_structure(bent: Sequence[Bent]) -> list[dict[str, Solution]]:
    """Solutions of toe bends, those of one structure together."""
    groups: dict[int, dict[str, Solution]] = {}
    for each in bent:
        groups.setdefault(id(each.solution.system), {})[each.bend.name] = each.solution
    return list(groups.values())


def _all_applied(
    loads: Loads,
    bent: Sequence[Bent],
    solutions: Mapping[str, Solution],
    utilisation: Mapping[str, Mapping[str, float]],
) -> tuple[AppliedResult, ...]:
    """What pushes and toe bends say."""
    pushes = [
        _applied(push.name, push.description, None, solutions[push.name], utilisation)
        for push in loads.pushes
    ]
    bends = [
        _applied(each.bend.name, each.description, each.bend.percent, each.solution, utilisation)
        for each in bent
    ]
    return (*pushes, *bends)


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
