# SPDX-License-Identifier: MIT
"""The tables of a comparison: numbers, parts, checks, what was not checked; all in words."""

import math

import numpy as np

from fea.assessment import Assessment
from fea.check.check import Check
from fea.check.summarytext import IDLE
from fea.check.verdict import HORIZONS, WHEN
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.mesh.mesh import triangle_geometry
from fea.reporting.answers import amount, requirement
from fea.reporting.comparesummary import NumberSummary, number_summaries
from fea.reporting.table import Table, table
from fea.reporting.words import counted, plain
from fea.structure.sections import ShellSection
from fea.study.compare import Comparison, material_words
from fea.study.comparedchecks import CREDIT, UNKNOWN_SHARE, Compared, share
from fea.study.comparednumbers import Numbers

NO_DIFFERENCE = "no difference that the model can resolve"
OUTCOMES = {
    "better": "better", "worse": "worse", "no difference": "no difference",
    "not checked before": "was not checked before", "not checked now": "is not checked now",
}  # fmt: skip
NUMBER_WORDS = {
    "mass": "mass, without liner, straps and shoe",
    "ankle_rotation": "largest turn of the ankle, new and cool",
    "ankle_rotation_warm_soft_flesh": "the same, warm and on soft flesh",
    "ankle_stiffness": "stiffness at the ankle, flesh included",
    "shin_force": "largest push on the shin",
    "skin_pressure": "hardest press on the skin",
    "max_deflection": "largest deflection",
}
CHECK_HEADERS = ("requirement", "what can be told", ">before", ">now", ">factor before",
                 ">factor now", ">change")  # fmt: skip
DAY = 12.0 / 365.0  # months
MUCH = 100.0
"""Factor beyond which none is shown."""
MOST_DIGITS = 9  # enough to tell a change from its bound
TICKS = {True: "✓", False: "✗"}


def numbers_table(result: Comparison) -> Table:
    """Mass, ankle, shin, deflection and life of both."""
    before, after = result.numbers
    rows = [_number_row(each) for each in number_summaries(result)]
    rows.append(("shortest life", _life_words(before), _life_words(after), None,
                 "see the checks of service life"))  # fmt: skip
    caption = "What each device weighs, gives and presses."
    if result.case:
        caption += f" The stiffness is that in “{result.case}”, external moment over turn."
    caption += _where_words("Pressed hardest", before.pressed, after.pressed)
    caption += _where_words("Shortest-lived", before.life_zone, after.life_zone)
    return table(caption, ["number", ">before", ">now", ">change", "can the change be told?"], rows)


def _where_words(what: str, before: str, after: str) -> str:
    if before == after:
        return f" {what} is {plain(before)} on both." if before else ""
    return f" {what}: {plain(before) or 'nothing'} before, {plain(after) or 'nothing'} now."


def _number_row(each: NumberSummary) -> tuple[object, ...]:
    before, after, change = number_texts(each)
    if None in (before, after):
        return (NUMBER_WORDS[each.name], before, after, change, "not known of one of them")
    if each.unresolved_change is None:
        return (NUMBER_WORDS[each.name], before, after, change, "not known of unlike surfaces")
    bound = amount(each.unresolved_change, each.unit)
    told = f"yes, it exceeds {bound}" if each.resolved else f"no, it is within {bound}"
    return (NUMBER_WORDS[each.name], before, after, change, told)


def number_texts(each: NumberSummary) -> tuple[str | None, str | None, str | None]:
    """Before, now and the change with their unit, mass in whole grams; None for what is missing."""
    digits = 0 if each.unit == "g" else None
    values = each.before, each.after
    before, after = (None if value is None else f"{value:.0f} g" if digits == 0 else
                     amount(value, each.unit) for value in values)  # fmt: skip
    if each.before is None or each.after is None:
        return before, after, None
    return before, after, signed(each.after - each.before, each.unit, digits=digits)


def _life_words(numbers: Numbers) -> str:
    if not numbers.life_zone:
        return "not known"
    if numbers.life is None:
        return numbers.life_state
    if numbers.life < DAY:
        return "less than a day"
    return "without end" if math.isinf(numbers.life) else f"{quantity_text(numbers.life)} months"


def parts_table(result: Comparison) -> Table:
    """Material, wall and mass of each part; those that changed are set in bold."""
    both = [part_rows(each) for each in (result.before, result.after)]
    rows: list[tuple[object, ...]] = []
    strong: list[int] = []
    for name in dict.fromkeys([*both[0], *both[1]]):
        one, other = (each.get(name) for each in both)
        words = [(None, None) if part is None else (part[0], f"{part[1]:.0f} g")
                 for part in (one, other)]  # fmt: skip
        if one is None or other is None or one[0] != other[0]:
            strong.append(len(rows))
        rows.append((plain(name), words[0][0], words[1][0], words[0][1], words[1][1]))
    return table("Parts with material, wall or section, and mass; set in bold where material, wall "
                 "or section changed. A part whose mass alone changed was cut otherwise.",
                 ["part", "before", "now", ">before", ">now"], rows, strong=strong)  # fmt: skip


