# SPDX-License-Identifier: MIT
"""What a bench person does next: measure, leave uncut, look at; words, tables and pictures."""

import math
from collections.abc import Sequence

import numpy as np

from fea.assessment import Assessment
from fea.check.benchwork import (
    HOLE,
    TRIM_REACH,
    TRIM_SHARE,
    BenchWork,
    MeasurePoint,
    Watched,
    WatchPlace,
    bench_work,
)
from fea.check.check import Point
from fea.check.wording import percent_text
from fea.drawing.picture import Callout, Mark, Picture
from fea.reporting.advising import advice_part
from fea.reporting.evidence import Part
from fea.reporting.sketch import Draft, bar_lines, bar_radius, two_views
from fea.reporting.table import Table, table
from fea.reporting.words import plain
from fea.study.advice import Advice

SIGNS: dict[Watched, str] = {
    "thermoplastic": "whitening, a crease that stays, cracks; at rims, nicks",
    "metal": "a bend that was not there, hairline cracks, bare or rusty lines",
    "laminate": "pale or dull patches, a click under the thumb, loose fibres, cracks at rims",
    "printed": "cracks between layers, whitening",
    "fastening": "looseness, a hole gone oval, whitening or cracks round the hole",
    "skin": "redness that stays, sore or broken skin",
}
FEW = 4  # fastenings in the picture
FAR = 1.5  # beyond this share of the wall, an estimate of a thicker one would be a guess
MEASURE_WORDS = (
    "Measure the wall at these points after forming, with a calliper or an ultrasonic gauge, "
    "before straps and padding hide them. The assessment holds for the wall in the column "
    "“assumed”. “Needed” estimates the wall that keeps every required factor of strength, joints "
    "and buckling in the zone. What is missing is taken from the sensitivity of the check, where "
    "“What to change first” has one, and walls that are named together there get thicker "
    "together; else, and where there is room to spare, loads are taken to stay as they are: room "
    "is reckoned as for bending, which goes with the square of the wall, what is missing as for "
    "tension. For a laminate nothing is estimated, so count its plies. Where "
    "the device comes out thinner than assumed, judge it again with the measured wall before it is "
    "worn.")
CLEAR_WORDS = (
    f"A hole can raise stress to {HOLE:.1f} times what it was (kirsch-1898, derived). So nothing "
    "is drilled where that would be more than is allowed, in walls of laminate, whose fibres it "
    "cuts, and in parts that were not judged.",
    f"A rim is not trimmed further where a part within {TRIM_REACH:g} mm of it uses more than "
    f"{100 * TRIM_SHARE:g} % of what is allowed, or was not judged (both numbers assumed). Smooth "
    "its edge all the same: a nick is where a crack starts. Elsewhere trim as usual, and judge the "
    "device again when its outline has changed by more than a few millimetres.")
WATCH_WORDS = (
    "Look at these places at every visit, with the device off, flexed by hand under good light; "
    "they are where it works hardest, and where it is pressed hardest on the skin. Anything found "
    "takes the device out of use until it has been judged.")


def next_steps(result: Assessment, found: Advice | None = None) -> tuple[Part, ...]:
    """What to change first, where it was looked for, and the three tasks, in order."""
    work = work_of(result, found)
    parts = [advice_part(found)] if found else []
    if work.measure:
        parts.append(Part("Measure after forming", (MEASURE_WORDS, _floor(result)), ("measure",),
                          (_measure_table(result, work.measure),)))
    parts.append(Part("Do not drill or trim", CLEAR_WORDS, ("clear",),
                      (_clear_table(result, work),)))
    parts.append(Part("Look at it at each visit", (WATCH_WORDS,), ("watch",),
                      (_watch_table(result, work.watch),)))
    return tuple(parts)


def work_of(result: Assessment, found: Advice | None) -> BenchWork:
    """The tasks of an assessment, its needed walls by sensitivities where there are some."""
    return bench_work(result.device, result.cell_utilisation, result.checks, result.findings,
                      found.own_slopes if found else {})


def _floor(result: Assessment) -> str:
    """Places count from the floor under the shoe; on the bench there is none."""
    sole = result.device.sole.height
    return (
        f"Heights count from the floor under the shoe. The middle of the plate lies {sole:.0f} mm "
        "above it, so on the bench, with the device bare, take that off."
    )


