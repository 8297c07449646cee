# SPDX-License-Identifier: MIT
"""`stanchion compare`: a device before and after a change, side by side."""

from typing import Annotated

from cyclopts import Parameter

from fea.cli import MET, NOT_MET, caution, progress, show
from fea.cli_options import Asked, Debug, DeviceName
from fea.inputs import folder_of, read_inputs
from fea.reporting.comparetext import comparison_text
from fea.reporting.comparing import write_comparison
from fea.study.compare import compare_devices

After = Annotated[str, Parameter(
    help="The same for the device after the change; or a file of a change, or a shipped change.")]


def compare(
    before: DeviceName,
    after: After,
    /,
    *,
    asked: Asked = Asked(),  # noqa: B008 (frozen)
    out: str | None = None,
    quick: Annotated[bool, Parameter(negative="")] = False,
    debug: Debug = False,
) -> int:
    """Judge a device before and after a change: is it better, and is it enough?

    Both are judged for one wearer under the same loads, on cells of one size, and once more on
    coarser cells, so that a change is told from the errors of the meshes. The exit status is that
    of the device after the change.

    Parameters
    ----------
    out
        Folder for compare.html, compare.json and compare.csv; out/NAME OF THE DEVICE AFTER if left
        out.
    quick
        Leave out the coarser cells; then fewer changes can be told from errors of the meshes.
    """
    given = read_inputs(before, after=after, out=out, **asked.inputs)
    assert given.loads is not None and given.after is not None
    with progress() as say:
        result = compare_devices(
            given.device, given.after, given.wearer, loads=given.loads, coarser=not quick,
            progress=say, **asked.how(given.requirements),
        )
        show(comparison_text(result))  # first: a page that fails does not cost the verdict
        say("writing the comparison")
        paths = write_comparison(result, folder_of(out, given.after))
    show(f"\n{caution()}\n\nComparison: {paths.html}")
    return MET if result.after.verdict == "met" else NOT_MET
