# SPDX-License-Identifier: MIT
"""Charts of a step over time, and the strip of the device as it deforms through stance."""

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.assumptions import is_own_step
from fea.check.wording import percent_text, quantity_text
from fea.drawing.charts import Series, line_chart
from fea.drawing.picture import Picture, PushArrow, Scale
from fea.drawing.scene import free_edges
from fea.loadcase.knee import KneeDemand
from fea.reporting.sketch import (
    LIMIT,
    Draft,
    Figure,
    bar_lines,
    bar_radius,
    drawn_times,
    round_up,
    side_view,
    turn_text,
    utilisation_lines,
)
from fea.reporting.words import counted, plain
from fea.stance import CaseResult, peaks

TIME = "time, % of the gait cycle"
STRIP = 6  # instants of the picture strip
APART = 1.12  # of the width of the widest instant


def over_time(cases: Sequence[CaseResult]) -> tuple[list[CaseResult], list[CaseResult]]:
    """The cases that make a curve, in order of time, and those that stand beside it.

    Of several cases at one time the first makes the curve.
    """
    curve: dict[float, CaseResult] = {}
    beside = []
    for case in cases:
        if case.percent is None or case.percent in curve:
            beside.append(case)
        else:
            curve[case.percent] = case
    return [curve[percent] for percent in sorted(curve)], beside


def step_charts(result: Assessment) -> list[Figure]:
    """Utilisation, moments and ankle rotation over time; nothing without a step."""
    curve, beside = over_time(result.step)
    if len(curve) < 2:
        return []
    percent = np.array([case.percent for case in curve], dtype=float)
    judged = any(case.utilisation for case in curve)
    return [
        *([_utilisation(result, curve, beside, percent)] if judged else []),
        _moments(curve, percent),
        _rotation(curve, beside, percent),
    ]


def _utilisation(
    result: Assessment, curve: Sequence[CaseResult], beside: Sequence[CaseResult],
    percent: NDArray[np.float64],
) -> Figure:
    series, peak = utilisation_lines(result, curve, percent)
    chart = line_chart(series, x_label=TIME, y_label="utilisation of the allowed stress, %",
                       limit=LIMIT)
    rests = ("with a rigid foot; the verdict rests on the same instants with the worst model of "
             "the limb" if is_own_step(result.load_set, result.step_set) else
             "for charts, not for the verdict")
    text = f"How hard each zone works through {_step_words(result)}, {rests}. {peak}"
    for case in [case for case in beside if case.utilisation]:
        top = peaks([case])[0]
        when = "" if case.percent is None else f" (at {case.percent:.3g} %)"
        text += (f" Beside the curve, “{case.name}”{when} reaches "
                 f"{percent_text(top.utilisation)} in {plain(top.zone)}.")
    moved = [case.moved_back for case in (*curve, *beside) if case.moved_back > 0.0]
    if moved:
        text += (f" The plate ends before the push of {counted(len(moved), 'instant')}, which was "
                 f"moved back by up to {max(moved):.0f} mm.")
    return Figure("step_chart", chart, "image/svg+xml", f"Line chart. {text}", text)


def _moments(curve: Sequence[CaseResult], percent: NDArray[np.float64]) -> Figure:
    def line(name: str, value: Callable[[CaseResult], float | None]) -> Series:
        found = [value(case) for case in curve]
        values = [math.nan if moment is None else moment / 1000.0 for moment in found]
        return Series(name, percent, np.array(values))

    def knee(value: Callable[[KneeDemand], float]) -> Callable[[CaseResult], float | None]:
        return lambda case: None if case.knee is None else value(case.knee.demand)

    series = [
        line("ankle, by the ground", lambda case: case.dorsiflexing_moment),
        line("ankle, carried by the device", lambda case: case.ankle.by_device),
        line("knee, without the device", knee(lambda demand: demand.without_device)),
        line("knee, with the device", knee(lambda demand: demand.at_knee)),
    ]
    series = [each for each in series if np.isfinite(each.y).any()]
    chart = line_chart(series, x_label=TIME, y_label="external moment, N·m")
    top = max(curve, key=lambda case: case.dorsiflexing_moment)
    text = (f"External moments, dorsiflexing the foot and flexing the knee. The ground’s moment "
            f"about the ankle is greatest, {_newton_metres(top.dorsiflexing_moment)}, at "
            f"{top.percent:.3g} % of the gait cycle ({top.name}); the device carries "
            f"{_newton_metres(top.ankle.by_device)} of it.")
    if all(abs(c.ankle.by_device - c.dorsiflexing_moment) < 1.0 for c in curve):
        text += " It carries the whole throughout, so the two lines of the ankle are one."
    if len(series) > 2:
        text += (" The device takes off the knee exactly what it carries at the ankle, and nothing "
                 "more: without it the same force would stand at the ankle, or as far ahead as the "
                 "calf holds it. Below zero the knee is pressed straight.")
    else:
        text += " The set gives no angle of the shank, so nothing is known of the knee."
    return Figure("moment", chart, "image/svg+xml", f"Line chart. {text}", text)


def _rotation(
    curve: Sequence[CaseResult], beside: Sequence[CaseResult], percent: NDArray[np.float64]
) -> Figure:
    angle = np.degrees([case.ankle_rotation for case in curve])
    chart = line_chart([Series("ankle", percent, angle)], size=(9.0, 2.6), x_label=TIME,
                       y_label="dorsiflexion, °")
    top = max(curve, key=lambda case: abs(case.ankle_rotation))
    text = ("How far the ankle turns in the device, dorsiflexion positive; the give of flesh and "
            f"liner is part of it. Most at {top.percent:.3g} % of the gait cycle: "
            f"{turn_text(top)}.")
    for case in beside:
        text += f" Beside the curve, “{case.name}”: {turn_text(case)}."
    return Figure("rotation", chart, "image/svg+xml", f"Line chart. {text}", text)


