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
from typing import TYPE_CHECKING, Annotated, Any, Literal, TextIO

from cyclopts import App, CycloptsError, Parameter
from rich.console import Console

from fea.errors import InputError, StanchionError
from fea.shipped import AUTO_STEP

if TYPE_CHECKING:
    from fea.assessment import Assessment
    from fea.device.change import Readable
    from fea.inputs import Inputs
    from fea.study.bench import Bench
    from fea.study.margin import Margin
    from fea.study.refine import Refinement

MET, NOT_MET, UNUSABLE = 0, 1, 2
INTERRUPTED = 130
DEFAULT_CASES = "walking-envelope"
"""What a load set is asked for, by its purpose."""

DeviceName = Annotated[str, Parameter(
    help="Name of a shipped device (see: stanchion list), or a device file.")]
Mass = Annotated[float, Parameter(help="Body mass with everything carried, kg.")]
Height = Annotated[float, Parameter(help="Standing height without shoes, mm.")]
Side = Annotated[Literal["left", "right"], Parameter(help="Side of the device.")]
WearerName = Annotated[str, Parameter(help="Name of a shipped wearer, or a wearer file.")]
Materials = Annotated[Path, Parameter(
    help="File with materials of your own, laid over the shipped library.")]
ChangeName = Annotated[str, Parameter(
    help="A change that is made of the device first: a shipped name or a file.")]
Debug = Annotated[bool, Parameter(
    negative="", help="Show where in the program an error came from.")]

app = App(
    name="stanchion",
    help="Judge a floor-reaction orthosis: will it hold, how far does it give, and why.",
    version=lambda: version("stanchion"),
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
    mass_kg: Mass | None = None,
    height_mm: Height | None = None,
    side: Side | None = None,
    wearer: WearerName | None = None,
    cases: str = DEFAULT_CASES,
    step: str = AUTO_STEP,
    changes: Annotated[tuple[str, ...], Parameter(name="--set", negative="")] = (),
    change: ChangeName | None = None,
    materials: Materials | None = None,
    requirements: Path | None = None,
    out: str | None = None,
    refine: Annotated[bool, Parameter(negative="")] = False,
    max_mass: Annotated[bool, Parameter(negative="")] = False,
    large_rotation: bool | None = None,
    debug: Debug = False,
) -> int:
    """Judge a device for a wearer and write the report.

    Give the wearer either as mass, height and side, or as --wearer.

    Example: stanchion check ribbed-polypropylene-child --mass-kg 35 --height-mm 1410 --side left

    Parameters
    ----------
    cases
        Load set that the verdict rests on: a shipped name or a file.
    step
        Load set of one step, for charts, the knee and the service life. Left out, measured gait
        given by --cases is its own step; other loads of walking go with the typical one.
    changes
        Change one number of the load set, NAME=VALUE or NAME*=FACTOR, as in --set fz_bw=1.5, or of
        one of its cases, as in --set "heel strike, toes up.fz_bw=1.5"; may be repeated.
    requirements
        File with the life asked for, partial factors of your own, and whether numbers from memory
        may serve.
    out
        Folder for the report; out/NAME OF THE DEVICE if left out.
    refine
        Repeat the check on finer meshes and report how far each number still moves; slow.
    max_mass
        Find the largest body mass at which every check is met, and what the loads do to the worst.
    large_rotation
        Solve instants that turn the ankle beyond 5 degrees, in place of 8, again with large
        rotations; with --no-large-rotation none.
    """
    given = _read_inputs(
        device, change=change, wearer=wearer, cases=cases, changes=changes, step=step,
        materials=materials, requirements=requirements, out=out,
        measures={"--mass-kg": mass_kg, "--height-mm": height_mm, "--side": side},
    )
    with progress() as say:
        study = _refine(given, step, say, large_rotation) if refine else None
        result = study.assessment if study else _assess(given, step, say, large_rotation)
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
    mass_kg: Mass | None = None,
    height_mm: Height | None = None,
    side: Side | None = None,
    wearer: WearerName | None = None,
    rig: str | None = None,
    change: ChangeName | None = None,
    materials: Materials | None = None,
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
    given = _read_inputs(
        device, change=change, wearer=wearer, materials=materials, rig=rig, out=out,
        measures={"--mass-kg": mass_kg, "--height-mm": height_mm, "--side": side},
    )
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


def _assess(
    given: "Inputs", step: str, say: Callable[[str], None], large_rotation: bool | None
) -> "Assessment":
    from fea.assessment import assess

    assert given.loads is not None
    return assess(given.judged, given.wearer, loads=given.loads, step=step,
                  requirements=given.requirements, large_from_deg=large_from(large_rotation),
                  progress=say)  # fmt: skip


def large_from(large_rotation: bool | None) -> float | None:
    """The angle from which to solve with large rotations: asked for, by default, or never."""
    from fea.check.stiffness import ROTATION_FLAG_DEG, ROTATION_LIMIT_DEG

    return {True: ROTATION_FLAG_DEG, None: ROTATION_LIMIT_DEG, False: None}[large_rotation]


def _refine(
    given: "Inputs", step: str, say: Callable[[str], None], large_rotation: bool | None
) -> "Refinement":
    from fea.study.refine import refine

    assert given.loads is not None
    return refine(given.judged, given.wearer, loads=given.loads, step=step,
                  requirements=given.requirements, large_from_deg=large_from(large_rotation),
                  progress=say)  # fmt: skip


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
