# SPDX-License-Identifier: MIT
"""What a solved instant of stance says: who carries the ankle moment, what is left to the knee.

The device does not cross the knee: what it takes off the knee is its share of the ankle moment, see
`fea.loadcase.knee`. The force on the shin is how it does so; it stands beside, and is never counted
on top.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from fea.check.check import NotChecked
from fea.check.readings import dorsiflexion, largest_deflection
from fea.check.wording import apart_texts
from fea.device.facing import SHANK_BODY, landmark
from fea.errors import GateError
from fea.limb import HEEL_BEHIND_ANKLE, Limb
from fea.loadcase.frame import into_device_frame
from fea.loadcase.knee import KneeDemand, cop_to_unload, knee_demand
from fea.loadcase.reaction import GroundReaction
from fea.screening import Screening
from fea.solver.largesolution import LargeSolution
from fea.solver.solution import Solution
from fea.structure.realise import plate_span
from fea.worn import Worn

BALANCE = 1e-6
"""What may be missing of the ankle moment, as a share of force times foot length: as the balance of
reactions and loads."""

NOTHING = 0.05
"""N·m, what rounds to nothing."""

Triple = tuple[float, float, float]


@dataclass(frozen=True)
class AnkleMoment:
    """Who carries the moment about the ankle axis; all N·mm, of an external dorsiflexing moment.

    Attributes:
        external: by the ground.
        by_device: what the device carries past the ankle;  by_calf: the calf's muscles;
            by_ankle: the passive ankle. The three make up the whole.
    """

    external: float
    by_device: float
    by_calf: float = 0.0
    by_ankle: float = 0.0

    @property
    def device_share(self) -> float:
        """Share that the device carries; 1 where there is nothing to carry.

        It lies within 0 to 1, but for a passive ankle that pulls the other way than the ground.

        Example:
            >>> AnkleMoment(external=40.0, by_device=30.0, by_calf=10.0).device_share
            0.75
        """
        return self.by_device / self.external if self.external else 1.0


def knee_gap(cases: Sequence["CaseResult"], clinical: Screening) -> list[NotChecked]:
    """What the device leaves to the quadriceps in the worst of some cases; never a pass.

    Whether this wearer's muscle can hold it is not for a stress analysis to say.

    Args:
        cases: instants of stance, with what they ask of the knee where that is known.
        clinical: facts about the wearer.
    """
    known = [(case.knee.demand.for_quadriceps / 1000.0, case.name) for case in cases if case.knee]
    moment, case = max(known, default=(0.0, ""))
    if moment < NOTHING:
        return []
    grade = clinical.quadriceps_grade
    muscle = "not known" if grade is None else f"entered as {grade:g} of 5"
    because = (
        f"with this device up to {moment:.1f} N·m are left to the quadriceps ('{case}'), whose "
        f"grade is {muscle}; whether it can hold that is for the prescriber: a knee that gives way "
        "is a fall"
    )
    return [NotChecked(topic="knee", zone="device", because=because)]


@dataclass(frozen=True)
class KneeResult:
    """What one instant asks of the knee.

    Attributes:
        shank_angle: rad, forward lean of the shank from vertical.
        demand: the moments about ankle and knee, external, N·mm.
        cop_to_unload: centre of pressure that would leave nothing to flex the knee, foot lengths
            ahead of the heel edge;  plate_end: where the plate ends, likewise.
    """

    shank_angle: float
    demand: KneeDemand
    cop_to_unload: float
    plate_end: float

    @property
    def beyond_plate(self) -> bool:
        """Whether the knee is left flexed, and unloading it would take a longer plate."""
        return self.demand.at_knee > 1000.0 * NOTHING and self.cop_to_unload > self.plate_end

    @property
    def statement(self) -> str:
        """One plain sentence."""
        moment = self.demand.at_knee / 1000.0
        if moment < NOTHING:
            straight = f"the knee is pressed straight with {-moment:.1f} N·m; "
            return (straight if moment < -NOTHING else "") + "nothing is left to the quadriceps"
        wanted, end = apart_texts(self.cop_to_unload, self.plate_end)
        left = (
            f"{moment:.1f} N·m are left to the quadriceps; to unload this knee the push would have "
            f"to stand at {wanted} of the foot’s length"
        )
        if self.beyond_plate:
            return (
                f"{left}, beyond the plate’s end at {end}: no device on this plate can do it, "
                "however strong"
            )
        return f"{left}; the plate ends at {end}"


@dataclass(frozen=True)
class CaseResult:
    """One solved instant.

    Attributes:
        name: of the case;  title: one sentence for people.
        percent: % of the gait cycle, or None.
        pitch: rad, foot heel-up against the floor.
        force: (3,) N on the sole;  cop: (3,) mm; device frame.
        moved_back: mm by which a plate that ends too early moved the push back; 0 mostly.
        dorsiflexing_moment: N·mm, external, about the ankle axis.
        ankle: who carries it.
        knee: what it leaves to the knee; None where the angle of the shank is not known.
        shin_force: N, by which the device presses the shank backward, straps left out; negative
            where the device's back presses it forward.
        ankle_rotation: rad, of the foot against the shank, dorsiflexion positive.
        max_deflection: mm, of the device;  deflection_place: (3,) mm, where.
        utilisation: zone to share of the allowed stress used.
    """

    name: str
    title: str
    percent: float | None
    pitch: float
    force: Triple
    cop: Triple
    moved_back: float
    dorsiflexing_moment: float
    ankle: AnkleMoment
    knee: KneeResult | None
    shin_force: float
    ankle_rotation: float
    max_deflection: float
    deflection_place: Triple
    utilisation: Mapping[str, float]


@dataclass(frozen=True)
class ZonePeak:
    """The instant at which a zone works hardest.

    Attributes:
        zone, case: names;  percent: % of the gait cycle, or None.
        utilisation: share of the allowed stress used then.
    """

    zone: str
    case: str
    percent: float | None
    utilisation: float


def case_results(
    worn: Worn,
    limb: Limb,
    reactions: Sequence[GroundReaction],
    solutions: Mapping[str, Solution],
    utilisation: Mapping[str, Mapping[str, float]],
) -> tuple[CaseResult, ...]:
    """What solved instants say.

    Args:
        worn: device and model of the limb that were solved.
        limb: gives foot and shank length.
        reactions: of the ground, one for each instant.
        solutions: by the name of the instant.
        utilisation: of each zone, by the name of the instant.

    Raises:
        GateError: what device, calf and ankle carry is not what the ground applies.
    """
    results = []
    for reaction in reactions:
        solution = solutions[reaction.name]
        deflection, place = largest_deflection(solution)
        ankle = ankle_moment(worn, reaction, solution)
        results.append(
            CaseResult(
                name=reaction.name,
                title=reaction.description,
                percent=reaction.percent,
                pitch=reaction.pitch,
                force=_triple(reaction.force),
                cop=_triple(reaction.cop),
                moved_back=reaction.moved_back,
                dorsiflexing_moment=reaction.dorsiflexing_moment,
                ankle=ankle,
                knee=_knee(worn, limb, reaction, ankle),
                shin_force=_shin_force(worn, solution),
                ankle_rotation=dorsiflexion(solution),
                max_deflection=deflection,
                deflection_place=place,
                utilisation=utilisation[reaction.name],
            )
        )
    return tuple(results)


class Worked(Protocol):
    """What a solved case says of how hard the zones work."""

    @property
    def name(self) -> str:
        """Of the case."""

    @property
    def percent(self) -> float | None:
        """% of the gait cycle."""

    @property
    def utilisation(self) -> Mapping[str, float]:
        """Zone to share of the allowed stress used."""


def peaks(cases: Sequence[Worked]) -> tuple[ZonePeak, ...]:
    """For each zone the case in which it works hardest; the hardest worked zone first."""
    highest: dict[str, ZonePeak] = {}
    for case in cases:
        for zone, share in case.utilisation.items():
            if zone not in highest or share > highest[zone].utilisation:
                highest[zone] = ZonePeak(zone, case.name, case.percent, share)
    return tuple(sorted(highest.values(), key=lambda peak: -peak.utilisation))


def ankle_moment(worn: Worn, reaction: GroundReaction, solution: Solution) -> AnkleMoment:
    """Who carries the ankle moment at one instant.

    The joint itself carries none about its axis, so what the held shank takes up came through the
    device. Where the foot turns far, the ground's moment is that of its forces where they act then.

    Raises:
        GateError: the parts do not make up the whole.
    """
    external = reaction.dorsiflexing_moment
    if isinstance(solution, LargeSolution):
        external = _moment_of_loads(worn, solution)
    carried = AnkleMoment(
        external=external,
        by_device=float(solution.reaction(SHANK_BODY)[4]),
        by_calf=worn.model.calf_moment(reaction.dorsiflexing_moment),
        by_ankle=worn.model.ankle_stiffness * dorsiflexion(solution),
    )
    heel, end = plate_span(worn.device)
    missing = external - carried.by_device - carried.by_calf - carried.by_ankle
    if not abs(missing) <= BALANCE * float(np.linalg.norm(reaction.force)) * (end - heel):
        raise GateError(
            f"'{reaction.name}': {missing / 1e3:.3g} N·m of the external ankle moment of "
            f"{external / 1e3:.3g} N·m are carried by nobody; the statics of this case is wrong"
        )
    return carried


def _moment_of_loads(worn: Worn, solution: LargeSolution) -> float:
    """External dorsiflexing moment of what acts on the device, as it lies now, N·mm."""
    nodes = solution.system.numbering.nodes
    forces = solution.forces[: 6 * nodes].reshape(-1, 6)
    arm = solution.points - np.asarray(landmark(worn.device, "ankle_axis"))
    return -float(np.sum(np.cross(arm, forces[:, :3])[:, 1] + forces[:, 4]))


def _knee(
    worn: Worn, limb: Limb, reaction: GroundReaction, ankle: AnkleMoment
) -> KneeResult | None:
    if reaction.shank_angle is None:
        return None
    axis = landmark(worn.device, "ankle_axis")
    forward, up = into_device_frame(reaction.force[0], reaction.force[2], -reaction.pitch)
    force = (float(forward), float(up))
    demand = knee_demand(
        force,
        shank_angle=reaction.shank_angle,
        shank_length=limb.shank_length,
        ankle_moment=reaction.dorsiflexing_moment,
    )
    return KneeResult(
        shank_angle=reaction.shank_angle,
        demand=replace(demand, device_share=ankle.device_share),
        cop_to_unload=cop_to_unload(
            force,
            shank_angle=reaction.shank_angle,
            shank_length=limb.shank_length,
            ankle_height=axis[2],
            foot_length=limb.foot_length,
            pitch=reaction.pitch,
        ),
        plate_end=HEEL_BEHIND_ANKLE + (plate_span(worn.device)[1] - axis[0]) / limb.foot_length,
    )


def _shin_force(worn: Worn, solution: Solution) -> float:
    """The shank pushes the device forward as hard as the device pushes the shank backward."""
    return math.fsum(
        float(solution.bed_forces(zone)[1][:, 0].sum()) for zone in worn.device.shank_zones
    )


def _triple(values: ArrayLike) -> Triple:
    x, y, z = (float(value) for value in np.asarray(values))
    return x, y, z
