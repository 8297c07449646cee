# SPDX-License-Identifier: MIT
"""`stanchion lightest`: the lightest layout of sheets and plies under which a device holds."""

from collections.abc import Callable
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
from fea.device.changefile import read_change
from fea.inputs import folder_of, read_inputs
from fea.material.library import read_library
from fea.reporting.lightening import write_lightest
from fea.shipped import AUTO_STEP
from fea.study.gradient import gradient
from fea.study.lightest import MOST, Lightest
from fea.study.lightest import lightest as find
from fea.study.parameter import Design


def lightest(
    device: DeviceName,
    /,
    *,
    mass_kg: Mass | None = None,
    height_mm: Height | None = None,
    side: Side | None = None,
    wearer: WearerName | None = None,
    cases: str = DEFAULT_CASES,
    step: str = AUTO_STEP,
    changes: Annotated[tuple[str, ...], Parameter(name="--set", negative="")] = (),
    change: str | None = None,
    stock: Path | None = None,
    one_sheet: Annotated[bool, Parameter(negative="")] = False,
    layouts: int = MOST,
    size_mm: float | None = None,
    materials: Materials | None = None,
    requirements: Path | None = None,
    out: str | None = None,
    large_rotation: bool | None = None,
    debug: Debug = False,
) -> int:
    """Find the lightest sheets and plies that exist under which a device holds.

    Each layout is judged in full, so this takes as long as many checks. The exit status is that of
    the lightest: 1 where none holds, or where it leaves something not checked.

    Example: stanchion lightest ribbed-polypropylene-child --wearer demo-child --size-mm 12

    Parameters
    ----------
    cases
        Load set that must be held: a shipped name or a file.
    step
        Load set of one step, for the service life; as for check.
    changes
        Change one number of the load set, NAME=VALUE or NAME*=FACTOR; may be repeated.
    change
        A change that is made of the device first: a shipped name or a file. Thickness or plies, and
        width, of what it bonds on are chosen as well.
    stock
        File with the thicknesses and plies that you can get, in place of the common ones.
    one_sheet
        Walls that are of one size now stay of one size, as where they are drawn from one sheet.
    layouts
        How many layouts may be judged.
    size_mm
        Cell size of a recipe; larger is quicker and less exact. Check the outcome on fine cells.
    requirements
        File with the life asked for, partial factors of your own, and whether numbers from memory
        may serve.
    out
        Folder for lightest.toml, which is a change that makes the lightest of the device's own
        file, and for the map of where to thin; out/NAME OF THE DEVICE if left out.
    large_rotation
        Solve instants that turn the ankle beyond 5 degrees, in place of 8, again with large
        rotations; with --no-large-rotation none.
    """
    given = read_inputs(
        device, wearer=wearer, cases=cases, changes=changes, step=step, materials=materials,
        requirements=requirements, out=out,
        measures={"--mass-kg": mass_kg, "--height-mm": height_mm, "--side": side},
    )
    assert given.loads is not None
    library = read_library(materials)
    first = None if change is None else read_change(change, library)
    design = Design(given.device, given.wearer, given.loads, library, first)
    with progress() as say:
        result = find(
            design, stock=stock, one_sheet=one_sheet, most=layouts, step=step, size=size_mm,
            requirements=given.requirements, large_from_deg=large_from(large_rotation), progress=say
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
