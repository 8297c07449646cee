# SPDX-License-Identifier: MIT
"""A comparison as plain text for a terminal."""

from collections.abc import Sequence

from fea.check.summarytext import IDLE
from fea.check.verdict import HORIZONS, WHEN
from fea.reporting.comparesummary import NumberSummary, number_summaries
from fea.reporting.comparetables import (
    NUMBER_WORDS,
    OUTCOMES,
    change_texts,
    factor_cell,
    hardest_use,
    number_texts,
)
from fea.study.compare import Comparison
from fea.study.comparedchecks import Compared
from fea.tables import text_table

HEADERS = ("check", "zone", "before", "now", "change", "can be told up to", "result")
LACKS = {"part": "no such part", "material": "another material, judged by other checks",
         "gap": "not checked"}  # fmt: skip
NOTE = (
    "before, now: factor reached / required, errors of the mesh counted; change: of the share of "
    "what is allowed that is used, without them; no difference: none that the model can resolve"
)


def comparison_text(result: Comparison) -> str:
    """Titles, numbers, a table of checks for each horizon, what one side lacks, the sentence."""
    wearer = result.after.wearer
    parts = [
        f"before: {result.before.device.title} ({result.before.device.name})",
        f"now:    {result.after.device.title} ({result.after.device.name})",
        f"for a wearer of {wearer.mass_kg:g} kg, {wearer.height_mm:g} mm, {wearer.side} leg",
        f"Loads: {result.after.load_set.title}",
        "", _numbers(result),
    ]  # fmt: skip
    both = [row for row in result.rows if not row.because]
    for horizon in HORIZONS:
        rows = [row for row in both if row.horizon == horizon and hardest_use(row) >= IDLE]
        if rows:
            cells = [_row(row) for row in rows]
            parts += ["", f"{WHEN[horizon]}:".capitalize(), text_table(HEADERS, cells)]
    idle = sum(hardest_use(row) < IDLE for row in both)
    if idle:
        parts.append(f"and {idle} more that use less than {100.0 * IDLE:.0f} % of what is allowed "
                     "before and now; the page lists them")  # fmt: skip
    parts += ["", NOTE]
    parts += _single([row for row in result.rows if row.because])
    opened = [(gap.topic, gap.zone) for gap in result.gaps if gap.after and not gap.before]
    if opened:
        parts += ["", "Not checked now, and not left out before; the page gives the reasons:"]
        parts += _joined(opened)
    closed = [(gap.topic, gap.zone) for gap in result.gaps if gap.before and not gap.after]
    if closed:
        parts += ["", "Left out before, and not now:", *_joined(closed)]
    still = sum(bool(gap.before and gap.after) for gap in result.gaps)
    if still:
        parts += ["", f"Not checked before or now: {still}; the page lists them with the reasons."]
    return "\n".join([*parts, "", result.sentence, "", *result.points])


def _numbers(result: Comparison) -> str:
    rows = [_number(each) for each in number_summaries(result)]
    rows.append(("verdict", result.before.verdict, result.after.verdict, "", ""))
    return text_table(("number", "before", "now", "change", "result"), rows)


def _number(each: NumberSummary) -> tuple[str, str, str, str, str]:
    before, after, change = (text or "–" for text in number_texts(each))
    told = {True: "", False: "no difference", None: "not known"}[each.resolved]
    return NUMBER_WORDS[each.name], before, after, change, told


def _row(row: Compared) -> tuple[str, ...]:
    assert row.before is not None and row.after is not None
    told = OUTCOMES[row.outcome] + (", but not met any more" if row.flipped else "")
    return (row.topic, row.zone, factor_cell(row.before), factor_cell(row.after),
            *change_texts(row), told)  # fmt: skip


def _single(rows: Sequence[Compared]) -> list[str]:
    """What one device lacks: a table of what is not met or lost, and how many more there are."""
    if not rows:
        return []
    shown = [row for row in rows if row.lost or not all(
        check.met for check in (row.before, row.after) if check is not None)]  # fmt: skip
    cells = [(row.topic, row.zone, row.horizon,
              *("–" if check is None else factor_cell(check) for check in (row.before, row.after)),
              LACKS[row.why]) for row in shown]  # fmt: skip
    reasons = [f"  {row.topic}, {row.zone}: {row.because}" for row in shown if row.why == "gap"]
    lines = ["", "Judged on one of the devices only, never counted as better:"]
    if shown:
        lines.append(text_table(("check", "zone", "question", "before", "now", "why"), cells))
    if more := len(rows) - len(shown):
        others = "others of parts that only one has" if shown else "of parts that only one has"
        lines.append(f"and {more} {others}, all met; the page lists them")
    return [*lines, *dict.fromkeys(reasons)]


def _joined(found: Sequence[tuple[str, str]]) -> list[str]:
    """Lines of topic and zones, one for each topic."""
    groups: dict[str, list[str]] = {}
    for topic, zone in found:
        groups.setdefault(topic, []).append(zone)
    return [f"  {topic}, {', '.join(dict.fromkeys(zones))}" for topic, zones in groups.items()]