def part_rows(result: Assessment) -> dict[str, tuple[str, float]]:
    """Name of each wall and bar to its words and its mass in g."""
    structure, device = result.run.structure, result.device
    found = {}
    for zone, wall in device.walls.items():
        thickness = np.atleast_1d(wall.thickness)
        low, high = f"{thickness.min():.3g}", f"{thickness.max():.3g}"
        span = low if low == high else f"{low} to {high}"
        area, _ = triangle_geometry(device.mesh.points, device.mesh.zone_cells(zone))
        section = structure.sections[zone]
        assert isinstance(section, ShellSection)
        mass = 1000.0 * float(np.sum(area * section.areal_mass(len(area))))
        found[zone] = (f"{material_words(wall)}, {span} mm", mass)
    for zone, bar in device.bars.items():
        ends = device.mesh.points[device.mesh.zone_cells(zone)]
        length = float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum())
        density = bar.material.elastic.density or 0.0
        words = f"{bar.material.name}, {bar.width:g} × {bar.depth:g} mm"
        found[zone] = (words, 1000.0 * length * bar.width * bar.depth * density)
    return found


def check_tables(result: Comparison) -> tuple[Table, ...]:
    """The checks of both devices, a table for each question that has any, and one of idle ones."""
    both = [row for row in result.rows if row.before is not None and row.after is not None]
    idle = [row for row in both if hardest_use(row) < IDLE]
    tables = []
    for horizon in HORIZONS:
        rows = [row for row in both if row.horizon == horizon and row not in idle]
        if rows:
            strong = [k for k, row in enumerate(rows) if row.after and not row.after.met]
            tables.append(table(
                f"{WHEN[horizon].capitalize()}: every requirement that both were judged by, "
                "hardest first; in bold what is not met now.",
                CHECK_HEADERS, [_check_cells(row) for row in rows], strong=strong,
                details=[_check_detail(row) for row in rows]))  # fmt: skip
    if idle:
        cells = [(f"{each[0]}, {WHEN[row.horizon]}", *each[1:])
                 for row in idle for each in [_check_cells(row)]]  # fmt: skip
        tables.append(table(f"Requirements that use less than {percent_text(IDLE)} of what is "
                            "allowed, before and now.", CHECK_HEADERS, cells))  # fmt: skip
    return tuple(tables)


def hardest_use(row: Compared) -> float:
    """The larger share of what is allowed that either device uses."""
    return max(check.utilisation for check in (row.before, row.after) if check is not None)


def _check_cells(row: Compared) -> tuple[object, ...]:
    one, other = row.before, row.after
    assert one is not None and other is not None
    return (requirement(row.topic, row.zone), OUTCOMES[row.outcome], _demand(one), _demand(other),
            factor_cell(one), factor_cell(other), " ".join(change_texts(row)))  # fmt: skip


def _demand(check: Check) -> str:
    return f"{quantity_text(check.demand)} of {amount(check.capacity, check.unit)}"


def factor_cell(check: Check) -> str:
    """Factor reached over required, with a tick or a cross."""
    factor, required = factor_texts(check.factor, check.required)
    if check.factor > MUCH:
        factor = f"> {MUCH:g}"
    return f"{factor} / {required} {TICKS[check.met]}"


def change_texts(row: Compared) -> tuple[str, str]:
    """The change and its bound in percent of before, with digits enough to tell which is larger.

    Example:
        >>> old, new = (Check(topic="yield", zone="strip", case="push", place=None, demand=demand,
        ...                   capacity=30.0, unit="MPa", required=1.5, basis="", sources=(),
        ...                   error=0.5) for demand in (20.5, 15.5))
        >>> change_texts(Compared("yield", "strip", "today", old, new))
        ('-25 %', '± 5 %')
    """
    assert row.before is not None and row.change is not None and row.unresolved is not None
    before = share(row.before)
    if before <= 0.0:
        return "from nothing", ""
    change, bound = 100.0 * row.change / before, 100.0 * row.unresolved / before
    for digits in range(MOST_DIGITS):
        shown, least = round(abs(change), digits), round(bound, digits)
        if (shown > least) == (abs(change) > bound):
            break
    sign = "" if shown == 0.0 else "-" if change < 0.0 else "+"
    return f"{sign}{shown:.{digits}f} %", f"± {least:.{digits}f} %"


