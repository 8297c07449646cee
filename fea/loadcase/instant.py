# SPDX-License-Identifier: MIT
"""The values of a load set: what the ground does at each instant, before any wearer or device."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Status = Literal["read", "derived", "memory-H", "memory-M", "memory-L", "practice", "assumed"]
Cop = float | Literal["heel-edge", "plate-end"]


@dataclass(frozen=True)
class Provenance:
    """Where a number comes from.

    Attributes:
        source: source key, or a citation written out.
        status: "read" in the source, "derived" from read numbers, from memory with high, medium or
            low confidence, "practice" (common practice, no source) or "assumed".
        note: how it was derived, or what it leaves out.
    """

    source: str
    status: Status
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class StanceInstant:
    """One instant of stance, in multiples of body weight and foot length.

    Forces stand in the FLOOR frame (x forward, z up, on the foot); the centre of pressure stands on
    the sole, in the DEVICE frame. The two frames differ by `pitch_deg`.

    Attributes:
        name: what happens, in words; unique in its set.
        percent: % of the gait cycle, from foot contact; None where the instant has no single time.
        fz_bw, fx_bw: vertical and forward force on the foot, body weights.
        fy_bw: medial force on the foot, body weights.
        cop: centre of pressure ahead of the heel edge, foot lengths; or "heel-edge" or
            "plate-end", half a load patch inside that end of the plate; None if the moment is
            given.
        moment_nm_per_kg: external dorsiflexing moment about the ankle axis, N·m per kg body mass;
            None if `cop` is given.
        pitch_deg: how far the foot is turned heel-up from flat, degrees.
        cop_medial_mm: centre of pressure medial of the foot's middle line, mm.
        patch_half_length: half the length of the load patch, foot lengths.
        beyond_plate: "refuse" a centre of pressure beyond the plate, or move it to "plate-end".
        provenance: name of a number above to where it comes from.
    """

    name: str
    percent: float | None
    fz_bw: float
    fx_bw: float
    fy_bw: float = 0.0
    cop: Cop | None = None
    moment_nm_per_kg: float | None = None
    pitch_deg: float = 0.0
    cop_medial_mm: float = 0.0
    patch_half_length: float = 0.06
    beyond_plate: Literal["refuse", "plate-end"] = "refuse"
    provenance: Mapping[str, Provenance] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class CyclesPerDay:
    """Strides of one leg a day, for people like the wearer."""

    child: float
    adult: float
    provenance: Mapping[str, Provenance] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class LoadSet:
    """An ordered set of instants.

    Attributes:
        name, title: short name and one line for people.
        purpose: "verdict" (an envelope, to judge strength) or "step" (one typical step, for
            charts).
        note: what the set covers and what it leaves out, for the report.
        instants: in the order of the file.
        cycles_per_day: of a "step" set; None if the file gives none.
    """

    name: str
    title: str
    purpose: Literal["verdict", "step"]
    note: str
    instants: tuple[StanceInstant, ...]
    cycles_per_day: CyclesPerDay | None = None
