# SPDX-License-Identifier: MIT
"""A refinement study for people and programs: table, chart, summary, lines of the CSV."""

import numpy as np
from pydantic import Field

from fea.check.wording import percent_text, quantity_text
from fea.drawing.charts import Series, convergence_chart
from fea.inputfile import Schema
from fea.reporting.evidence import Part
from fea.reporting.sketch import MOST_LINES, Figure
from fea.reporting.table import table
from fea.reporting.words import plain
from fea.study.refine import CLOSE, Refined, Refinement
from fea.tables import text_table

STUDY_SOURCES = ("celik-2008", "roache-1998")
"""Source keys of the method."""

PEAK_NOTE = (
    "Peaks are values as computed, without the error that the demands of the checks contain."
)

Vector = tuple[float, float, float]


class LevelSummary(Schema):
    """One mesh of a refinement study."""

    cell_size_mm: float = Field(description="edge of an equilateral triangle of the mean area")
    cells: int
    unknowns: int


class PeakSummary(Schema):
    """One check over all meshes; lists have a value for each mesh, the judged one first."""

    topic: str
    zone: str
    case: str = Field(description="load case that governs on the judged mesh")
    unit: str
    values: tuple[float, ...] = Field(description="computed values, without error estimate")
    places_mm: tuple[Vector | None, ...]
    manner: str = Field(description="settling, swinging, growing, unchanged or unknown")
    observed_order: float | None
    order_used: float | None
    extrapolated: float | None = Field(
        description="value at cell size zero; null if it swings, grows or moved"
    )
    safety_factor: float | None
    grid_convergence_index: float | None = Field(
        description="half width of the band round the finest value, as a share of it"
    )
    deviation: float = Field(description="of the judged mesh, as a share of the extrapolated value")
    close: bool = Field(description="whether the deviation is small enough")
    extrapolated_utilisation: float


class RefinementSummary(Schema):
    """What finer meshes say of the checks."""

    close_share: float = Field(description="deviation up to which a peak counts as close")
    levels: tuple[LevelSummary, ...]
    peaks: tuple[PeakSummary, ...]


def summarise_refinement(study: Refinement) -> RefinementSummary:
    """The study for programs."""
    return RefinementSummary(
        close_share=CLOSE,
        levels=tuple(
            LevelSummary(cell_size_mm=one.size, cells=one.cells, unknowns=one.unknowns)
            for one in study.levels
        ),
        peaks=tuple(_peak(one) for one in study.peaks),
    )


def refinement_rows(study: Refinement) -> list[list[object]]:
    """Lines of the CSV in the columns of the checks; the demand is the extrapolated value."""
    rows: list[list[object]] = []
    for peak in study.peaks:
        check, found = peak.check, peak.convergence
        value = found.spread[1] if found.extrapolated is None else found.extrapolated
        words = ", ".join(f"{v:.6g} at {h:.3g} mm"
                          for h, v in zip(found.sizes, found.values, strict=True))
        note = f"{words}; {found.manner}; order {_order(peak)}; band {_band(peak)}"
        if not peak.ends:
            note += f"; {peak.range_words}"
        rows.append([
            "refinement", check.horizon, check.topic, check.zone, check.case,
            *(check.place or ("", "", "")), value, "", check.capacity, check.unit,
            check.capacity / value if value else None,
            check.required, peak.utilisation, "value at cell size zero, or the highest where it "
            "swings, grows or moved", "; ".join(STUDY_SOURCES), note])
    return rows


def refinement_text(study: Refinement) -> str:
    """The study as a plain table with a sentence, for the command line."""
    meshes = "\n".join(
        f"  {level.size:.1f} mm: {level.cells} cells, {level.unknowns} unknowns"
        f"{', judged' if number == 0 else ''}" for number, level in enumerate(study.levels))
    headers, rows = _table(study)
    plain_rows = [["-" if cell is None else cell for cell in row] for row in rows]
    names = [name.removeprefix(">") for name in headers]
    return (f"Refinement study, by cell size:\n{meshes}\n\n{text_table(names, plain_rows)}\n\n"
            f"{PEAK_NOTE}\n\n" + "\n".join([*_endless(study), study.sentence]))


