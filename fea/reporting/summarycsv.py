# SPDX-License-Identifier: MIT
"""The summary as a table for programs: one line each, as CSV."""

import csv
import io

from fea.assessment import Assessment
from fea.check.verdict import HORIZONS, grouped
from fea.reporting.margin import margin_rows
from fea.reporting.refining import refinement_rows
from fea.reporting.skinsummary import pad_rows
from fea.reporting.summary import check_summary
from fea.study.margin import Margin
from fea.study.refine import Refinement

HEADERS = (
    "state", "horizon", "topic", "zone", "case", "x_mm", "y_mm", "z_mm", "demand", "error",
    "capacity", "unit", "factor", "required", "utilisation", "basis", "sources", "note",
)  # fmt: skip


def summary_csv(
    result: Assessment, refinement: Refinement | None = None, margin: Margin | None = None
) -> str:
    """Every check, each thing not checked, and what the studies found, one line each, as CSV."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(HEADERS)
    for check in map(check_summary, result.checks):
        writer.writerow([
            "met" if check.met else "not met", check.horizon, check.topic, check.zone, check.case,
            *(check.place_mm or ("", "", "")), check.demand, check.error, check.capacity,
            check.unit, check.factor, check.required, check.utilisation, check.basis,
            "; ".join(check.sources), check.note,
        ])  # fmt: skip
    for gap in grouped(result.not_checked):
        horizon = "every" if gap.horizons == HORIZONS else "; ".join(gap.horizons)
        zones = "; ".join(gap.zones)
        writer.writerow(["not checked", horizon, gap.topic, zones, *[""] * 13, gap.because])
    writer.writerows(pad_rows(result))
    if refinement:
        writer.writerows(refinement_rows(refinement))
    if margin:
        writer.writerows(margin_rows(margin))
    return stream.getvalue()