def _check_detail(row: Compared) -> str:
    assert row.before is not None and row.after is not None
    cases = [row.before.case, row.after.case]
    words = ["Not met any more, by a change that cannot be told"] if row.flipped else []
    words.append(f"Case: {cases[0]}" if cases[0] == cases[1] else
                 f"Case before: {cases[0]}; now: {cases[1]}")  # fmt: skip
    if row.estimated:
        errors = [percent_text((check.error or 0.0) / check.demand) if check.demand else "0 %"
                  for check in (row.before, row.after)]  # fmt: skip
        words.append(f"Error of the mesh: {errors[0]} of the demand before, {errors[1]} now")
    coarse = row.coarser
    if coarse is not None and coarse.before > 0.0:
        again = 100.0 * (coarse.after / coarse.before - 1.0)
        moved = ", where a peak lies elsewhere" if coarse.moved else ""
        words.append(f"On coarser cells the change is {again:+.1f} %{moved}".replace("-", "−"))
    if not row.estimated:
        words.append(f"Errors of the meshes are assumed, {100.0 * UNKNOWN_SHARE:.0f} % of each")
    if row.after.remarks:
        words.append(f"Reservations: {row.after.remarks}")
    return ". ".join(words) + "."


def one_sided_table(result: Comparison) -> Table:
    """Checks that only one of the devices has, and why; never counted as better."""
    single = [row for row in result.rows if row.because]
    shown = [row for row in single if row.lost or hardest_use(row) >= IDLE]
    rows = [
        (requirement(row.topic, row.zone), row.horizon,
         *(None if check is None else factor_cell(check) for check in (row.before, row.after)),
         _lack_words(row))
        for row in shown
    ]  # fmt: skip
    caption = "Requirements that only one of the devices was judged by; none counts as better."
    if len(shown) < len(single):
        idle = counted(len(single) - len(shown), "more requirement")
        caption += f" Left out: {idle} of parts that use less than {percent_text(IDLE)}."
    strong = [k for k, row in enumerate(shown) if row.after is not None and not row.after.met]
    return table(caption, ["requirement", "question", ">factor before", ">factor now", "why"], rows,
                 strong=strong)  # fmt: skip


def _lack_words(row: Compared) -> str:
    if row.why == "part":
        return "a part that is new" if row.before is None else "a part that is gone"
    return f"{OUTCOMES[row.outcome]}: {row.because}"


def gaps_table(result: Comparison) -> Table:
    """What could not be judged on either device; rows with the same reasons are joined."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for gap in result.gaps:
        groups.setdefault((gap.topic, gap.before, gap.after), []).append(plain(gap.zone))
    rows = []
    for (topic, before, after), zones in groups.items():
        where = ", ".join(dict.fromkeys(zones))
        same = "the same" if before and before == after else after
        rows.append((plain(topic), where, before or "was not left out", same or "is not left out"))
    return table("What could not be judged, before and now.",
                 ["requirement", "of", "before, because", "now, because"], rows)  # fmt: skip


def judged_lines(result: Comparison) -> tuple[str, ...]:
    """How a change is told from the errors of the meshes, in words."""
    sizes = [f"{each.cell_size:.1f} mm" for each in result.numbers]
    lines = [
        "Stress on a mesh has an error, which is estimated for most checks. Whatever the errors of "
        "two meshes have to do with each other, a difference is off by no more than their sum, as "
        "far as the estimates hold. Meshes of one family err alike, so the real error is mostly "
        "smaller; how much, one pair of meshes cannot say.",
        f"The cells measure {sizes[0]} before and {sizes[1]} now, on average.",
    ]
    if result.coarser_size is None:
        lines.append("No coarser pair of meshes was judged, so a change counts only beyond that "
                     "sum; smaller ones may be real.")  # fmt: skip
    else:
        lines.append(
            f"Both devices were judged again on coarser cells of {result.coarser_size:.1f} mm. "
            "Three times what the change moves from there to here, extrapolated to cells of no "
            "size, is taken for its error, where the peaks stay in place; it is never taken above "
            f"the estimated sum, and never below {CREDIT:.0%} of it.".replace("%", " %"))
    lines.append(
        "Where no error is estimated (buckling, rotation, pressure, joints, bars), "
        f"{100.0 * UNKNOWN_SHARE:.0f} % of each value is assumed in its place.")
    same, better, worse = (result.tendency.same, result.tendency.better, result.tendency.worse)
    lines.append(f"Of {counted(same + better + worse, 'requirement')} that both were judged by, "
                 f"{better} are better, {worse} worse, and of {same} there is {NO_DIFFERENCE}.")
    return tuple(lines)


def signed(change: float, unit: str, *, digits: int | None = None) -> str:
    """A change with its sign.

    Example:
        >>> signed(-12.34, "mm"), signed(34.4, "g", digits=0)
        ('-12.3 mm', '+34 g')
    """
    if digits is None:
        text, number = amount(abs(change), unit), float(quantity_text(abs(change)))
    else:
        text, number = f"{abs(change):.{digits}f} {unit}", round(abs(change), digits)
    return f"{'' if number == 0.0 else '-' if change < 0.0 else '+'}{text}"
