# SPDX-License-Identifier: MIT
"""The charts of a sweep in files, beside the table that the sweep itself writes."""

from dataclasses import dataclass
from pathlib import Path

from fea.drawing.sweepchart import front_chart, sweep_chart
from fea.outputfile import replacing
from fea.study.sweep import Sweep


@dataclass(frozen=True)
class SweepCharts:
    """Where they lie.

    Attributes:
        values: None where the plan varies nothing.
    """

    values: Path | None
    front: Path


def write_sweep_charts(result: Sweep, out: str | Path) -> SweepCharts:
    """Write the charts.

    Args:
        result: the sweep;  out: its folder, which is there.

    Returns:
        Paths of `sweep.svg` (what was found over each varied value, if there is one) and
        `front.svg` (mass and reserve).

    Raises:
        FileError: the folder cannot be written to.
    """
    charts = SweepCharts(Path(out) / "sweep.svg" if result.varied else None,
                         Path(out) / "front.svg")  # fmt: skip
    for path, content in ((charts.values, sweep_chart), (charts.front, front_chart)):
        if path is not None:
            with replacing(path) as draft:
                draft.write_bytes(content(result))
    return charts
