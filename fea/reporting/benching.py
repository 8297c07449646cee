# SPDX-License-Identifier: MIT
"""A stiffness bench in files: JSON, CSV and the chart of its curves."""

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from pydantic import Field

from fea.check.stiffness import ROTATION_FLAG_DEG
from fea.drawing.benchchart import bench_chart
from fea.inputfile import Schema
from fea.outputfile import write_together
from fea.reporting.words import CAUTIONS
from fea.sources import cite
from fea.study.bench import Bench
from fea.study.benchcurve import N_M_PER_DEG, Curve

SCHEMA_VERSION = 1


class CurveSummary(Schema):
    """One direction."""

    direction: str = Field(description="of the foot against the shank")
    stiffness_nm_per_deg: float | None = Field(description="linear fit; null where not judged")
    moments_nm: tuple[float, ...] = Field(description="on the dummy shank about the axis")
    angles_deg: tuple[float, ...]
    flagged: tuple[bool, ...] = Field(description=f"beyond {ROTATION_FLAG_DEG:g}°")
    linear_angles_deg: tuple[float, ...] | None = Field(
        description="where a linear solve would put the points of a curve that was solved with "
        "large rotations; null where the curve is linear itself"
    )
    wanted_nm: float = Field(description="highest moment of the rig")
    not_judged_because: str = Field(description="why the curve ends before that; or empty")


class ClassSummary(Schema):
    """A published class, as context; no validation."""

    name: str
    quantity: str
    low_nm_per_deg: float
    high_nm_per_deg: float
    found_nm_per_deg: float | None
    beside: str
    source: str
    status: str
    note: str


class BenchSummary(Schema):
    """What bench.json holds."""

    schema_version: int
    device: str
    side: str
    rig: str
    rig_title: str
    rig_about: str
    rig_source: str
    rig_status: str
    curves: tuple[CurveSummary, ...]
    published: tuple[ClassSummary, ...]
    provenance: dict[str, object]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class BenchPaths:
    """Where the files of a bench lie."""

    json: Path
    csv: Path
    chart: Path


def write_bench(result: Bench, out: str | Path) -> BenchPaths:
    """Write bench.json, bench.csv and bench.png.

    Args:
        result: of `fea.bench`.
        out: folder, made if missing; a former bench in it is replaced, other files stay.

    Raises:
        FileError: the folder or a file cannot be written; all files are written whole, or none.
    """
    contents: dict[str, str | bytes] = {
        "json": summarise(result).model_dump_json(indent=1) + "\n",
        "csv": bench_csv(result),
        "png": bench_chart(result),
    }
    return BenchPaths(*write_together(out, "bench", contents))


def summarise(result: Bench) -> BenchSummary:
    """The content of bench.json."""
    rig = result.rig
    return BenchSummary(
        schema_version=SCHEMA_VERSION,
        device=result.device.name,
        side=result.device.side,
        rig=rig.name,
        rig_title=rig.title,
        rig_about=rig.about,
        rig_source=cite(rig.source),
        rig_status=rig.status,
        curves=tuple(_curve(curve) for curve in result.curves.values()),
        published=tuple(
            ClassSummary(
                name=each.name,
                quantity=each.quantity,
                low_nm_per_deg=each.low,
                high_nm_per_deg=each.high,
                found_nm_per_deg=_per_degree(result.stiffness(each.quantity)),
                beside=result.beside(each),
                source=cite(each.source),
                status=each.status,
                note=each.note,
            )
            for each in rig.published
        ),
        provenance=dict(result.provenance),
        cautions=CAUTIONS[:3],
    )


def bench_csv(result: Bench) -> str:
    """One line for each solved point."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(("direction", "moment_nm", "angle_deg", "flagged", "stiffness_nm_per_deg",
                     "linear_angle_deg"))  # fmt: skip
    for curve in result.curves.values():
        linear = _linear(curve) or [None] * len(curve.angle)
        for moment, angle, flag, other in zip(
            curve.moment, curve.angle, curve.flagged, linear, strict=True
        ):
            writer.writerow(
                (curve.direction, f"{moment / 1e3:.6g}", f"{math.degrees(angle):.6g}",
                 "yes" if flag else "no", f"{_per_degree(curve.stiffness):.6g}",
                 "" if other is None else f"{other:.6g}")
            )  # fmt: skip
        if curve.because:
            writer.writerow((curve.direction, "", "", curve.because, "", ""))
    return stream.getvalue()


def _curve(curve: Curve) -> CurveSummary:
    return CurveSummary(
        direction=curve.direction,
        stiffness_nm_per_deg=_per_degree(curve.stiffness),
        moments_nm=tuple((curve.moment / 1e3).tolist()),
        angles_deg=tuple(math.degrees(angle) for angle in curve.angle),
        flagged=tuple(curve.flagged.tolist()),
        linear_angles_deg=_linear(curve),
        wanted_nm=curve.wanted / 1e3,
        not_judged_because=curve.because,
    )


def _linear(curve: Curve) -> tuple[float, ...] | None:
    return None if curve.linear is None else tuple(np.degrees(curve.linear).tolist())


def _per_degree(stiffness: float | None) -> float | None:
    return None if stiffness is None else stiffness / N_M_PER_DEG
