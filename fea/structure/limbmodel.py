# SPDX-License-Identifier: MIT
"""How foot, ankle and flesh are modelled: bounds between which a real limb lies.

Nobody knows how far a wearer's toes push along, or how firmly the hindfoot guides the ankle. So the
device is judged on bounds instead of one guess, and the worse one counts.
"""

from dataclasses import dataclass, replace

from fea.errors import ModelError
from fea.limb import Limb
from fea.structure.tissue import SLIP_SHARE


@dataclass(frozen=True)
class LimbModel:
    """One way of modelling the limb in the device.

    Attributes:
        name: in words, for cases and reports; empty for the model that needs no mention.
        toes_free_from: x in mm ahead of which nothing of the foot presses on the device, as if the
            toes bent freely; None for a foot that is rigid to its tip.
        ball_joint: True where the ankle turns about all axes, so that the device alone carries
            frontal and torsional moments; False for a hinge, which takes them off the device.
        push_aside: mm by which the push is moved to either side; 0 leaves it where the load set
            puts it.
        shank_grip: stiffness along the skin of the shank over that across it; without any, nothing
            keeps a round shell from turning about the shank.
        ankle_stiffness: N·mm/rad of the passive ankle about its axis.
        calf_share: share of an external dorsiflexing moment that the calf's muscles carry, 0 to 1;
            the device carries the rest. A plantarflexing moment they leave to the device.
        tissue_share: stiffness of flesh and liner over the usual one.
    """

    name: str = ""
    toes_free_from: float | None = None
    ball_joint: bool = False
    push_aside: float = 0.0
    shank_grip: float = 0.0
    ankle_stiffness: float = 0.0
    calf_share: float = 0.0
    tissue_share: float = 1.0

    def __post_init__(self) -> None:
        if not self.tissue_share > 0.0:
            raise ModelError(f"tissue_share is {self.tissue_share}; it must be above 0")
        if not self.ankle_stiffness >= 0.0:
            raise ModelError(f"ankle_stiffness is {self.ankle_stiffness}; it must not be negative")
        if not 0.0 <= self.calf_share <= 1.0:
            raise ModelError(
                f"calf_share is {self.calf_share}; give a number from 0 (the calf does nothing) to "
                "1 (the calf carries the whole moment)"
            )

    def with_flesh(self, share: float, *words: str) -> "LimbModel":
        """The same with flesh and liner of another stiffness over the usual, and words that say so.

        Example:
            >>> LimbModel("toes free").with_flesh(0.5, "flesh half as stiff").name
            'toes free, flesh half as stiff'
        """
        return replace(self, name=", ".join(filter(None, [self.name, *words])), tissue_share=share)

    def calf_moment(self, dorsiflexing_moment: float) -> float:
        """What the calf carries of an external dorsiflexing moment, same unit.

        Example:
            >>> LimbModel(calf_share=0.25).calf_moment(40.0)
            10.0
        """
        return self.calf_share * max(dorsiflexing_moment, 0.0)


RIGID_FOOT = LimbModel()


def bounds(limb: Limb) -> tuple[LimbModel, ...]:
    """The models that a verdict rests on: a rigid foot, free toes, and a loose ankle.

    The push of 10 mm to either side is assumed.

    Example:
        >>> from fea.wearer import Wearer
        >>> child = Limb.of(Wearer(mass_kg=35, height_mm=1410, side="left"))
        >>> [model.name for model in bounds(child)]
        ['', 'toes free', 'ankle free to all sides']
    """
    return (
        RIGID_FOOT,
        LimbModel("toes free", toes_free_from=float(limb.landmarks["ball"][0])),
        LimbModel(
            "ankle free to all sides", ball_joint=True, push_aside=10.0, shank_grip=SLIP_SHARE
        ),
    )