def refinement_part(study: Refinement) -> Part:
    """The section of the page."""
    headers, rows = _table(study)
    meshes = [(f"{level.size:.1f} mm", level.cells, level.unknowns) for level in study.levels]
    return Part(
        "Refinement study",
        lines=(
            study.sentence,
            "The coarsest mesh is the one that is judged. A peak is the largest value over a zone "
            "in the case that governs, as computed, without the error that the checks add. What "
            "the judged mesh leaves out, since stress does not converge there, is left out of all: "
            "the same part of the device is compared.",
            "Extrapolated: the value that the meshes "
            "lead to at cell size zero. Band: the grid convergence index, half the width of a band "
            "round the finest value. Where the order cannot be seen or is above 2, 1 or 2 is "
            "used, and the band is made 2.4 times wider. A peak that moves to another place, a "
            "value that swings from mesh to mesh and one whose steps hardly become smaller (order "
            "below 0.5) lead to no value and have no band; the highest value counts.",
            *_endless(study)),
        figures=("refinement",),
        tables=(
            table("The meshes.", ["cell size", ">cells", ">unknowns"], meshes),
            table("Each check over all meshes, hardest first. Off: distance of the judged mesh’s "
                  "value from the extrapolated one.", headers, rows,
                  strong=[k for k, peak in enumerate(study.peaks) if not peak.close]),
        ),
    )


def refinement_figure(study: Refinement) -> Figure | None:
    """Stress peaks over cell size, the hardest worked zones; None where no stress was compared."""
    peaks: dict[str, Refined] = {}
    for peak in study.peaks:
        if peak.check.unit == "MPa":
            peaks.setdefault(peak.check.zone, peak)
    shown = list(peaks.values())[:MOST_LINES]
    if not shown:
        return None
    series = [Series(plain(peak.check.zone), np.array(peak.convergence.sizes[::-1]),
                     np.array(peak.convergence.values[::-1])) for peak in shown]
    chart = convergence_chart(
        series, [peak.convergence.extrapolated for peak in shown],
        x_label="cell size, mm", y_label="peak stress, MPa")
    more = f" Shown are {len(shown)} of {len(peaks)} zones." if len(peaks) > len(shown) else ""
    text = ("Peak stress of each zone over the size of the cells, the judged mesh at the right. "
            "Filled marks at cell size 0 are extrapolated; a zone without one swings, grows or "
            f"moves from mesh to mesh. {study.sentence}{more}")
    return Figure("refinement", chart, "image/svg+xml", f"Line chart. {text}", text)


def _endless(study: Refinement) -> list[str]:
    """What moved or grew, a line each; counted as not checked."""
    return [f"{_name(peak)}: {peak.range_words}. It counts as not checked."
            for peak in study.peaks if not peak.ends]


def _table(study: Refinement) -> tuple[list[str], list[list[object]]]:
    headers = ["check", "unit", *(f">{level.size:.1f} mm" for level in study.levels),
               ">order", ">extrapolated", ">band", ">off", f"within {percent_text(CLOSE)}"]
    return headers, [_row(peak) for peak in study.peaks]


def _row(peak: Refined) -> list[object]:
    check, found = peak.check, peak.convergence
    extrapolated = None if found.extrapolated is None else quantity_text(found.extrapolated)
    return [_name(peak), check.unit, *map(quantity_text, found.values),
            _order(peak), extrapolated, _band(peak), percent_text(peak.deviation),
            "yes" if peak.close else "NO"]


def _name(peak: Refined) -> str:
    zone = peak.check.zone
    return f"{plain(peak.check.topic)}{f', {plain(zone)}' if zone not in ('', 'device') else ''}"


def _order(peak: Refined) -> str:
    """The observed order, and the one used if it is another."""
    found = peak.convergence
    if peak.moved:
        return "moved"
    if found.order_used is None:
        return found.manner
    if found.order is None:
        return f"{found.order_used:.1f} taken"
    shown = f"{found.order:.1f}"
    return shown if found.order == found.order_used else f"{shown}, {found.order_used:.1f} taken"


def _band(peak: Refined) -> str:
    gci = peak.convergence.gci
    return "–" if gci is None else f"± {percent_text(gci)}"


def _peak(peak: Refined) -> PeakSummary:
    check, found = peak.check, peak.convergence
    return PeakSummary(
        topic=check.topic, zone=check.zone, case=check.case, unit=check.unit, values=found.values,
        places_mm=peak.places, manner=found.manner, observed_order=found.order,
        order_used=found.order_used, extrapolated=found.extrapolated,
        safety_factor=found.safety_factor, grid_convergence_index=found.gci,
        deviation=peak.deviation, close=peak.close, extrapolated_utilisation=peak.utilisation,
    )
