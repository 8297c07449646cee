# SPDX-License-Identifier: MIT
"""`stanchion compare`: a device before and after a change, side by side."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from fea.cli import (
    DEFAULT_CASES,
    MET,
    NOT_MET,
    Debug,
    DeviceName,
    Height,
    Mass,
    Materials,
    Side,
    WearerName,
    caution,
    large_from,
    progress,
    show,
)
from fea.inputs import folder_of, read_inputs
from fea.reporting.comparetext import comparison_text
from fea.reporting.comparing import write_comparison
from fea.shipped import AUTO_STEP
from fea.study.compare import compare_devices

After = Annotated[str, Parameter(
    help="The same for the device after the change; or a file of a change, or a shipped change.")]


def compare(
    before: DeviceName,
    after: After,
    /,
    *,
    mass_kg: Mass | None = None,
    height_mm: Height | None = None,
    side: Side | None = None,
    wearer: WearerName | None = None,
    cases: str = DEFAULT_CASES,
    step: str = AUTO_STEP,
    changes: Annotated[tuple[str, ...], Parameter(name="--set", negative="")] = (),
    materials: Materials | None = None,
    requirements: Path | None = None,
    out: str | None = None,
    size_mm: float | None = None,
    quick: Annotated[bool, Parameter(negative="")] = False,
    large_rotation: bool | None = None,
    debug: Debug = False,
) -> int:
    """Judge a device before and after a change: is it better, and is it enough?

    Both are judged for one wearer under the same loads, on cells of one size, and once more on
    coarser cells, so that a change is told from the errors of the meshes. The exit status is that
    of the device after the change.

    Parameters
    ----------
    cases
        Load set that the verdicts rest on: a shipped name or a file.
    step
        Load set of one step, for the service life; as for check.
    changes
        Change one number of the load set, NAME=VALUE or NAME*=FACTOR; may be repeated.
    requirements
        File with the life asked for, partial factors of your own, and whether numbers from memory
        may serve.
    out
        Folder for compare.html, compare.json and compare.csv; out/NAME OF THE DEVICE AFTER if left
        out.
    size_mm
        Cell size of recipes; smaller tells more and takes longer.
    quick
        Leave out the coarser cells; then fewer changes can be told from errors of the meshes.
    large_rotation
        Solve instants that turn the ankle beyond 5 degrees, in place of 8, again with large
        rotations; with --no-large-rotation none.
    """
    given = read_inputs(
        before, after=after, wearer=wearer, cases=cases, changes=changes, step=step,
        materials=materials, requirements=requirements, out=out,
        measures={"--mass-kg": mass_kg, "--height-mm": height_mm, "--side": side},
    )
    assert given.loads is not None and given.after is not None
    with progress() as say:
        result = compare_devices(
            given.device, given.after, given.wearer, loads=given.loads, step=step,
            size=size_mm, coarser=not quick, requirements=given.requirements,
            large_from_deg=large_from(large_rotation), progress=say,
        )
        show(comparison_text(result))  # first: a page that fails does not cost the verdict
        say("writing the comparison")
        paths = write_comparison(result, folder_of(out, given.after))
    show(f"\n{caution()}\n\nComparison: {paths.html}")
    return MET if result.after.verdict == "met" else NOT_MET
