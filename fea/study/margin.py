# SPDX-License-Identifier: MIT
"""How near a device is to its limit under one load set: largest body mass, and what moves it."""

from collections.abc import Callable
from dataclasses import dataclass

from fea.assessment import Assessment
from fea.study.mass import LargestMass, largest_mass
from fea.study.sensitivity import Sensitivity, sensitivity


@dataclass(frozen=True)
class Margin:
    """The largest body mass under a load set, and how the governing factor answers to its loads."""

    largest: LargestMass
    sensitivity: Sensitivity

    def __str__(self) -> str:
        return f"{self.largest}\n\n{self.sensitivity}"


def margin(
    result: Assessment,
    *,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Margin:
    """`largest_mass` and `sensitivity` of an assessment; arguments and errors are theirs."""
    return Margin(
        largest_mass(result, solver=solver, progress=progress),
        sensitivity(result, solver=solver, progress=progress),
    )