def step_strip(result: Assessment) -> Draft | None:
    """The deforming device side by side at a few instants, each as the foot is pitched then."""
    curve, _ = over_time(result.step)
    if len(curve) < 2:
        return None
    chosen, mesh = _chosen(curve), result.device.mesh
    moved = [_movement(result, case) for case in chosen]
    most = max(float(np.linalg.norm(each, axis=1).max()) for each in moved)
    times = drawn_times(most, float(np.ptp(mesh.points, axis=0).max()))
    panels = _Panels(result, chosen, [mesh.points + times * each for each in moved])
    triangles, lines, count = mesh.cells["triangle"], bar_lines(result), len(mesh.points)
    length = np.concatenate([np.linalg.norm(each, axis=1) for each in moved])
    triangles, lines = (
        np.concatenate([cells + k * count for k in range(len(chosen))])
        for cells in (triangles, lines)
    )
    picture = Picture(
        np.concatenate(panels.points), triangles, (side_view(result),),
        triangle_values=length[triangles].mean(axis=1), lines=lines,
        line_values=length[lines].mean(axis=1), line_radius=bar_radius(result),
        scale=Scale("displacement, mm", 0.0, round_up(most), bands=8),
        outline=panels.outline, arrows=panels.arrows,
    )
    enlarged = "to scale" if times == 1 else f"{times:g} times larger than it is"
    longest = max(float(np.linalg.norm(case.force)) for case in chosen)
    text = (f"The device at {len(chosen)} instants of {_step_words(result)}, from left to right, "
            "seen from the outer side and pitched as the foot is; time is in % of the gait cycle. "
            f"Its movement is drawn {enlarged}, over the rims of the unloaded device. Arrows are "
            f"the ground’s push, the longest {longest:.0f} N; the line is the floor. The shank is "
            "held: what moves is the device, and the foot in it.")
    return "strip", picture, f"Picture strip. {text}", text


class _Panels:
    """Copies of the device side by side, turned by the pitch, the push standing on the floor.

    Attributes:
        points: of each copy (n, 3), as drawn;  outline: (k, 2, 3) rims and floor;  arrows: pushes.
    """

    def __init__(
        self, result: Assessment, cases: Sequence[CaseResult], shapes: list[NDArray[np.float64]]
    ) -> None:
        mesh, view = result.device.mesh, side_view(result)
        across = np.cross(view.up, view.towards)
        rims = mesh.points[free_edges(mesh.cells["triangle"])]
        reach = 0.45 * float(np.ptp(mesh.points[:, 2])) / max(
            float(np.linalg.norm(case.force)) for case in cases
        )
        width = APART * max(
            float(np.ptp(np.concatenate([_turned(shape, case), _turned(mesh.points, case)])[:, 0]))
            for shape, case in zip(shapes, cases, strict=True)
        )
        self.points, outline, arrows = [], [], []
        for k, (case, shape) in enumerate(zip(cases, shapes, strict=True)):
            resting = _turned(mesh.points, case)
            tip = np.asarray(case.cop, dtype=float)
            ends = _turned(np.array([tip - reach * np.asarray(case.force), tip]), case)
            middle = 0.5 * (resting[:, 0].min() + resting[:, 0].max())
            place = k * width * across - np.array([middle, 0.0, ends[1, 2]])
            self.points.append(_turned(shape, case) + place)
            outline.append(_turned(rims, case) + place)
            floor = k * width * across + 0.48 * width * np.outer([-1.0, 1.0], [1.0, 0.0, 0.0])
            outline.append(floor[None])
            (x0, y0, z0), (x1, y1, z1) = (ends + place).tolist()
            words = f"{case.percent:.3g} %\n{np.linalg.norm(case.force):.0f} N"
            arrows.append(PushArrow(words, (x0, y0, z0), (x1, y1, z1)))
        self.outline, self.arrows = np.concatenate(outline), tuple(arrows)


def _turned(points: NDArray[np.float64], case: CaseResult) -> NDArray[np.float64]:
    """Points (..., 3) of the device's frame as the floor sees them, the foot pitched heel-up."""
    sine, cosine = math.sin(case.pitch), math.cos(case.pitch)
    return points @ np.array([[cosine, 0.0, -sine], [0.0, 1.0, 0.0], [sine, 0.0, cosine]])


def _movement(result: Assessment, case: CaseResult) -> NDArray[np.float64]:
    moved = result.run.step[case.name].displacement[: len(result.device.mesh.points), :3]
    return np.nan_to_num(moved)


def _chosen(curve: Sequence[CaseResult]) -> list[CaseResult]:
    """A few cases spread over time, the hardest among them."""
    percent = np.array([case.percent for case in curve], dtype=float)
    wanted = np.linspace(percent[0], percent[-1], STRIP)
    hardest = int(np.argmax([max(case.utilisation.values(), default=0.0) for case in curve]))
    numbers = [int(np.argmin(np.abs(percent - time))) for time in wanted]
    if hardest not in numbers:
        numbers[1 + int(np.argmin(np.abs(wanted[1:-1] - percent[hardest])))] = hardest
    return [curve[number] for number in sorted(set(numbers))]


def _step_words(result: Assessment) -> str:
    return "a step" if result.step_set is None else f"the step “{result.step_set.title}”"


def _newton_metres(moment: float) -> str:
    return f"{quantity_text(moment / 1000.0)} N·m"
