# SPDX-License-Identifier: MIT
"""What the solved cases say zone by zone: stress, section forces, bar forces, rotation."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.device.facing import FOOT_BODY
from fea.solver.recovery import Recovered
from fea.solver.solution import Solution
from fea.structure.sections import ShellSection, StrutSection
from fea.structure.singular import left_out, singular_places
from fea.tensors import von_mises

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class ZoneReading:
    """Extremes of one shell zone in one case, outside the places where stress does not converge.

    Attributes:
        zone, case: names.
        mises_top, mises_middle, mises_bottom: largest equivalent stress, recovered at the corners
            of the cells, MPa; of a laminate in its outer plies.
        error: estimated discretisation error of the largest of them, not added to it, MPa.
        place: (3,) where the largest of them acts, mm.
        section_forces: (8,) largest magnitudes of N11 N22 N12 (N/mm), M11 M22 M12 (N·mm/mm),
            Q13 Q23 (N/mm), in material axes.
    """

    zone: str
    case: str
    mises_top: float
    mises_middle: float
    mises_bottom: float
    error: float
    place: tuple[float, float, float]
    section_forces: tuple[float, ...]


@dataclass(frozen=True)
class BarReading:
    """Extremes of one bar in one case.

    Attributes:
        zone, case: names.
        forces: (6,) largest magnitudes of N Qy Qz (N), T My Mz (N·mm).
        fibre_stress: axial stress of largest magnitude in the extreme fibres, with its sign, MPa.
        place: (3,) node where it acts, mm.
    """

    zone: str
    case: str
    forces: tuple[float, ...]
    fibre_stress: float
    place: tuple[float, float, float]


def read_shells(solutions: Mapping[str, Solution]) -> tuple[ZoneReading, ...]:
    """Extremes of every shell zone in every case of solutions that share one structure.

    Where stress does not converge there is nothing to read; a zone that is left out as a whole has
    no reading.
    """
    every = list(solutions.values())
    system = every[0].system
    zones = [
        zone
        for zone, section in system.structure.sections.items()
        if isinstance(section, ShellSection)
    ]
    if not zones:
        return ()
    recovered = system.recovery(every)
    kept = ~left_out(system.structure, singular_places(system.structure)).cells
    return tuple(
        reading
        for zone in zones
        if kept[system.structure.mesh.zone(zone)[1]].any()
        for reading in _read_shell(zone, list(solutions), recovered, kept)
    )


def read_energy_error(solutions: Mapping[str, Solution]) -> dict[str, float]:
    """Relative energy error of the shells in each case; none where there are no shells."""
    every = list(solutions.values())
    if not every or every[0].system.shells is None:
        return {}
    errors = every[0].system.recovery(every).relative_energy_error
    return dict(zip(solutions, errors.tolist(), strict=True))


def read_bars(solutions: Mapping[str, Solution]) -> tuple[BarReading, ...]:
    """Extremes of every bar in every case of solutions that share one structure."""
    every = list(solutions.values())
    return tuple(
        _read_bar(zone, section, solution)
        for zone, section in every[0].system.structure.sections.items()
        if isinstance(section, StrutSection) and section.fibre_points is not None
        for solution in every
    )


def dorsiflexion(solution: Solution) -> float:
    """Rotation of the foot against the held shank about the ankle axis, rad; dorsiflexion positive.

    The give of the tissue between limb and device is part of it.
    """
    return -float(solution.body(FOOT_BODY)[4])


def largest_deflection(solution: Solution) -> tuple[float, tuple[float, float, float]]:
    """Largest displacement of the device, mm, and where."""
    size = np.linalg.norm(solution.displacement[:, :3], axis=1)
    node = int(np.nanargmax(size))
    return float(size[node]), _point(solution.system.structure.mesh.points[node])


def _read_shell(
    zone: str, cases: Sequence[str], recovered: Recovered, kept: Mask
) -> list[ZoneReading]:
    mesh = recovered.recovery.system.structure.mesh
    numbers = mesh.zone(zone)[1]
    read = kept[numbers]
    places, numbers = mesh.points[mesh.zone_cells(zone)[read]], numbers[read]
    mises = von_mises(recovered.surface_stress(zone)[:, :, read])
    errors = recovered.stress_error(zone)[:, :, read]
    forces = np.abs(recovered.section_forces[:, numbers]).max(axis=(1, 2))
    readings = []
    for k, case in enumerate(cases):
        layer, cell, corner = np.unravel_index(np.argmax(mises[k]), mises[k].shape)
        bottom, middle, top = mises[k].max(axis=(1, 2))
        readings.append(
            ZoneReading(
                zone=zone,
                case=case,
                mises_top=float(top),
                mises_middle=float(middle),
                mises_bottom=float(bottom),
                error=float(errors[k, layer, cell, corner]),
                place=_point(places[cell, corner]),
                section_forces=tuple(float(value) for value in forces[k]),
            )
        )
    return readings


def _read_bar(zone: str, section: StrutSection, solution: Solution) -> BarReading:
    stress = solution.fibre_stress(zone)
    cell, end, _ = np.unravel_index(np.argmax(np.abs(stress)), stress.shape)
    mesh = solution.system.structure.mesh
    node = mesh.zone_cells(zone)[cell, end]
    forces = np.abs(solution.strut_forces(zone)).max(axis=(0, 1))
    return BarReading(
        zone=zone,
        case=solution.case,
        forces=tuple(float(value) for value in forces),
        fibre_stress=float(stress.ravel()[np.argmax(np.abs(stress))]),
        place=_point(mesh.points[node]),
    )


def _point(values: Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z
