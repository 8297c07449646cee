# SPDX-License-Identifier: MIT
"""The pictures and charts of a report, each with caption and alternative text."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.buckling import PROOF
from fea.check.check import BUCKLING
from fea.check.wording import quantity_text
from fea.drawing.charts import Arrow, line_chart, push_diagram
from fea.drawing.picture import Callout, Picture, Scale
from fea.drawing.render import render
from fea.drawing.scene import free_edges
from fea.reporting.hardest import hardest_pictures
from fea.reporting.nextsteps import step_pictures
from fea.reporting.sketch import (
    DRAWN_SHARE,
    LIMIT,
    Draft,
    Figure,
    bar_lines,
    bar_radius,
    drawn_times,
    round_up,
    side_view,
    turn_text,
    two_views,
    utilisation_lines,
)
from fea.reporting.skin import pressure_map
from fea.reporting.stepfigures import step_charts, step_strip
from fea.reporting.verdictfigures import governing_pictures
from fea.reporting.words import counted, listed, place_text, plain
from fea.study.advice import Advice


@dataclass(frozen=True)
class Figures:
    """All figures by key, and a note where they had to be drawn in the plainer form."""

    figures: Mapping[str, Figure]
    note: str


def draw_figures(result: Assessment, found: Advice | None = None) -> Figures:
    """Draw every picture and chart of a report, in which ``found`` orders the walls to measure."""
    drafts = [*governing_pictures(result), *step_pictures(result, found)]
    drafts += [*hardest_pictures(result), _deformed(result), _mesh(result)]
    others = (_buckled(result), step_strip(result), pressure_map(result))
    drafts += [draft for draft in others if draft]
    rendering = render([picture for _, picture, _, _ in drafts])
    pictures = [
        Figure(key, image, "image/png", alt, caption)
        for (key, _, alt, caption), image in zip(drafts, rendering.images, strict=True)
    ]
    charts = [chart for chart in (_envelope(result), _push(result)) if chart]
    figures = {figure.key: figure for figure in (*pictures, *charts, *step_charts(result))}
    return Figures(MappingProxyType(figures), rendering.note)


def _deformed(result: Assessment) -> Draft:
    mesh = result.device.mesh
    case = max(result.every_case, key=lambda each: each.max_deflection)
    moved = result.run.solutions[case.name].displacement[: len(mesh.points), :3]
    moved = np.nan_to_num(moved)
    length = np.linalg.norm(moved, axis=1)
    triangles = mesh.cells["triangle"]
    times = drawn_times(float(length.max()), float(np.ptp(mesh.points, axis=0).max()))
    high = round_up(float(length.max()))
    picture = Picture(
        mesh.points + times * moved, triangles,
        (two_views(result.device.side)[0], side_view(result)),
        triangle_values=length[triangles].mean(axis=1), lines=bar_lines(result),
        line_values=length[bar_lines(result)].mean(axis=1), line_radius=bar_radius(result),
        scale=Scale("displacement, mm", 0.0, high, bands=8),
        outline=mesh.points[free_edges(triangles)],
    )
    enlarged = ("drawn to scale" if times == 1 else
                f"drawn {times:g} times larger than it is")
    facts = (f"Case “{case.name}”: the farthest point moves {quantity_text(case.max_deflection)} "
             f"mm; the ankle turns {turn_text(case)}.")
    alt = f"The loaded device, its movement {enlarged}, over the rims of the unloaded one. {facts}"
    caption = (f"{facts} The movement is {enlarged}; thin lines show the rims of the unloaded "
               "device. Displacement includes the movement of the limb with the device.")
    return "deformed", picture, alt, caption


def _buckled(result: Assessment) -> Draft | None:
    """The shape of the case that is nearest to buckling; None where no case buckles."""
    check = next((c for c in result.checks if c.topic == BUCKLING and c.place is not None
                  and c.horizon == "today"), None)  # fmt: skip
    if check is None:
        return None
    mesh, mode = result.device.mesh, result.run.modes[check.case]
    shape = mode.shapes[0, : len(mesh.points), :3]
    length, triangles = np.linalg.norm(shape, axis=1), mesh.cells["triangle"]
    drawn = DRAWN_SHARE * float(np.ptp(mesh.points, axis=0).max())
    factor = f"{mode.factors[0]:.2f}"
    picture = Picture(
        mesh.points + drawn * shape, triangles, two_views(result.device.side),
        triangle_values=length[triangles].mean(axis=1), lines=bar_lines(result),
        line_values=length[bar_lines(result)].mean(axis=1), line_radius=bar_radius(result),
        scale=Scale("movement, % of the largest", 0.0, 1.0, factor=100.0),
        outline=mesh.points[free_edges(triangles)],
    )
    where = place_text(check.place, result.device.side)
    facts = (f"Case “{check.case}” would buckle like this at {factor} times its loads, by "
             f"calculation; the shape strains {plain(check.zone)} hardest, {where}. "
             f"{PROOF[mode.proved].capitalize()}.")
    alt = f"The buckled shape over the rims of the device as it is. {facts}"
    caption = (f"{facts} A shape has no size of its own: it is drawn large enough to be seen, and "
               "may as well go the other way. The check takes off knock-down and loss of "
               "stiffness, see Checks.")
    return "buckling", picture, alt, caption


def _mesh(result: Assessment) -> Draft:
    mesh, device = result.device.mesh, result.device
    callouts = tuple(
        Callout(plain(zone), tuple(_middle(result, zone))) for zone in (*device.walls, *device.bars)
    )
    picture = Picture(
        mesh.points, mesh.cells["triangle"], two_views(device.side), lines=bar_lines(result),
        line_radius=bar_radius(result), mesh_edges=True, callouts=callouts,
    )
    zones = listed([plain(zone) for zone in (*device.walls, *device.bars)])
    alt = f"The mesh of triangles, with the zones named: {zones}."
    caption = f"The mesh and the zones that the checks speak of: {zones}."
    return "mesh", picture, alt, caption


def _envelope(result: Assessment) -> Figure | None:
    cases = [case for case in result.cases if case.utilisation]
    if len(cases) < 2:
        return None
    heel, foot = result.limb.landmarks["heel"][0], result.limb.foot_length
    share = np.array([100.0 * (case.cop[0] - heel) / foot for case in cases])
    series, peak = utilisation_lines(result, cases, share)
    chart = line_chart(series, x_label="centre of pressure, % of foot length from the heel",
                       y_label="utilisation of the allowed stress, %", limit=LIMIT)
    text = ("How hard each zone works over the place of the ground’s push, each case with its own "
            "force and with the worst model of the limb; where several cases push at one place, "
            f"the hardest counts. {peak} The verdict rests on these cases.")
    return Figure("envelope", chart, "image/svg+xml", f"Line chart. {text}", text)


def _push(result: Assessment) -> Figure | None:
    cases = [case for case in result.cases if case.cop is not None]
    if not cases:
        return None
    mesh = result.device.mesh
    longest = max(float(np.hypot(case.force[0], case.force[2])) for case in cases)
    axis = result.device.landmarks["ankle_axis"]
    reach = 0.9 * float(axis[2]) / longest
    names: dict[tuple[float, float, float, float], list[str]] = {}
    for number, case in enumerate(cases, start=1):
        tip = np.array([case.cop[0], case.cop[2]])
        tail = tip - reach * np.array([case.force[0], case.force[2]])
        x0, z0, x1, z1 = np.round([*tail, *tip], 1).tolist()
        names.setdefault((x0, z0, x1, z1), []).append(str(number))
    arrows = [
        Arrow(", ".join(alike), (x0, z0), (x1, z1)) for (x0, z0, x1, z1), alike in names.items()
    ]
    chart = push_diagram(mesh.points[:, [0, 2]], mesh.cells["triangle"], bar_lines(result), arrows,
                         axis=(float(axis[0]), float(axis[2])))
    text = (f"The ground’s push in {counted(len(cases), 'case')}, from the side, numbered as in "
            f"the table; the longest arrow is {longest:.0f} N.")
    return Figure("push", chart, "image/svg+xml", f"Diagram. {text}", text)


def _middle(result: Assessment, zone: str) -> NDArray[np.float64]:
    """The point of a zone nearest to its mean, so that it lies on the zone."""
    mesh = result.device.mesh
    centres = mesh.points[mesh.zone_cells(zone)].mean(axis=1)
    return centres[np.argmin(np.linalg.norm(centres - centres.mean(axis=0), axis=1))]
