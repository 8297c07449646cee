# SPDX-License-Identifier: MIT
"""`stanchion chance`: the chance that each requirement fails, given how things scatter."""

from pathlib import Path

from fea.assessment import assess
from fea.cli import MET, NOT_MET, caution, progress, show
from fea.cli_options import Asked, ChangeName, Debug, DeviceName
from fea.inputs import folder_of, read_inputs
from fea.reporting.chancing import ChanceReport, chance_sentences, scatter_table, write_chances
from fea.study.chance import chance as find
from fea.study.chance import check_sampling
from fea.study.scatter import read_scatter
from fea.tables import text_table


def chance(
    device: DeviceName,
    /,
    *,
    asked: Asked = Asked(),  # noqa: B008 (frozen)
    change: ChangeName | None = None,
    scatter: Path | None = None,
    samples: int = 24,
    hardest: int = 3,
    seed: int = 1,
    out: str | None = None,
    debug: Debug = False,
) -> int:
    """Estimate the chance that each requirement fails, given how things scatter.

    Body weight, loads, walls, moduli and strengths scatter about the numbers that were judged. What
    has no estimate is named; it is not safe for that. The exit status is that of the check: 1 where
    the verdict is not met or leaves something unchecked.

    Example: stanchion chance ribbed-polypropylene-child --wearer demo-child --size-mm 12

    Parameters
    ----------
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
    out
        Folder for chance.html, chance.json and chance.csv; out/NAME OF THE DEVICE if left out.
    """
    check_sampling(samples, hardest, seed)
    variation, origins = read_scatter(scatter)
    given = read_inputs(device, change=change, out=out, **asked.inputs)
    assert given.loads is not None
    with progress() as say:
        result = assess(given.judged, given.wearer, loads=given.loads, progress=say,
                        **asked.how(given.requirements))  # fmt: skip
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
