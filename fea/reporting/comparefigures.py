# SPDX-License-Identifier: MIT
"""The pictures of a comparison: before and now side by side, on one scale; and all checks."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.wording import quantity_text
from fea.drawing.pairchart import Pair, pair_chart
from fea.drawing.picture import Beside, Picture, Scale
from fea.drawing.render import render
from fea.drawing.scene import free_edges
from fea.reporting.answers import requirement
from fea.reporting.figures import Figures
from fea.reporting.hardest import hardest_today
from fea.reporting.sketch import (
    LIMIT,
    Figure,
    bar_lines,
    bar_radius,
    drawn_times,
    round_up,
    side_view,
)
from fea.study.compare import Comparison
from fea.study.comparedchecks import Compared, share

NAMES = ("before", "now")
MOST_ROWS = 24
"""Lines of the chart of checks; the hardest are drawn."""

Drawing = tuple[str, Beside, str, str]
"""Key, pictures, alternative text and caption."""


def draw_comparison(result: Comparison) -> Figures:
    """Draw every picture and chart of a comparison."""
    drawings = [_hardest(result), *_moved(result)]
    rendering = render([drawing[1] for drawing in drawings])
    figures = [
        Figure(key, image, "image/png", alt, caption)
        for (key, _, alt, caption), image in zip(drawings, rendering.images, strict=True)
    ]
    figures += _chart(result)
    return Figures(MappingProxyType({each.key: each for each in figures}), rendering.note)


def _hardest(result: Comparison) -> Drawing:
    """Utilisation of both; one colour is the same share of what is allowed on both."""
    drawn = [hardest_today(each) for each in (result.before, result.after)]
    pictures = tuple(picture for _, picture, _, _ in drawn)
    told = [caption.removesuffix(".").split(". ") for *_, caption in drawn]
    same = [each for each in told[0] if each in told[1]]
    own = [". ".join(each for each in one if each not in same) for one in told]
    text = ". ".join([*same, *(f"{name}: {words}" for name, words in zip(
        ("Before", "Now"), own, strict=True) if words)]) + "."  # fmt: skip
    alt = ("Both devices from the front and outer side and from behind and the inner side, to one "
           f"scale, coloured by utilisation on one scale of colours. {text}")
    caption = f"Colours and lengths mean the same in all panels. {text}"
    return "hardest", Beside(pictures, NAMES), alt, caption


def _moved(result: Comparison) -> list[Drawing]:
    """Displacement of both in the case that moves the first one furthest; none without one."""
    both = (result.before, result.after)
    shared = {each.name for each in result.after.every_case}
    cases = [each for each in result.before.every_case if each.name in shared]
    if not cases:
        return []
    case = max(cases, key=lambda each: each.max_deflection).name
    motions = [_motion(each, case) for each in both]
    farthest = [float(np.linalg.norm(each, axis=1).max()) for each in motions]
    size = float(np.ptp(result.before.device.mesh.points, axis=0).max())
    times = drawn_times(max(farthest), size)
    scale = Scale("displacement, mm", 0.0, round_up(max(farthest)), bands=8)
    pictures = tuple(_moved_picture(each, motion, times, scale)
                     for each, motion in zip(both, motions, strict=True))  # fmt: skip
    enlarged = "to scale" if times == 1 else f"{times:g} times larger than it is"
    text = (f"Case “{case}”: the farthest point moves {quantity_text(farthest[0])} mm before and "
            f"{quantity_text(farthest[1])} mm now, drawn {enlarged} on both; thin lines show the "
            "rims without load. Displacement includes the movement of the limb with the device.")
    return [("deformed", Beside(pictures, NAMES),
             f"Both loaded devices over their unloaded rims, to one scale. {text}", text)]


def _motion(result: Assessment, case: str) -> NDArray[np.float64]:
    count = len(result.device.mesh.points)
    return np.nan_to_num(result.run.solutions[case].displacement[:count, :3])


def _moved_picture(
    result: Assessment, motion: NDArray[np.float64], times: float, scale: Scale
) -> Picture:
    mesh, lines = result.device.mesh, bar_lines(result)
    triangles, length = mesh.cells["triangle"], np.linalg.norm(motion, axis=1)
    return Picture(
        mesh.points + times * motion, triangles,
        (side_view(result),),
        triangle_values=length[triangles].mean(axis=1), lines=lines,
        line_values=length[lines].mean(axis=1), line_radius=bar_radius(result), scale=scale,
        outline=mesh.points[free_edges(triangles)],
    )  # fmt: skip


def _chart(result: Comparison) -> list[Figure]:
    """Checks of both devices, the hardest first."""
    rows = [row for row in result.rows if row.before is not None and row.after is not None]
    shown = [row for row in rows if share_of(row) > 0.0][:MOST_ROWS]
    if not shown:
        return []
    chart = pair_chart(
        [_pair(row) for row in shown], x_label="utilisation of what is allowed, %",
        limit=replace(LIMIT, text="limit: 100 %"), names=NAMES,
    )  # fmt: skip
    text = ("How much of what is allowed each check uses, before and now, without the errors of "
            "the meshes. The grey band is what the meshes leave open; a change that ends within it "
            "cannot be told, and has no arrow. The thin line to the upright stroke adds the error "
            "of the mesh now: there the device is judged.")
    if len(shown) < len(rows):
        text += f" Shown are the {len(shown)} hardest-worked checks of {len(rows)}."
    return [Figure("changes", chart, "image/svg+xml", f"Chart with a line for each check. {text} "
                   "The same numbers stand in the tables below.", text)]


def share_of(row: Compared) -> float:
    """The lesser share that both devices use, which a logarithmic axis needs above zero."""
    return min(share(check) for check in (row.before, row.after) if check is not None)


def _pair(row: Compared) -> Pair:
    assert row.before is not None and row.after is not None and row.unresolved is not None
    when = " (fall)" if row.horizon == "first fall" else ""
    return Pair(f"{requirement(row.topic, row.zone)}{when}", 100.0 * share(row.before),
                100.0 * share(row.after), 100.0 * row.unresolved, row.outcome != "no difference",
                100.0 * row.after.utilisation)  # fmt: skip
