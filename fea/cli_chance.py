# SPDX-License-Identifier: MIT
"""`stanchion chance`: the chance that each requirement fails, given how things scatter."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from fea.assessment import assess
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
from fea.reporting.chancing import ChanceReport, chance_sentences, scatter_table, write_chances
from fea.shipped import AUTO_STEP
from fea.study.chance import chance as find
from fea.study.chance import check_sampling
from fea.study.scatter import read_scatter
from fea.tables import text_table


def chance(
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
    scatter: Path | None = None,
    samples: int = 24,
    hardest: int = 3,
    seed: int = 1,
    size_mm: float | None = None,
    materials: Materials | None = None,
    requirements: Path | None = None,
    out: str | None = None,
    large_rotation: bool | None = None,
    debug: Debug = False,
) -> int:
    """Estimate the chance that each requirement fails, given how things scatter.

    Body weight, loads, walls, moduli and strengths scatter about the numbers that were judged. What
    has no estimate is named; it is not safe for that. The exit status is that of the check: 1 where
    the verdict is not met or leaves something unchecked.

    Example: stanchion chance ribbed-polypropylene-child --wearer demo-child --size-mm 12

    Parameters
    ----------
    cases
        Load set that the verdict rests on: a shipped name or a file.
    step
        Load set of one step, for the service life; as for check.
    changes
        Change one number of the load set, NAME=VALUE or NAME*=FACTOR; may be repeated.
    change
        A change that is made of the device first: a shipped name or a file.
    scatter
        File with standard deviation over mean of body_weight, load, wall, modulus and strength, as
        in wall = 0.05; what it leaves out stays as shipped, which is assumed.
    samples
        Of the sampling check, which solves one case anew for each; 0 for none, else 8 or more.
    hardest
        How many checks are sampled, the likeliest to fail first.
    seed
        Of the samples; the same seed gives the same numbers.
    size_mm
        Cell size of a recipe; larger is quicker and less exact.
    requirements
        File with the life asked for, partial factors of your own, and whether numbers from memory
        may serve.
    out
        Folder for chance.html, chance.json and chance.csv; out/NAME OF THE DEVICE if left out.
    large_rotation
        Solve instants that turn the ankle beyond 5 degrees, in place of 8, again with large
        rotations; with --no-large-rotation none. What was solved so has no estimate.
    """
    check_sampling(samples, hardest, seed)
    variation, origins = read_scatter(scatter)
    given = read_inputs(
        device, wearer=wearer, change=change, cases=cases, changes=changes, step=step,
        materials=materials, requirements=requirements, out=out,
        measures={"--mass-kg": mass_kg, "--height-mm": height_mm, "--side": side},
    )
    assert given.loads is not None
    with progress() as say:
        result = assess(
            given.judged, given.wearer, loads=given.loads, step=step, size=size_mm,
            requirements=given.requirements, large_from_deg=large_from(large_rotation), progress=say
        )  # fmt: skip
        found = find(result, variation, samples=samples, hardest=hardest, seed=seed, progress=say)
        files = _told(ChanceReport(found, origins, seed), folder_of(out, given.judged))
    show(f"\n{caution()}\n\nFiles: {files}")
    return MET if result.verdict == "met" else NOT_MET


def _told(report: ChanceReport, folder: str) -> str:
    """Show what was found, and write the files; their paths."""
    found, scattered = report.found, scatter_table(report)
    lines = "\n".join(chance_sentences(found))
    show(f"{found.result.verdict_sentence}\n\n{found}\n\n{lines}\n")
    headers = [title for title, _ in scattered.columns[:4]]
    show(text_table(headers, [row[:4] for row in scattered.rows]))
    paths = write_chances(report, folder)
    return ", ".join(str(path) for path in (paths.html, paths.json, paths.csv))
