# SPDX-License-Identifier: MIT
"""Largest body mass and sensitivity for people and programs: section, chart, summary, CSV lines."""

import math

import numpy as np
from pydantic import Field

from fea.check.wording import factor_texts, percent_text
from fea.drawing.charts import Series, line_chart
from fea.inputfile import Schema
from fea.reporting.evidence import Part
from fea.reporting.sketch import LIMIT, Figure
from fea.reporting.table import Table, table
from fea.reporting.words import plain
from fea.study.margin import Margin
from fea.study.mass import Trial
from fea.study.sensitivity import Response

LARGEST, RESPONSE = "largest body mass", "sensitivity"


class TrialSummary(Schema):
    """The load set judged at one body mass."""

    mass_kg: float
    met: bool = Field(description="whether every check that could be made is met")
    utilisation: float | None = Field(description="of the worst check; null where refused")
    topic: str | None
    zone: str | None
    case: str | None
    refused: str = Field(description="why no number at this mass can be trusted; mostly empty")


class ResponseSummary(Schema):
    """What one change of the loads does to the check that governs."""

    quantity: str
    change: str
    factor: float | None = Field(description="null where the change cannot be made")
    relative_change: float | None = Field(description="of the factor, as a share of it")
    note: str


class MarginSummary(Schema):
    """The largest body mass under this load set only; limb and device stay the wearer's own."""

    load_set: str = Field(description="title of the only load set that the mass holds for")
    sentence: str
    own_mass_kg: float
    largest_mass_kg: float | None = Field(description="null where no mass is light enough")
    not_met_at_kg: float | None = Field(
        description="lightest mass tried at which a check is not met; null where all are met"
    )
    trials: tuple[TrialSummary, ...] = Field(description="every mass that was tried, in that order")
    responses: tuple[ResponseSummary, ...] = Field(description="of the check that governs")


def summarise_margin(margin: Margin) -> MarginSummary:
    """The largest body mass and the sensitivity for programs."""
    found = margin.largest
    return MarginSummary(
        load_set=found.load_set, sentence=found.sentence, own_mass_kg=found.own_mass_kg,
        largest_mass_kg=found.mass_kg,
        not_met_at_kg=found.upper.mass_kg if found.upper else None,
        trials=tuple(_trial(trial) for trial in found.trials),
        responses=tuple(
            ResponseSummary(quantity=one.quantity, change=one.change, factor=one.factor,
                            relative_change=one.relative, note=one.note)
            for one in margin.sensitivity.responses
        ),
    )


def margin_rows(margin: Margin) -> list[list[object]]:
    """Lines of the CSV in the columns of the checks: demand the own mass, capacity the largest."""
    found, check = margin.largest, margin.sensitivity.check
    mass = found.mass_kg
    factor = None if mass is None else mass / found.own_mass_kg
    rows: list[list[object]] = [[
        LARGEST, "", "body mass", "device", "", "", "", "", found.own_mass_kg, "", mass, "kg",
        factor, 1.0, 1.0 / factor if factor else None,
        "heaviest mass tried at which every check is met", "", found.sentence]]
    place = check.place or ("", "", "")
    for one in margin.sensitivity.responses:
        change = "" if one.relative is None else f"{100.0 * one.relative:+.1f} % of the factor"
        words = "; ".join(filter(None, [f"{one.quantity} {one.change}", change, one.note]))
        used = check.required / one.factor if one.factor else None
        rows.append([RESPONSE, check.horizon, check.topic, check.zone, check.case, *place, "", "",
                     "", "", one.factor, check.required, used, "one change of the loads", "",
                     words])
    return rows


def margin_part(margin: Margin) -> Part:
    """The section of the page."""
    found = margin.largest
    return Part(
        "Largest body mass",
        lines=(
            found.sentence,
            f"The wearer judged weighs {found.own_mass_kg:g} kg. Loads grow with body mass, limb "
            "and device stay the wearer’s own: this says what happens if this wearer carries more "
            "or less, and nothing of another person or of other loads.",
        ),
        figures=("margin",),
        tables=(_trial_table(margin), _response_table(margin)),
    )


def margin_figure(margin: Margin) -> Figure:
    """Share used of the worst check over body mass, as tried."""
    found = margin.largest
    trials = sorted((t for t in found.trials if not t.refused), key=lambda t: t.mass_kg)
    line = Series("worst check", np.array([t.mass_kg for t in trials]),
                  np.array([100.0 * t.utilisation for t in trials]))
    chart = line_chart([line], x_label="body mass, kg", y_label="utilisation, %", limit=LIMIT,
                       size=(9.0, 2.6))
    text = f"Utilisation of the worst check over the body masses tried under “{found.load_set}”."
    return Figure("margin", chart, "image/svg+xml", f"Line chart. {text}", text)


def _trial(trial: Trial) -> TrialSummary:
    worst = None if trial.refused else trial.checks[0]
    return TrialSummary(
        mass_kg=trial.mass_kg, met=trial.met,
        utilisation=trial.utilisation if math.isfinite(trial.utilisation) else None,
        topic=worst.topic if worst else None, zone=worst.zone if worst else None,
        case=worst.case if worst else None, refused=trial.refused,
    )


def _trial_table(margin: Margin) -> Table:
    found = margin.largest
    rows = []
    for trial in sorted(found.trials, key=lambda one: one.mass_kg):
        if trial.refused:
            rows.append([f"{trial.mass_kg:g}", "refused", None, None, trial.refused])
            continue
        worst = trial.checks[0]
        rows.append([f"{trial.mass_kg:g}", "met" if trial.met else "NOT MET",
                     percent_text(worst.utilisation).removesuffix(" %"),
                     f"{plain(worst.topic)}, {plain(worst.zone)}", worst.case])
    strong = [k for k, row in enumerate(rows) if row[1] != "met"]
    return table(
        f"Body masses that were tried under “{found.load_set}”, and the worst check at each.",
        ["body mass, kg", "every check made", ">utilisation, %", "worst check", "case"],
        rows, strong=strong)


def _response_table(margin: Margin) -> Table:
    check = margin.sensitivity.check
    factor, required = factor_texts(check.factor, check.required)
    return table(
        f"What one small change of the loads does to the check that governs, {plain(check.topic)} "
        f"of the {plain(check.zone)} in case “{check.case}”: its factor is {factor} where "
        f"{required} is required.",
        ["what is changed", ">by", ">factor then, –", ">change of factor, %", "note"],
        [_response(one) for one in margin.sensitivity.responses])


def _response(one: Response) -> list[object]:
    relative = None if one.relative is None else f"{100.0 * one.relative:+.1f}"
    factor = None if one.factor is None else f"{one.factor:.3f}"
    return [one.quantity, one.change, factor, relative, one.note or None]
