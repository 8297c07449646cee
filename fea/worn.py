# SPDX-License-Identifier: MIT
"""A device on its limb: one prepared structure for each way in which the limb may be modelled."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.device.device import Device
from fea.loadcase.applied import AppliedPush
from fea.loadcase.reaction import GroundReaction
from fea.solver.solution import Solution
from fea.solver.system import System, prepare
from fea.structure.limbmodel import LimbModel
from fea.structure.loads import Load, PointForce
from fea.structure.realise import FOOT_BODY, ground_load, push_loads, realise


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
    def on(cls, device: Device, model: LimbModel, solver: str = "auto") -> "Worn":
        """Prepare a device on a model of the limb; raises what `realise` and `prepare` raise."""
        return cls(device, model, prepare(realise(device, model), solver))

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
            for case, pushed in pushes(self.model, reaction).items()
        }

    def instants(
        self, reactions: Sequence[GroundReaction], applied: Sequence[AppliedPush] = ()
    ) -> dict[str, str]:
        """Case to the name of the instant, or of the push, that it stands for."""
        found = {case: each.name for each in reactions for case in pushes(self.model, each)}
        return found | {self.case_of(push): push.name for push in applied}

    def case_of(self, push: AppliedPush) -> str:
        """The case that solves a push on the device, which is not moved to either side."""
        return f"{push.name} ({self.model.name})" if self.model.name else push.name


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


def pushes(model: LimbModel, reaction: GroundReaction) -> Mapping[str, GroundReaction]:
    """The ground reactions by which a model of the limb is judged at one instant.

    Returns:
        Case name to reaction: the instant itself, or one for each side to which the model moves
        the push.

    Example:
        >>> import numpy as np
        >>> step = GroundReaction("mid-stance", 30, np.array([0, 0, 400.0]), np.zeros(3), 0.0, 0.0,
        ...                       0.0, None, 10.0, 0.0, "mid-stance")
        >>> list(pushes(LimbModel(), step))
        ['mid-stance']
        >>> list(pushes(LimbModel("loose ankle", ball_joint=True, push_aside=10.0), step))
        ['mid-stance (loose ankle, push 10 mm left)', 'mid-stance (loose ankle, push 10 mm right)']
    """
    if not model.name:
        return {reaction.name: reaction}
    if not model.push_aside:
        return {f"{reaction.name} ({model.name})": reaction}
    return {
        f"{reaction.name} ({model.name}, push {model.push_aside:g} mm {side})": replace(
            reaction, cop=reaction.cop + np.array([0.0, sign * model.push_aside, 0.0])
        )
        for side, sign in (("left", 1.0), ("right", -1.0))
    }