def step_pictures(result: Assessment, found: Advice | None = None) -> list[Draft]:
    """A picture for each task."""
    work = work_of(result, found)
    drafts = [_clear_picture(result, work)]
    if work.measure:
        drafts.append(_numbered(
            result, "measure", "Where to measure the wall", [p.place for p in work.measure],
            [f"{k}: {p.wall:.3g} mm" for k, p in enumerate(work.measure, start=1)],
            "The numbers are those of the table; the millimetres are the wall that was assumed."))
    shown = _shown(work.watch)
    more = len(work.watch) - len(shown)
    note = "The numbers are those of the table."
    if more:
        note += f" {more} more rivets, screws or strap ends stand in the table only."
    drafts.append(_numbered(
        result, "watch", "Where to look at each visit", [work.watch[k].place for k in shown],
        [f"{k + 1}" for k in shown], note))
    return drafts


def _shown(places: Sequence[WatchPlace]) -> list[int]:
    """Which places the picture has room for: of the fastenings the hardest worked few."""
    fastened = [k for k, one in enumerate(places) if one.kind == "fastening"]
    return [k for k in range(len(places)) if k not in fastened[FEW:]]


def needed_words(point: MeasurePoint) -> str:
    """The wall that is needed at a point, and whether the assumed one is enough."""
    if point.least is None:
        return "not estimated"
    if math.isinf(point.least):
        return "thicker does not help: change the design"
    if point.least > FAR * point.wall:
        return "far more than assumed: change the design"
    return f"{point.least:.1f} mm" + (", more than assumed" if point.least > point.wall else "")


def share_words(share: float | None) -> str:
    """A share of what is allowed, or that none is known."""
    return "not judged" if share is None else percent_text(share)


def _measure_table(result: Assessment, points: Sequence[MeasurePoint]) -> Table:
    rows = [
        (f"{number}. {plain(point.zone)}", f"{result.where.words(point.place)} ({point.why})",
         f"{point.wall:.3g} mm", f"{point.sheet:.3g} mm", needed_words(point),
         share_words(point.utilisation))
        for number, point in enumerate(points, start=1)
    ]
    short = [k for k, point in enumerate(points) if point.least and point.least > point.wall]
    return table("Walls to measure, those with the least room first; used: by the hardest of the "
                 "three questions.",
                 ["wall", "point", ">assumed", ">before forming", ">needed", ">used of what is "
                  "allowed"], rows, strong=short)


def _clear_table(result: Assessment, work: BenchWork) -> Table:
    rows = [
        (plain(one.zone), f"{np.ceil(100 * one.drill):.0f} % of its area",
         f"{np.ceil(one.trim):.0f} mm of its rim" if one.trim else "nothing",
         result.where.words(one.place), share_words(one.utilisation))
        for one in work.clear
    ]
    return table("How much of each wall is to stay as it is.",
                 ["wall", ">not to drill", ">not to trim", "hardest worked", ">used of what is "
                  "allowed"], rows)


def _watch_table(result: Assessment, places: Sequence[WatchPlace]) -> Table:
    rows = [
        (f"{number}. {plain(one.zone)}", result.where.words(one.place), SIGNS[one.kind],
         share_words(one.utilisation))
        for number, one in enumerate(places, start=1)
    ]
    return table("Places to look at, and what to look for.",
                 ["part", "place", "look for", ">used of what is allowed"], rows)


def _numbered(
    result: Assessment, key: str, title: str, places: Sequence[Point], texts: Sequence[str],
    note: str,
) -> Draft:
    mesh = result.device.mesh
    callouts = tuple(Callout(text, at) for text, at in zip(texts, places, strict=True))
    picture = Picture(
        mesh.points, mesh.cells["triangle"], two_views(result.device.side),
        lines=bar_lines(result), line_radius=bar_radius(result), callouts=callouts)
    named = "; ".join(f"{text}, {result.where.region(at)}"
                      for text, at in zip(texts, places, strict=True))
    alt = f"The device from the front and outer side and from behind and the inner side. {named}."
    return key, picture, alt, f"{title}. {note}"


def _clear_picture(result: Assessment, work: BenchWork) -> Draft:
    mesh = result.device.mesh
    marks = (
        Mark("do not drill", work.drill),
        Mark("do not drill, do not trim the rim", work.trim, netted=True),
    )
    picture = Picture(
        mesh.points, mesh.cells["triangle"], two_views(result.device.side),
        lines=bar_lines(result), line_radius=bar_radius(result), marks=marks)
    share = np.ceil(100 * max((one.drill for one in work.clear), default=0.0))
    alt = ("The device from the front and outer side and from behind and the inner side; parts not "
           f"to be drilled are marked, up to {share:.0f} % of a wall, and netted where the rim is "
           "not to be trimmed either.")
    caption = ("Marked parts are not drilled; where netted, the rim is not trimmed either. "
               "In the plain parts no number speaks against a hole; keep the usual distance to "
               "rims and other holes.")
    return "clear", picture, alt, caption
