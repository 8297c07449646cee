# SPDX-License-Identifier: MIT
"""The command line: reads what was asked, calls the library, says what came out.

Exit status: 0 all requirements met; 1 some not met or not checked; 2 the input cannot be used.
"""

import contextlib
import logging
import os
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TextIO

from cyclopts import App, CycloptsError, Parameter
from rich.console import Console

from fea.cli_options import Asked, ChangeName, Debug, DeviceName, Who, large_from
from fea.errors import InputError, StanchionError

if TYPE_CHECKING:
    from fea.assessment import Assessment
    from fea.device.change import Readable
    from fea.inputs import Inputs
    from fea.study.bench import Bench
    from fea.study.margin import Margin
    from fea.study.refine import Refinement

MET, NOT_MET, UNUSABLE = 0, 1, 2
INTERRUPTED = 130

app = App(
    name="stanchion",
    help="Judge a floor-reaction orthosis: will it hold, how far does it give, and why.",
    version=lambda: version("stanchion"),
    suppress_keyboard_interrupt=False,
    help_format="plaintext",
    help_formatter="plain",
    help_epilogue="Exit status: 0 all requirements met; 1 some not met or not checked; 2 the input "
    "cannot be used, and the message says what to change.",
)


@app.command
def check(
    device: DeviceName,
    /,
    *,
    asked: Asked = Asked(),  # noqa: B008 (frozen)
    change: ChangeName | None = None,
    out: str | None = None,
    refine: Annotated[bool, Parameter(negative="")] = False,
    max_mass: Annotated[bool, Parameter(negative="")] = False,
    debug: Debug = False,
) -> int:
    """Judge a device for a wearer and write the report.

    Give the wearer either as mass, height and side, or as --wearer.

    Example: stanchion check ribbed-polypropylene-child --mass-kg 35 --height-mm 1410 --side left

    Parameters
    ----------
    out
        Folder for the report; out/NAME OF THE DEVICE if left out.
    refine
        Repeat the check on finer meshes and report how far each number still moves; slow.
    max_mass
        Find the largest body mass at which every check is met, and what the loads do to the worst.
    """
    given = _read_inputs(device, change=change, out=out, **asked.inputs)
    with progress() as say:
        study = _refine(given, asked, say) if refine else None
        result = study.assessment if study else _assess(given, asked, say)
        show(str(result))  # first: neither a search nor a report that fails costs the verdict
        if study:
            show(f"\n{_study_text(study)}")
        margin, failure = _margin(result, say) if max_mass else (None, None)
        say("writing the report")
        path = _report(result, _folder(out, given.judged), study, margin, say)
        if failure:
            raise failure
    show(f"\n{caution()}\n\nReport: {path}")
    return MET if result.verdict == "met" else NOT_MET


@app.command
def bench(
    device: DeviceName,
    /,
    *,
    who: Who = Who(),  # noqa: B008 (frozen)
    rig: str | None = None,
    change: ChangeName | None = None,
    out: str | None = None,
    large_rotation: bool | None = None,
    debug: Debug = False,
) -> int:
    """Repeat a laboratory's stiffness bench: moment over angle about three axes.

    The foot plate is clamped and a dummy shank turned about the ankle. A curve that a linear
    solve takes beyond 8 degrees is solved with large rotations; where it ends before the highest
    moment of the rig, because no equilibrium is found, the exit status is 1.

    Example: stanchion bench ribbed-polypropylene-child --wearer demo-child --out out/bench

    Parameters
    ----------
    rig
        How the device is held; left out, the rig on which devices of its material were measured.
        See: stanchion list.
    out
        Folder for the table, the curves and their chart; without it, nothing is written.
    large_rotation
        Solve with large rotations from 5 degrees on; with --no-large-rotation never, so that
        curves end at 8 degrees.
    """
    given = _read_inputs(device, change=change, rig=rig, out=out, **who.inputs)
    with progress() as say:
        result = _bench(given, rig, say, large_rotation)
        show(str(result))
        if out is not None:
            say("writing the files")
            show(f"\nFiles: {_write_bench(result, out)}")
    show(f"\n{caution()}")
    return MET if result.fully_judged else NOT_MET


app.command("fea.cli_compare:compare", name="compare",
            help="Judge a device before and after a change: is it better, and is it enough?\n\n"
            "Example: stanchion compare bare-two-upright-polypropylene-child "
            "ribbed-polypropylene-child --wearer demo-child")
app.command("fea.cli_sweep:sweep", name="sweep",
            help="Judge many designs of one plan: a table with one row each, and charts.\n\n"
            "A sweep that was stopped, or killed, goes on where it was when the command is "
            "repeated. The exit status is 1 where some designs could not be judged: their rows say "
            "why. Whether a design holds stands in its row.\n\n"
            "Example: stanchion sweep walls.toml --out out/walls")
