# SPDX-License-Identifier: MIT
"""What the report says of stance over time: which case governs, and what is left to the knee."""

import csv
import io
import math
from collections.abc import Sequence

from fea.assessment import Assessment
from fea.assumptions import is_own_step, step_words
from fea.check.wording import apart_texts, percent_text
from fea.reporting.evidence import Part
from fea.reporting.table import Table, table
from fea.reporting.words import counted, plain
from fea.stance import NOTHING, CaseResult, ZonePeak, peaks
from fea.structure.limbmodel import RIGID_FOOT

OTHER_FOOT_LANDS = 50.0
"""% of the gait cycle. Source: schwartz-2008 (read)."""

STATES = {"flagged": "▲ flagged", "unknown": "? not known", "not flagged": "not flagged"}


def step_parts(result: Assessment) -> tuple[Part, ...]:
    """The parts of the section on the step, in reading order."""
    step = (step_words(result.load_set, result.step_set),)
    knee = knee_lines(result) if result.cases or result.step else (
        "No case is an instant of stance, so nothing is said of ankle moment and knee.",)
    return (
        Part("Which case governs which zone", step, ("envelope", "step_chart"),
             (_peak_table(result),)),
        Part("Ankle and knee", knee, ("strip", "moment", "rotation"), _knee_tables(result)),
    )


def knee_lines(result: Assessment) -> tuple[str, ...]:
    """What the device does for the knee, in a few sentences: of the verdict where its cases tell,
    else of the step."""
    known = _known(result.cases) or _known(result.step)
    if not known:
        return ("No load case says how the shank stands, so what is left to the knee is not known; "
                "a load set with shank angles, such as measured gait, tells.",)
    helped, hardest = max(known, key=_by_device), max(known, key=_for_quadriceps)
    assert helped.knee is not None and hardest.knee is not None
    lines = [
        f"The device takes at most {_by_device(helped) / 1000.0:.1f} N·m off the knee "
        f"({_when(helped)}): what it carries at the ankle, and nothing on top for the "
        f"{helped.shin_force:.0f} N with which it presses the shin back. Then "
        f"{helped.knee.statement}.",
    ]
    if hardest is not helped and _for_quadriceps(hardest) > 0.0:
        other = "in another case" if hardest.percent is None else "at another time"
        lines.append(f"Most is left {other} ({_when(hardest)}): {hardest.knee.statement}.")
    beyond = [case for case in known if case.knee and case.knee.beyond_plate]
    if beyond:
        lines.append(_beyond_words(beyond, said=(helped, hardest)))
    return tuple(lines)


def _beyond_words(beyond: Sequence[CaseResult], said: Sequence[CaseResult]) -> str:
    """How often the plate is too short to unload the knee, and where it is most so."""
    worst = max(beyond, key=_for_quadriceps)
    assert worst.knee is not None
    more = "" if worst in said else f": {worst.knee.statement}"
    late = [case for case in beyond if (case.percent or 0.0) >= OTHER_FOOT_LANDS]
    most = "" if len(beyond) == 1 else "most so in "
    words = (f"In {counted(len(beyond), 'case')} the plate is too short to unload the knee, "
             f"{most}“{_when(worst)}”{more}.")
    if late:
        which = "It" if len(beyond) == 1 else "All" if late == beyond else f"{len(late)} of them"
        lies = "comes" if len(late) == 1 else "come"
        words += (f" {which} {lies} after the other foot has landed, when a knee bends on purpose.")
    return words


def _known(cases: Sequence[CaseResult]) -> list[CaseResult]:
    return [case for case in cases if case.knee is not None]


def _knee_tables(result: Assessment) -> tuple[Table, ...]:
    """One table for the cases of the verdict and one for the step, where they differ."""
    own = is_own_step(result.load_set, result.step_set)
    same = own and result.step_limb == RIGID_FOOT
    groups = {
        "What the cases of the verdict leave to the knee.": _known(result.cases),
        "What the step leaves to the knee.": [] if same and _known(result.cases)
        else _known(result.step),
    }
    return tuple(_knee_table(title, cases) for title, cases in groups.items() if cases)


def screening_table(result: Assessment) -> Table:
    """Clinical facts for the prescriber, the unknown ones too; no part of the verdict."""
    rows = [
        (flag.fact, STATES[flag.state], flag.sentence, ", ".join(flag.sources))
        for flag in result.wearer.clinical.flags
    ]
    flags = result.wearer.clinical.flags
    return table(
        "Facts that a prescriber wants known before such a device is worn. They take no part in "
        "the verdict.", ["fact", "state", "what it means", "source"], rows,
        strong=[k for k, flag in enumerate(flags) if flag.state == "flagged"])


