# SPDX-License-Identifier: MIT
"""`stanchion lightest`: the lightest layout of sheets and plies under which a device holds."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from fea.cli import MET, NOT_MET, caution, progress, show
from fea.cli_options import Asked, ChangeName, Debug, DeviceName
from fea.inputs import folder_of, read_inputs
from fea.material.library import read_library
from fea.reporting.lightening import write_lightest
from fea.study.gradient import gradient
from fea.study.lightest import MOST, Lightest
from fea.study.lightest import lightest as find
from fea.study.parameter import Design


def lightest(
    device: DeviceName,
    /,
    *,
    asked: Asked = Asked(),  # noqa: B008 (frozen)
    change: ChangeName | None = None,
    stock: Path | None = None,
    one_sheet: Annotated[bool, Parameter(negative="")] = False,
    layouts: int = MOST,
    out: str | None = None,
    debug: Debug = False,
) -> int:
    """Find the lightest sheets and plies that exist under which a device holds.

    Each layout is judged in full, so this takes as long as many checks. The exit status is that of
    the lightest: 1 where none holds, or where it leaves something not checked.

    Example: stanchion lightest ribbed-polypropylene-child --wearer demo-child --size-mm 12

    Parameters
    ----------
    change
        A change that is made of the device first: a shipped name or a file. Thickness or plies, and
        width, of what it bonds on are chosen as well.
    stock
        File with the thicknesses and plies that you can get, in place of the common ones.
    one_sheet
        Walls that are of one size now stay of one size, as where they are drawn from one sheet.
    layouts
        How many layouts may be judged.
    out
        Folder for lightest.toml, which is a change that makes the lightest of the device's own
        file, and for the map of where to thin; out/NAME OF THE DEVICE if left out.
    """
    given = read_inputs(device, change=change, out=out, **asked.inputs)
    assert given.loads is not None
    library = read_library(asked.materials)
    design = Design(given.device, given.wearer, given.loads, library, given.change)
    with progress() as say:
        result = find(
            design, stock=stock, one_sheet=one_sheet, most=layouts, progress=say,
            **asked.how(given.requirements),
        )  # fmt: skip
        show(str(result))  # first: a picture that fails does not cost the answer
        files = _drawn(result, folder_of(out, given.device), say)
    show(f"\n{caution()}\n\nFiles: {files or 'none'}")
    return MET if result.after is not None and result.after.verdict == "met" else NOT_MET


def _drawn(result: Lightest, folder: str, say: Callable[[str], None]) -> str:
    """Show what the checks hang on, and write the files; their paths."""
    found = gradient(result.after or result.before, progress=say)
    show(f"\n{found}")
    say("drawing where to thin")
    paths = write_lightest(result, found, folder)
    show(f"\n{paths.caption}")
    return ", ".join(str(path) for path in (paths.change, paths.map) if path is not None)
