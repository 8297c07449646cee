# SPDX-License-Identifier: MIT
"""What the summary says of extremes: stress of shells and bars, and buckling."""

import math
from typing import Literal

from pydantic import Field

from fea.check.buckling import Buckle
from fea.check.readings import BarReading, ZoneReading
from fea.inputfile import Schema

Vector = tuple[float, float, float]
Proof = Literal["proved", "unproved", "missed"]
PROOFS: dict[bool | None, Proof] = {True: "proved", None: "unproved", False: "missed"}


class ShellSummary(Schema):
    """Extremes of one shell zone in one case; equivalent stress after von Mises."""

    zone: str
    case: str
    mises_top_mpa: float
    mises_middle_mpa: float
    mises_bottom_mpa: float
    error_mpa: float = Field(description="estimated error of the largest, not added to it")
    place_mm: Vector
    section_forces: tuple[float, ...] = Field(
        description="largest magnitudes of N11 N22 N12 in N/mm, M11 M22 M12 in N, Q13 Q23 in N/mm"
    )


class BarSummary(Schema):
    """Extremes of one bar in one case."""

    zone: str
    case: str
    fibre_stress_mpa: float = Field(description="axial, tension positive")
    forces: tuple[float, ...] = Field(
        description="largest magnitudes of N Qy Qz in N, T My Mz in N·mm"
    )
    place_mm: Vector


class BucklingSummary(Schema):
    """How one case that the verdict rests on buckles."""

    case: str
    critical_factor: float | None = Field(
        description="of the case's loads, as computed, before knock-down and loss of stiffness; "
        "null where no load of this direction makes the device buckle"
    )
    proof: Proof = Field(
        description="whether a count of lower factors shows that none was missed, was not to be "
        "had, or shows that one was missed"
    )
    zone: str = Field(description="where the shape strains the device hardest")
    place_mm: Vector | None
    moves_most_mm: Vector | None
    radius_over_wall: float | None = Field(description="there; null where infinite, and of a bar")


def shell_summary(item: ZoneReading) -> ShellSummary:
    """One shell zone in one case."""
    return ShellSummary(
        zone=item.zone, case=item.case, mises_top_mpa=item.mises_top,
        mises_middle_mpa=item.mises_middle, mises_bottom_mpa=item.mises_bottom,
        error_mpa=item.error, place_mm=item.place, section_forces=item.section_forces,
    )


def bar_summary(item: BarReading) -> BarSummary:
    """One bar in one case."""
    return BarSummary(zone=item.zone, case=item.case, fibre_stress_mpa=item.fibre_stress,
                      forces=item.forces, place_mm=item.place)


def buckle_summary(item: Buckle) -> BucklingSummary:
    """One case."""
    ratio = item.slenderness
    return BucklingSummary(
        case=item.case, critical_factor=item.factor, proof=PROOFS[item.proved], zone=item.zone,
        place_mm=item.place, moves_most_mm=item.moves_most,
        radius_over_wall=ratio if ratio is not None and math.isfinite(ratio) else None,
    )