def step_csv(result: Assessment) -> str:
    """Every instant of the step, one line each, as CSV text; empty cells are not known."""
    zones = [peak.zone for peak in peaks(result.step)]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([
        "instant", "percent_of_cycle", "fx_n", "fy_n", "fz_n", "cop_x_mm", "cop_y_mm", "pitch_deg",
        "external_dorsiflexing_moment_nm", "carried_by_device_nm", "carried_by_calf_nm",
        "carried_by_passive_ankle_nm", "ankle_dorsiflexion_deg", "shin_force_n", "shank_angle_deg",
        "knee_through_ankle_nm", "knee_without_device_nm", "knee_with_device_nm",
        "for_quadriceps_nm", "cop_to_unload_foot_lengths", "plate_end_foot_lengths",
        "beyond_plate", *(f"utilisation {zone}" for zone in zones),
    ])
    for case in result.step:
        writer.writerow([
            case.name, case.percent, *case.force, *case.cop[:2], math.degrees(case.pitch),
            *(_nm(part) for part in (case.ankle.external, case.ankle.by_device,
                                     case.ankle.by_calf, case.ankle.by_ankle)),
            math.degrees(case.ankle_rotation), case.shin_force, *_knee_cells(case),
            *(case.utilisation.get(zone) for zone in zones),
        ])
    return stream.getvalue()


def _knee_cells(case: CaseResult) -> list[float | bool | None]:
    if case.knee is None:
        return [None] * 8
    knee, demand = case.knee, case.knee.demand
    return [
        math.degrees(knee.shank_angle), _nm(demand.through_ankle), _nm(demand.without_device),
        _nm(demand.at_knee), _nm(demand.for_quadriceps), knee.cop_to_unload, knee.plate_end,
        knee.beyond_plate,
    ]


def _peak_table(result: Assessment) -> Table:
    beside = bool(result.step) and not is_own_step(result.load_set, result.step_set)
    step = {peak.zone: peak for peak in peaks(result.step)} if beside else {}
    found = peaks(result.every_case)
    timed = any(peak.percent is not None for peak in found)
    rows = [
        (plain(peak.zone), peak.case, *([_percent(peak)] if timed else []),
         percent_text(peak.utilisation), *(_step_cells(step.get(peak.zone)) if beside else ()))
        for peak in found
    ]
    columns = ["zone", "case of the verdict", *([">% of cycle"] if timed else []), ">utilisation"]
    if beside:
        columns += ["instant of the step", ">% of cycle", ">utilisation"]
    and_step = " and the instant of the step" if beside else ""
    return table(f"For each zone the case{and_step} at which it works hardest.", columns, rows)


def _step_cells(peak: ZonePeak | None) -> tuple[str | None, ...]:
    if peak is None:
        return None, None, None
    return peak.case, _percent(peak), percent_text(peak.utilisation)


def _percent(item: ZonePeak | CaseResult) -> str | None:
    """% of the gait cycle, for a table."""
    return None if item.percent is None else f"{item.percent:.3g}"


def _knee_table(title: str, cases: Sequence[CaseResult]) -> Table:
    rows: list[tuple[object, ...]] = []
    for case in cases:
        knee = case.knee
        assert knee is not None
        demand = knee.demand
        asked = None
        if demand.for_quadriceps > 1000.0 * NOTHING:
            wanted = apart_texts(knee.cop_to_unload, knee.plate_end)[0]
            asked = f"{wanted}{', beyond the plate' if knee.beyond_plate else ''}"
        rows.append((
            case.name, _percent(case), f"{round(math.degrees(knee.shank_angle)):d}",
            *(f"{round(_nm(part), 1) + 0.0:.1f}" for part in (
                demand.through_ankle, demand.ankle_moment, demand.by_device,
                demand.at_knee, demand.for_quadriceps)),
            asked, f"{case.shin_force:.0f}",
        ))
    end = cases[0].knee.plate_end if cases[0].knee else math.nan
    timed = any(case.percent is not None for case in cases)
    late = any((case.percent or 0.0) >= OTHER_FOOT_LANDS for case in cases)
    return table(
        f"{title} Moments are external, in N·m: flexing the knee if the push went "
        "through the ankle, dorsiflexing the ankle, of that carried by the device, flexing the "
        "knee with the device (below zero it is pressed straight), and what of it the quadriceps "
        "must hold. Then the place of the push that would leave it nothing, in foot lengths from "
        f"the heel (the plate ends at {end:.3f}; a push stands half its patch inside), and the "
        "force on the shin, backward positive."
        + (" Before foot-off a knee bends on purpose." if late else ""),
        ["case", *([">% of cycle"] if timed else []), ">shank angle, °", ">through ankle",
         ">ankle", ">by the device", ">knee", ">quadriceps", "push wanted at", ">shin, N"],
        rows if timed else [(name, *others) for name, _, *others in rows])


def _by_device(case: CaseResult) -> float:
    return case.knee.demand.by_device if case.knee else -math.inf


def _for_quadriceps(case: CaseResult) -> float:
    return case.knee.demand.for_quadriceps if case.knee else -math.inf


def _when(case: CaseResult) -> str:
    if case.percent is None or case.name.endswith("% of the cycle"):
        return case.name
    return f"{case.name}, {case.percent:.3g} % of the cycle"


def _nm(moment: float) -> float:
    return moment / 1000.0
