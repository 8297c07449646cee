# SPDX-License-Identifier: MIT
"""Line charts and the drawing of the ground's push, as SVG that is the same for the same data."""

import io
import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fea.drawing.inks import FAINT_INK, INK, PLAIN, RULE, SERIES

MARKERS = "osD^vP"
STYLES: tuple[str | tuple[int, tuple[int, ...]], ...] = (
    "solid", (0, (5, 2)), (0, (1, 1)), (0, (5, 1, 1, 1)), (0, (8, 2)), (0, (3, 1, 1, 1, 1, 1)))
MOST_MARKERS = 12  # of a line; more hide it
TEXT = {"fontsize": 9, "color": INK}


@dataclass(frozen=True, eq=False)
class Series:
    """One line of a chart: `name` stands at its end; `x` and `y` (k,); NaN leaves a gap."""

    name: str
    x: NDArray[np.float64]
    y: NDArray[np.float64]


@dataclass(frozen=True)
class Arrow:
    """A force on the page: `text` and its `tail` and `tip`, page coordinates (right, up)."""

    text: str
    tail: tuple[float, float]
    tip: tuple[float, float]


@dataclass(frozen=True)
class Limit:
    """A level that must not be passed, with its words."""

    value: float
    text: str


def line_chart(
    series: Sequence[Series], *, x_label: str, y_label: str, limit: Limit | None = None,
    size: tuple[float, float] = (9.0, 3.8),
) -> bytes:
    """An SVG chart of lines, told apart by marker, line style and a name at their end.

    Args:
        series: at most six lines.
        x_label, y_label: quantity and unit.
        limit: drawn as a strong horizontal line.
        size: inches.

    Example:
        >>> line = Series("heel", np.array([0.0, 1.0]), np.array([2.0, 3.0]))
        >>> line_chart([line], x_label="time, s", y_label="force, N")[:5]
        b'<?xml'
    """
    figure, axes = sheet(size)
    for number, line in enumerate(series):
        k = number % len(SERIES)
        axes.plot(line.x, line.y, marker=MARKERS[k], linestyle=STYLES[k], color=SERIES[k],
                  linewidth=1.7, markersize=4.5, markerfacecolor="white", clip_on=False,
                  markevery=max(1, len(line.x) // MOST_MARKERS))
    axes.margins(x=0.0)
    if min((float(np.nanmin(line.y, initial=0.0)) for line in series), default=0.0) < 0.0:
        axes.axhline(0.0, color=FAINT_INK, linewidth=0.8)
    _limit_line(axes, limit)
    _end_names(axes, series)
    axes.set_xlabel(x_label, **TEXT)
    axes.set_ylabel(y_label, **TEXT)
    return svg(figure)


def convergence_chart(
    series: Sequence[Series], limits: Sequence[float | None], *, x_label: str, y_label: str,
    size: tuple[float, float] = (9.0, 3.8),
) -> bytes:
    """An SVG chart of values over cell size, with the value each of them leads to at size zero.

    Args:
        series: at most six lines, `x` rising.
        limits: value of each line at x = 0, a filled mark; None for none.
        x_label, y_label: quantity and unit.
        size: inches.

    Example:
        >>> line = Series("heel", np.array([2.0, 4.0]), np.array([9.0, 8.0]))
        >>> convergence_chart([line], [10.0], x_label="cell size, mm", y_label="MPa")[:5]
        b'<?xml'
    """
    figure, axes = sheet(size)
    for number, (line, limit) in enumerate(zip(series, limits, strict=True)):
        k = number % len(SERIES)
        axes.plot(line.x, line.y, marker=MARKERS[k], linestyle=STYLES[k], color=SERIES[k],
                  linewidth=1.7, markersize=5.5, markerfacecolor="white", clip_on=False)
        if limit is not None:
            axes.plot([0.0, line.x[0]], [limit, line.y[0]], linestyle=(0, (1, 2)),
                      color=SERIES[k], linewidth=1.2)
            axes.plot(0.0, limit, marker=MARKERS[k], color=SERIES[k], markersize=7.5,
                      clip_on=False)
    axes.set_xlim(0.0, max(float(line.x.max()) for line in series))
    _limit_line(axes, None)
    _end_names(axes, series)
    axes.set_xlabel(x_label, **TEXT)
    axes.set_ylabel(y_label, **TEXT)
    return svg(figure)


def push_diagram(
    points: NDArray[np.float64], triangles: NDArray[np.int64], lines: NDArray[np.int64],
    arrows: Sequence[Arrow], *, axis: tuple[float, float], unit: str = "mm",
    size: tuple[float, float] = (9.0, 5.2),
) -> bytes:
    """An SVG side view: the object as a silhouette, forces as named arrows.

    Args:
        points: (n, 2) page coordinates (right, up); the floor is at height 0.
        triangles, lines: (c, 3) and (m, 2) node numbers.
        arrows: forces, drawn from tail to tip.
        axis: point marked as the ankle axis; the picture ends above it.
        unit: of the coordinates.
        size: inches.
    """
    figure, axes = sheet(size)
    axes.add_collection(PolyCollection(list(points[triangles]), facecolors=PLAIN,
                                       edgecolors=PLAIN, linewidths=0.4, rasterized=True))
    for ends in points[lines]:
        axes.plot(*ends.T, color=FAINT_INK, linewidth=3.0, solid_capstyle="round")
    for arrow in arrows:
        axes.annotate("", xy=arrow.tip, xytext=arrow.tail, annotation_clip=False,
                      arrowprops={"arrowstyle": "-|>", "color": SERIES[0], "linewidth": 1.4})
        away = np.subtract(arrow.tail, arrow.tip) / max(math.dist(arrow.tail, arrow.tip), 1e-300)
        axes.annotate(arrow.text, arrow.tail, xytext=tuple(8.0 * away), ha="center", va="center",
                      textcoords="offset points", fontsize=9, color=SERIES[0],
                      annotation_clip=False)
    axes.axhline(0.0, color=FAINT_INK, linewidth=1.0)
    axes.plot(*axis, marker="+", color=INK, markersize=13, markeredgewidth=1.6)
    axes.annotate("ankle axis", axis, xytext=(9, 5), textcoords="offset points", **TEXT)
    ends = np.array([end for arrow in arrows for end in (arrow.tail, arrow.tip)]).reshape(-1, 2)
    shown = np.vstack([points[points[:, 1] <= 1.5 * axis[1]], ends, axis])
    low, high = shown.min(axis=0), shown.max(axis=0)
    axes.set_xlim(low[0] - 0.12 * axis[1], high[0] + 0.12 * axis[1])
    axes.set_ylim(low[1] - 0.2 * axis[1], 1.5 * axis[1])
    axes.set_aspect("equal")
    axes.set_yticks([tick for tick in axes.get_yticks() if 0.0 <= tick <= 1.5 * axis[1]])
    axes.set_xlabel(f"forward of the ankle axis, {unit}", **TEXT)
    axes.set_ylabel(f"height, {unit}", **TEXT)
    return svg(figure)


def sheet(size: tuple[float, float]) -> tuple[Figure, Axes]:
    """An empty chart of a size in inches."""
    figure = Figure(figsize=size, facecolor="white", layout="constrained")
    axes = figure.add_subplot()
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(FAINT_INK)
    axes.tick_params(labelsize=8.5, colors=INK)
    return figure, axes


def _limit_line(axes: Axes, limit: Limit | None) -> None:
    low, high = axes.get_ylim()
    if limit is None:
        axes.set_ylim(min(low, 0.0), high)
        return
    axes.set_ylim(min(low, 0.0), max(high, 1.12 * limit.value))
    axes.axhline(limit.value, color=INK, linewidth=1.4)
    axes.annotate(limit.text, (0.0, limit.value), xycoords=("axes fraction", "data"),
                  xytext=(4, 3), textcoords="offset points", zorder=5,
                  bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"},
                  **TEXT)


def _end_names(axes: Axes, series: Sequence[Series]) -> None:
    """Names beside the last point of each line, moved apart where they would overlap."""
    low, high = axes.get_ylim()
    ends = {
        number: float(line.y[np.isfinite(line.y)][-1])
        for number, line in enumerate(series)
        if np.isfinite(line.y).any()
    }
    levels = spread(list(ends.values()), 0.07 * (high - low))
    for number, level in zip(ends, levels, strict=True):
        axes.annotate(textwrap.fill(series[number].name, 24), (1.0, level), xytext=(7, 0),
                      xycoords=("axes fraction", "data"), textcoords="offset points", va="center",
                      fontsize=9, color=SERIES[number % len(SERIES)], annotation_clip=False)


def spread(values: Sequence[float], gap: float) -> list[float]:
    """Values moved apart as little as needed, so that no two are closer than ``gap``.

    Example:
        >>> spread([5.0, 1.0, 5.2], 1.0)
        [4.6, 1.0, 5.6]
    """
    groups = [([k], values[k]) for k in sorted(range(len(values)), key=lambda k: values[k])]
    merged: list[tuple[list[int], float]] = []
    for members, middle in groups:
        merged.append((members, middle))
        while len(merged) > 1 and merged[-1][1] - merged[-2][1] < gap * 0.5 * (
            len(merged[-1][0]) + len(merged[-2][0])
        ):
            above, below = merged.pop()[0], merged.pop()[0]
            joined = below + above
            merged.append((joined, sum(values[k] for k in joined) / len(joined)))
    places = {
        k: middle + gap * (number - 0.5 * (len(members) - 1))
        for members, middle in merged
        for number, k in enumerate(members)
    }
    return [round(places[k], 12) for k in range(len(values))]


def svg(figure: Figure) -> bytes:
    """The file of a chart."""
    FigureCanvasSVG(figure)
    stream = io.BytesIO()
    with rc_context({"svg.hashsalt": "stanchion"}):
        figure.savefig(stream, format="svg", dpi=200, metadata={"Date": None, "Creator": None})
    return stream.getvalue()
