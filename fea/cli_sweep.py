# SPDX-License-Identifier: MIT
"""`stanchion sweep`: many designs of one plan, in a table and charts."""

import os
import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from fea.cli import INTERRUPTED, MET, NOT_MET, caution, progress, show
from fea.cli_options import Debug
from fea.reporting.sweeping import write_sweep_charts
from fea.study import sweep as study
from fea.study.sweepstore import CSV, PARQUET


def sweep(
    plan: Annotated[Path, Parameter(help="File of the plan (TOML).")],
    /,
    *,
    out: str | None = None,
    workers: int | None = None,
    address: str | None = None,
    parquet: Annotated[bool, Parameter(negative="")] = False,
    debug: Debug = False,
) -> int:
    """Judge many designs of one plan: a table with one row each, and charts.

    Parameters
    ----------
    out
        Folder for table, journal and charts; out/NAME OF THE PLAN if left out.
    workers
        Processes on this machine; left out, one a processor.
    address
        Of a Dask scheduler whose workers judge the designs in place of this machine, as in
        tcp://10.0.0.5:8786. They need this program, and must reach the files that the plan names.
    parquet
        Write the table as parquet too.
    """
    folder = os.path.join("out", plan.stem) if out is None else out
    with progress() as say:
        try:
            result = study.sweep(plan, folder, workers=workers, address=address, parquet=parquet,
                                 progress=say)  # fmt: skip
        except KeyboardInterrupt:
            return _stopped(f"stopped; finished designs are kept in {folder}, and the same command "
                            "goes on from there")  # fmt: skip
        show(str(result))
        say("drawing")
        try:
            charts = write_sweep_charts(result, folder)
        except KeyboardInterrupt:
            return _stopped(f"stopped while drawing; table and journal are kept in {folder}, and "
                            "the same command draws the charts")  # fmt: skip
    if result.kept < len(result.rows):
        show(f"{result.per_minute:.1f} designs a minute.")
    tables = [Path(folder) / name for name in ((CSV, PARQUET) if parquet else (CSV,))]
    files = ", ".join(str(path) for path in (*tables, charts.values, charts.front) if path)
    show(f"\n{caution()}\n\nFiles: {files}")
    return NOT_MET if result.failed else MET


def _stopped(words: str) -> int:
    show(f"stanchion: {words}", sys.stderr)
    return INTERRUPTED
