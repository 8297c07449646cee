# SPDX-License-Identifier: MIT
"""What the summary says of knee, peaks and screening."""

import math
from typing import Literal

from pydantic import Field

from fea.inputfile import Schema
from fea.screening import Flag
from fea.stance import KneeResult, ZonePeak


class KneeSummary(Schema):
    """What one instant leaves to the knee; moments external, flexing the knee positive."""

    shank_angle_deg: float = Field(description="forward lean of the shank from vertical")
    through_ankle_nm: float = Field(description="if the ground reaction passed through the ankle")
    without_device_nm: float
    with_device_nm: float = Field(description="below zero the knee is pressed straight")
    for_quadriceps_nm: float
    cop_to_unload_foot_lengths: float = Field(
        description="centre of pressure from the heel edge that would leave nothing to the knee"
    )
    plate_end_foot_lengths: float
    beyond_plate: bool = Field(description="the knee is left flexed and the plate is too short")
    statement: str


class PeakSummary(Schema):
    """The case at which a zone works hardest."""

    zone: str
    case: str
    percent_of_cycle: float | None
    strength_utilisation: float


class FlagSummary(Schema):
    """A clinical fact for the prescriber; no part of the verdict."""

    fact: str
    state: Literal["flagged", "unknown", "not flagged"]
    sentence: str
    sources: tuple[str, ...]


def knee_summary(knee: KneeResult) -> KneeSummary:
    """What one instant leaves to the knee, as the summary says it."""
    demand = knee.demand
    return KneeSummary(
        shank_angle_deg=math.degrees(knee.shank_angle),
        through_ankle_nm=demand.through_ankle / 1000.0,
        without_device_nm=demand.without_device / 1000.0,
        with_device_nm=demand.at_knee / 1000.0,
        for_quadriceps_nm=demand.for_quadriceps / 1000.0,
        cop_to_unload_foot_lengths=knee.cop_to_unload, plate_end_foot_lengths=knee.plate_end,
        beyond_plate=knee.beyond_plate, statement=knee.statement,
    )


def peak_summary(peak: ZonePeak) -> PeakSummary:
    """The case at which a zone works hardest, as the summary says it."""
    return PeakSummary(zone=peak.zone, case=peak.case, percent_of_cycle=peak.percent,
                       strength_utilisation=peak.utilisation)


def flag_summary(flag: Flag) -> FlagSummary:
    """A clinical fact, as the summary says it."""
    return FlagSummary(fact=flag.fact, state=flag.state, sentence=flag.sentence,
                       sources=flag.sources)
