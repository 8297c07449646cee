# SPDX-License-Identifier: MIT
"""What the summary says of the touch of limb and device."""

from typing import Literal

from pydantic import Field

from fea.assessment import Assessment
from fea.inputfile import Schema
from fea.skin import Band

Vector = tuple[float, float, float]


class PressureSummary(Schema):
    """How one zone touches the limb in one case, with a rigid foot and usual flesh."""

    zone: str
    case: str
    force_n: Vector = Field(description="resultant that the zone exerts on the limb")
    contact_area_mm2: float
    mean_kpa: float = Field(description="over the area in contact")
    peak_kpa: float = Field(description="highest at a node; depends on the stiffness of flesh")
    place_mm: Vector = Field(description="of the peak")


class StrapSummary(Schema):
    """One strap in one case; the pull of putting it on is not contained."""

    strap: str
    case: str
    tension_n: float
    pressure_kpa: float = Field(description="tension / (width * radius of the limb)")


class PadSummary(Schema):
    """The hardest pad of one part of the shank in the instant that governs it."""

    part: str = Field(description="zone, bony place or strap")
    kind: Literal["wall", "bone", "strap"]
    case: str = Field(description="with the flesh of highest mean, which is judged")
    mean_kpa: Vector = Field(description="with flesh half, once and twice as stiff as usual")
    peak_kpa: Vector = Field(description="highest at a node near it, likewise; no limit")
    place_mm: Vector = Field(description="of the hardest pad in `case`")


class TouchSummary(Schema):
    """How limb and device touch."""

    zones: tuple[PressureSummary, ...]
    pads: tuple[PadSummary, ...] = Field(description="pressure on the skin of the shank, as judged")
    straps: tuple[StrapSummary, ...]


def touch_summary(result: Assessment) -> TouchSummary:
    """Every zone and strap in every case, and the hardest pad of every part."""
    return TouchSummary(
        zones=tuple(
            PressureSummary(
                zone=item.zone, case=item.case, force_n=item.force, contact_area_mm2=item.area,
                mean_kpa=1000.0 * item.mean, peak_kpa=1000.0 * item.peak, place_mm=item.place,
            )
            for item in result.pressures
        ),
        pads=tuple(map(_pad, result.skin.bands)),
        straps=tuple(
            StrapSummary(strap=item.strap, case=item.case, tension_n=item.tension,
                         pressure_kpa=1000.0 * item.pressure)
            for item in result.straps
        ),
    )  # fmt: skip


def _pad(band: Band) -> PadSummary:
    soft, usual, stiff = band.every
    return PadSummary(
        part=usual.part, kind=usual.kind, case=band.hardest.case,
        mean_kpa=(1000.0 * soft.mean, 1000.0 * usual.mean, 1000.0 * stiff.mean),
        peak_kpa=(1000.0 * soft.peak, 1000.0 * usual.peak, 1000.0 * stiff.peak),
        place_mm=band.hardest.place,
    )


def pad_rows(result: Assessment) -> list[list[object]]:
    """Every pad with its flesh as a line of the CSV: a reading, neither met nor not met."""
    rows: list[list[object]] = []
    for band in result.skin.bands:
        for pad, flesh in zip(band.every, ("half", "once", "twice"), strict=True):
            note = f"flesh {flesh} as stiff as usual; peak {1000.0 * pad.peak:.4g} kPa"
            rows.append(["reading", "today", "skin pressure", pad.part, pad.case, *pad.place,
                         1000.0 * pad.mean, "", "", "kPa", *[""] * 5, note])
    return rows
