# SPDX-License-Identifier: MIT
"""What an assessment is made from, read once."""

from dataclasses import dataclass, replace
from pathlib import Path

from fea.check.purpose import is_of_a_day
from fea.check.requirements import Requirements, read_requirements
from fea.device.device import Device
from fea.judging import Acting
from fea.limb import Limb
from fea.loadcase.instant import LoadSet
from fea.loadcase.reaction import require_suiting
from fea.loadcase.reader import read_load_set
from fea.loadcase.timeline import serves_as_step, through_stance, wants_step
from fea.shipped import AUTO_STEP, TYPICAL_STEP
from fea.structure.limbmodel import LimbModel
from fea.wearer import Wearer


@dataclass(frozen=True)
class Given:
    """What an assessment is made from, beside the device.

    Attributes:
        wearer: who wears it.
        load_set: of a day;  fall_set: of a first fall, None without;  step_set: of a step through
            stance, None without.
        step_limb: how the limb is modelled in the step.
        requirements: life asked for, partial factors, use of numbers from memory.
    """

    wearer: Wearer
    load_set: LoadSet
    fall_set: LoadSet | None
    step_set: LoadSet | None
    step_limb: LimbModel
    requirements: Requirements

    @classmethod
    def read(
        cls,
        wearer: Wearer,
        loads: str | Path | LoadSet,
        fall: str | Path | None,
        step: str | Path | None,
        step_limb: LimbModel,
        requirements: Requirements | None,
    ) -> "Given":
        """Read what is named, see `fea.assess`; raises what reading a file raises.

        Loads of another leg than the wearer's are refused before the work.
        """
        day = loads if isinstance(loads, LoadSet) else read_load_set(loads)
        stepped = _step_set(day, step)
        for each in filter(None, (day, stepped)):
            require_suiting(each, wearer)
        return cls(
            wearer,
            day,
            None if fall is None or not is_of_a_day(day.purpose) else read_load_set(fall),
            stepped,
            replace(step_limb, name="", push_aside=0.0),
            requirements or read_requirements(adult=wearer.is_adult),
        )

    def acting(self, limb: Limb, device: Device) -> tuple[Acting, Acting | None]:
        """The loads of a day and of a first fall on this device."""

        def on(load_set: LoadSet) -> Acting:
            return Acting.on(load_set, wearer=self.wearer, limb=limb, device=device)

        return on(self.load_set), None if self.fall_set is None else on(self.fall_set)


def _step_set(load_set: LoadSet, step: str | Path | None) -> LoadSet | None:
    """The step that was asked for, or the one that suits the loads."""
    if step == AUTO_STEP:
        if serves_as_step(load_set):
            return through_stance(load_set)
        step = TYPICAL_STEP if wants_step(load_set) else None
    return None if step is None else through_stance(read_load_set(step))
