# SPDX-License-Identifier: MIT
"""A device on its limb: one prepared structure for each way in which the limb may be modelled."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.device.device import Device
from fea.device.facing import FOOT_BODY
from fea.errors import LoadError
from fea.loadcase.applied import AppliedPush
from fea.loadcase.reaction import GroundReaction
from fea.solver.factor import choose_backend
from fea.solver.solution import Solution
from fea.solver.system import System, prepare
from fea.structure.likeness import other_sections
from fea.structure.limbmodel import LimbModel
from fea.structure.loads import Load, PointForce, patch_shares
from fea.structure.realise import ground_load, push_loads, realise

SIDES = {"left": 1.0, "right": -1.0}


@dataclass(frozen=True, eq=False)
class Worn:
    """A device on one model of the limb, prepared for solving.

    Attributes:
        device: as fitted;  model: of the limb;  system: the prepared structure.
    """

    device: Device
    model: LimbModel
    system: System

    @classmethod
    def on(
        cls, device: Device, model: LimbModel, solver: str = "auto", start: Sequence["Worn"] = ()
    ) -> "Worn":
        """Prepare a device on a model of the limb; raises what `realise` and `prepare` raise.

        Args:
            device: as fitted;  model: of the limb.
            solver: "auto", "superlu" or "pardiso".
            start: devices that were prepared before. Of one of the same shape on the same model
                only what walls and bars change is made anew; one that lies a little elsewhere, as
                on a thicker plate, still tells where contact may start.
        """
        structure = realise(device, model)
        before = [each.system for each in start if each.model.name == model.name]
        for system in before:
            sections = other_sections(structure, system.structure)
            if sections is not None and system.factor.name.lower() == choose_backend(solver):
                return cls(device, model, system.with_sections(sections))
        system = prepare(structure, solver)
        return cls(device, model, system.starting_from(before[0]) if before else system)

    def solve(
        self, reactions: Sequence[GroundReaction], applied: Sequence[AppliedPush] = ()
    ) -> dict[str, Solution]:
        """Solve instants of stance, and pushes on the device that the ground does not make.

        Case names say how the limb is modelled.
        """
        cases = self.instant_loads(reactions)
        cases |= {self.case_of(push): push_loads(self.device, push) for push in applied}
        return self.system.solve(cases) if cases else {}

    def instant_loads(self, reactions: Sequence[GroundReaction]) -> dict[str, Sequence[Load]]:
        """Case to the loads of instants of stance."""
        return {
            case: [ground_load(self.device, pushed), *calf_pull(self.model, pushed)]
            for reaction in reactions
            for case, pushed in pushes(self.model, reaction, self.carries).items()
        }

    def instants(
        self, reactions: Sequence[GroundReaction], applied: Sequence[AppliedPush] = ()
    ) -> dict[str, str]:
        """Case to the name of the instant, or of the push, that it stands for."""
        found = {
            case: each.name
            for each in reactions
            for case in pushes(self.model, each, self.carries)
        }
        return found | {self.case_of(push): push.name for push in applied}

    def carries(self, reaction: GroundReaction) -> bool:
        """Whether the plate is wide and long enough for a ground reaction."""
        return carries(self.device, reaction)

    def kept_aside(self, reactions: Sequence[GroundReaction]) -> dict[str, float]:
        """How far the push was moved aside, mm, at instants at which the plate is too narrow."""
        if not self.model.push_aside:
            return {}
        least = {
            each.name: min(
                push_aside(self.model, each, sign, self.carries) for sign in SIDES.values()
            )
            for each in reactions
        }
        return {name: aside for name, aside in least.items() if aside < self.model.push_aside}

    def case_of(self, push: AppliedPush) -> str:
        """The case that solves a push on the device, which is not moved to either side."""
        return f"{push.name} ({self.model.name})" if self.model.name else push.name


def carries(device: Device, reaction: GroundReaction) -> bool:
    """Whether a device's plate is wide and long enough for a ground reaction."""
    try:
        patch_shares(ground_load(device, reaction), device.mesh)
    except LoadError:
        return False
    return True


def calf_pull(model: LimbModel, reaction: GroundReaction) -> tuple[PointForce, ...]:
    """The moment of the calf's muscles on the foot, internal, plantarflexing; nothing if none.

    Example:
        >>> import numpy as np
        >>> step = GroundReaction("mid-stance", 30, np.array([0, 0, 400.0]), np.zeros(3), 20e3, 0.0,
        ...                       0.0, None, 10.0, 0.0, "mid-stance")
        >>> calf_pull(LimbModel(calf_share=0.5), step)[0].moment
        (0.0, 10000.0, 0.0)
    """
    moment = model.calf_moment(reaction.dorsiflexing_moment)
    return (PointForce(FOOT_BODY, (0.0, 0.0, 0.0), (0.0, moment, 0.0)),) if moment else ()


def pushes(
    model: LimbModel,
    reaction: GroundReaction,
    carries: Callable[[GroundReaction], bool] = lambda pushed: True,
) -> Mapping[str, GroundReaction]:
    """The ground reactions by which a model of the limb is judged at one instant.

    Args:
        model: of the limb;  reaction: of the ground.
        carries: whether the plate carries a reaction; where it is too narrow, the push moves aside
            by as many whole millimetres as it carries.

    Returns:
        Case name to reaction: the instant itself, or one for each side to which the model moves
        the push.

    Example:
        >>> import numpy as np
        >>> step = GroundReaction("mid-stance", 30, np.array([0, 0, 400.0]), np.zeros(3), 0.0, 0.0,
        ...                       0.0, None, 10.0, 0.0, "mid-stance")
        >>> list(pushes(LimbModel(), step))
        ['mid-stance']
        >>> loose = LimbModel("loose ankle", ball_joint=True, push_aside=10.0)
        >>> list(pushes(loose, step, lambda pushed: pushed.cop[1] < 7.5))
        ['mid-stance (loose ankle, push 7 mm left)', 'mid-stance (loose ankle, push 10 mm right)']
    """
    if not model.name:
        return {reaction.name: reaction}
    if not model.push_aside:
        return {f"{reaction.name} ({model.name})": reaction}
    found = {}
    for side, sign in SIDES.items():
        aside = push_aside(model, reaction, sign, carries)
        case = f"{reaction.name} ({model.name}, push {aside:g} mm {side})"
        found[case] = _moved(reaction, sign * aside)
    return found


def push_aside(
    model: LimbModel,
    reaction: GroundReaction,
    sign: float,
    carries: Callable[[GroundReaction], bool],
) -> float:
    """How far a model moves the push to one side, mm: what it asks, or what the plate carries."""
    aside = model.push_aside
    while aside > 0.0 and not carries(_moved(reaction, sign * aside)):
        aside = max(0.0, math.ceil(aside) - 1.0)
    return aside


def _moved(reaction: GroundReaction, left: float) -> GroundReaction:
    return replace(reaction, cop=reaction.cop + np.array([0.0, left, 0.0]))
