# SPDX-License-Identifier: MIT
"""What a device weighs, gives and presses, as one line of numbers to be set beside another's."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.device.device import Device
from fea.mesh.mesh import triangle_geometry
from fea.study.comparedchecks import SAME, UNKNOWN_SHARE, Coarser, unresolved

MASS = "mass"
LEAST_MASS = 1e-4
"""kg that nobody tells on the scales of a workshop; judgement."""
JUDGED = (MASS, "rotation", "soft_rotation", "stiffness", "shin_force", "pressure", "deflection")
"""Numbers of `Numbers` that depend on the mesh and come without an estimate of its error."""


@dataclass(frozen=True)
class Numbers:
    """What one device weighs and does.

    Attributes:
        mass: kg, without liner, straps and shoe.
        cell_size: mm, edge of an equilateral triangle of the mean area of the cells.
        area: mm², of all walls.
        rotation: rad, largest of the ankle, as new and cool, with usual flesh.
        soft_rotation: rad, warm and on soft flesh; None where it could not be solved.
        stiffness: N·mm/rad, external moment about the ankle that the device carries, over the
            rotation, flesh included, in the case asked for; None without one.
        shin_force: N, largest by the device on the shank.
        pressure: MPa, of the hardest pressed pad, over the band of flesh; None without.
        deflection: mm, largest of any case.
        pressed: the part that presses hardest; empty without.
        life: months that nearly every piece of the shortest-lived part lasts; None where only a
            class of life is known;  life_state, life_zone: of it, in words; empty without a life.
    """

    mass: float
    cell_size: float
    rotation: float
    soft_rotation: float | None
    stiffness: float | None
    shin_force: float
    pressure: float | None
    deflection: float
    pressed: str = ""
    life: float | None = None
    life_state: str = ""
    life_zone: str = ""
    area: float = 0.0

    @classmethod
    def of(cls, result: Assessment, case: str) -> "Numbers":
        """Of an assessment; the stiffness is read in the instant of stance named ``case``."""
        pads = [band.hardest for band in result.skin.bands]
        pad = max(pads, key=lambda each: each.mean, default=None)
        row = result.life[0] if result.life else None
        turning = result.turning
        return cls(
            mass=result.device_mass_kg,
            cell_size=cell_size(result.device),
            rotation=abs(turning.usual),
            soft_rotation=None if turning.soft is None else abs(turning.soft),
            stiffness=_stiffness(result, case),
            shin_force=max((each.shin_force for each in result.cases), default=0.0),
            pressure=None if pad is None else pad.mean,
            deflection=max((each.max_deflection for each in result.every_case), default=0.0),
            pressed="" if pad is None else pad.part,
            life=None if row is None else row.months,
            life_state="" if row is None else row.state,
            life_zone="" if row is None else row.zone,
            area=float(_areas(result.device).sum()),
        )


@dataclass(frozen=True)
class NumberChange:
    """One number of both devices; None where one of them has it not.

    Attributes:
        name: attribute of `Numbers`;  before, after: in its unit.
        unresolved: up to which change nothing can be told; None where there is no change, and of
            a mass where only one pair of meshes of unlike surfaces was weighed.
    """

    name: str
    before: float | None
    after: float | None
    unresolved: float | None

    @property
    def told(self) -> bool | None:
        """Whether the model can tell the change; None where nobody knows."""
        if self.before is None or self.after is None or self.unresolved is None:
            return None
        return abs(self.after - self.before) > self.unresolved


def number_changes(
    numbers: tuple[Numbers, Numbers], coarse: tuple[Numbers, Numbers] | None = None
) -> tuple[NumberChange, ...]:
    """The numbers that depend on the mesh, of both devices.

    Args:
        numbers: before and after;  coarse: the same on coarser cells, if known.
    """
    return tuple(_changes(numbers, coarse))


def _changes(
    numbers: tuple[Numbers, Numbers], coarse: tuple[Numbers, Numbers] | None
) -> Iterator[NumberChange]:
    for name in (item.name for item in fields(Numbers) if item.name in JUDGED):
        one, other = (getattr(each, name) for each in numbers)
        if one is None or other is None:
            yield NumberChange(name, one, other, None)
            continue
        again = None
        if coarse is not None:
            first, second = (getattr(each, name) for each in coarse)
            ratio = sum(n.cell_size for n in coarse) / sum(n.cell_size for n in numbers)
            again = None if None in (first, second) else Coarser(first, second, ratio)
        if name == MASS:
            yield NumberChange(name, one, other, _unresolved_mass(numbers, again))
            continue
        errors = UNKNOWN_SHARE * (abs(one) + abs(other))
        yield NumberChange(name, one, other, unresolved(one, other, errors, again, estimated=False))


def _unresolved_mass(numbers: tuple[Numbers, Numbers], again: Coarser | None) -> float | None:
    """Up to which change of mass nothing can be told, kg; of one surface walls weigh exactly."""
    one, other = numbers
    if again is not None:
        return max(unresolved(one.mass, other.mass, 0.0, again, estimated=False), LEAST_MASS)
    alike = math.isclose(one.area, other.area, rel_tol=SAME)
    return LEAST_MASS if alike else None


def cell_size(device: Device) -> float:
    """Edge of an equilateral triangle that has the mean area of the cells, mm."""
    return math.sqrt(4.0 / math.sqrt(3.0) * float(_areas(device).mean()))


def _areas(device: Device) -> NDArray[np.float64]:
    """Area of each cell of the walls (c,), mm²."""
    return triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])[0]


def _stiffness(result: Assessment, case: str) -> float | None:
    found = next((each for each in result.cases if each.name == case), None)
    if found is None or not found.ankle_rotation:
        return None
    return found.ankle.by_device / found.ankle_rotation