app.command("fea.cli_lightest:lightest", name="lightest")
app.command("fea.cli_chance:chance", name="chance",
            help="Estimate the chance that each requirement fails, given how things scatter.\n\n"
            "Example: stanchion chance ribbed-polypropylene-child --wearer demo-child --size-mm 12")
app.command("fea.cli_list:list_shipped", name="list",
            help="List shipped devices, changes, load sets, wearers and materials, and the bench "
            "rigs.\n\nExample: stanchion list")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: Sequence[str]) -> int:
    """Run the command line.

    Args:
        arguments: words after the name of the command.

    Returns:
        The exit status.

    Example:
        >>> run(["list", "--no-such-option"])
        2
    """
    logging.basicConfig(format="stanchion: %(message)s", level=logging.WARNING)
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        status = app(arguments, exit_on_error=False, print_error=False,
                     result_action="return_value")
    except CycloptsError as error:
        return _complain(f"{error}\nFor help: stanchion --help")
    except KeyboardInterrupt:
        _complain("stopped; nothing was written")
        return INTERRUPTED
    except StanchionError as error:
        return _complain(str(error), arguments)
    except Exception as error:  # the door: no traceback reaches a user who did not ask for it
        return _complain(f"a mistake of this program, not of yours: {type(error).__name__}: {error}"
                         "\nRepeat the command with --debug and send the output to its makers.",
                         arguments)
    return status if isinstance(status, int) else MET


def _complain(message: str, arguments: Sequence[str] = ()) -> int:
    if "--debug" in arguments:
        traceback.print_exc()
    show(f"stanchion: {message}", sys.stderr)
    return UNUSABLE


def show(text: str, stream: TextIO | None = None) -> None:
    """Print; who closed the pipe early, such as head, has read enough and hears no complaint."""
    stream = stream or sys.stdout
    try:
        print(text, file=stream, flush=True)
    except BrokenPipeError:  # what is still buffered must go somewhere when the process ends
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _read_inputs(device: str, **given: Any) -> "Inputs":
    from fea.inputs import read_inputs

    return read_inputs(device, **given)


def _folder(out: str | None, device: "Readable") -> str:
    from fea.inputs import folder_of

    return folder_of(out, device)


def _assess(given: "Inputs", asked: Asked, say: Callable[[str], None]) -> "Assessment":
    from fea.assessment import assess

    assert given.loads is not None
    return assess(given.judged, given.wearer, loads=given.loads, progress=say,
                  **asked.how(given.requirements))  # fmt: skip


def _refine(given: "Inputs", asked: Asked, say: Callable[[str], None]) -> "Refinement":
    from fea.study.refine import RATIO, refine

    how = asked.how(given.requirements)
    size = how.pop("size")
    sizes = None if size is None else [size, size / RATIO, size / RATIO**2]

    assert given.loads is not None
    return refine(given.judged, given.wearer, sizes=sizes, loads=given.loads, progress=say, **how)


def _margin(
    result: "Assessment", say: Callable[[str], None]
) -> "tuple[Margin | None, StanchionError | None]":
    """The margin, shown, and the failure of its search, which must not cost the report."""
    from fea.study.margin import margin

    try:
        found = margin(result, progress=say)
    except InputError as error:
        show(f"\nNo largest body mass: {error}")
        return None, None
    except StanchionError as error:
        return None, error
    show(f"\n{found}")
    return found, None


def _bench(
    given: "Inputs", rig: str | None, say: Callable[[str], None], large_rotation: bool | None
) -> "Bench":
    from fea.study.bench import bench

    limit = large_from(large_rotation)
    return bench(given.judged, given.wearer, rig=rig, large_from_deg=limit, progress=say)


def _write_bench(result: "Bench", folder: str) -> str:
    from fea.reporting.benching import write_bench

    paths = write_bench(result, folder)
    return ", ".join(str(path) for path in (paths.json, paths.csv, paths.chart))


def _report(
    result: "Assessment", folder: str, study: "Refinement | None", margin: "Margin | None",
    say: Callable[[str], None],
) -> Path:
    from fea.reporting import report

    return report(result, folder, refinement=study, margin=margin, progress=say).html


def _study_text(study: "Refinement") -> str:
    from fea.reporting.refining import refinement_text

    return refinement_text(study)


def caution() -> str:
    """The first of what every reader must know."""
    from fea.reporting.words import CAUTIONS

    return f"Caution: {CAUTIONS[0]}"


@contextlib.contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Say on the error stream what is done: a moving line, or plain lines without a screen."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda message: show(f"… {message}", sys.stderr)
        return
    with console.status("reading") as status:
        yield lambda message: status.update(message)


if __name__ == "__main__":
    main()
