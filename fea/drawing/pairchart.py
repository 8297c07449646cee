# SPDX-License-Identifier: MIT
"""A chart of values before and after a change, a line for each, as SVG."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator, NullFormatter

from fea.drawing.charts import Limit, sheet, svg
from fea.drawing.inks import FAINT_INK, INK, RULE, SERIES

ROW_HEIGHT, FRAME_HEIGHT, WIDTH = 0.34, 1.25, 9.0
WIDE = 20.0
"""Ratio of the largest to the smallest value from which the axis is logarithmic."""


@dataclass(frozen=True)
class Pair:
    """One line of the chart.

    Attributes:
        name: at its head.
        before, after: values, 0 or more.
        open: half width of the band round `before` in which no change can be told.
        told: whether the change can be told.
        judged: value after that is judged, with its error in it.
    """

    name: str
    before: float
    after: float
    open: float
    told: bool
    judged: float


def pair_chart(pairs: Sequence[Pair], *, x_label: str, limit: Limit, names: tuple[str, str]
               ) -> bytes:  # fmt: skip
    """An SVG chart: an open mark before, a full one after, an arrow where the change can be told.

    A thin line with a stop leads from the value after to the one that is judged.

    Args:
        pairs: lines, from the top.
        x_label: quantity and unit.
        limit: drawn as a strong vertical line.
        names: of the open and of the full mark.

    Example:
        >>> pair_chart([Pair("heel", 80.0, 50.0, 9.0, True, 55.0)], x_label="%",
        ...            limit=Limit(100.0, "limit"), names=("before", "now"))[:5]
        b'<?xml'
    """
    figure, axes = sheet((WIDTH, FRAME_HEIGHT + ROW_HEIGHT * len(pairs)))
    _scale(axes, pairs, limit)
    for level, pair in enumerate(pairs):
        low = max(pair.before - pair.open, 0.2 * pair.before)
        axes.plot([low, pair.before + pair.open], [level, level], color=RULE, linewidth=7.0,
                  solid_capstyle="butt", zorder=1)
        axes.plot([pair.after, pair.judged], [level, level], color=SERIES[0], linewidth=1.1,
                  zorder=2)
        if pair.told:
            axes.annotate("", (pair.after, level), (pair.before, level), zorder=2,
                          arrowprops={"arrowstyle": "-|>", "color": SERIES[0], "linewidth": 1.3,
                                      "shrinkA": 3.0, "shrinkB": 3.0})
        axes.plot(pair.before, level, "o", color=INK, markerfacecolor="white", zorder=3,
                  markersize=6.0, label=names[0] if level == 0 else None)
        axes.plot(pair.after, level, "o", color=SERIES[0], zorder=3, markersize=6.0,
                  label=names[1] if level == 0 else None)
        axes.plot(pair.judged, level, "|", color=SERIES[0], markersize=9.0, zorder=2,
                  label=f"{names[1]}, as judged" if level == 0 else None)
    axes.axvline(limit.value, color=INK, linewidth=1.4, zorder=1)
    axes.annotate(limit.text, (limit.value, 1.0), xycoords=("data", "axes fraction"), ha="center",
                  xytext=(0, 3), textcoords="offset points", fontsize=9, color=INK)
    axes.set_yticks(range(len(pairs)), [textwrap.fill(pair.name, 46) for pair in pairs])
    axes.set_ylim(len(pairs) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0.0)
    axes.set_xlabel(x_label, fontsize=9, color=INK)
    axes.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9,
                labelcolor=INK, edgecolor=FAINT_INK)
    return svg(figure)


def _scale(axes: Axes, pairs: Sequence[Pair], limit: Limit) -> None:
    """The axis of values: as wide as values and limit, but not as every band."""
    axes.grid(visible=False, axis="y")
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    values = [value for pair in pairs for value in (pair.before, pair.after, pair.judged)]
    values.append(limit.value)
    if max(values) > WIDE * min(values) > 0.0:
        axes.set_xscale("log")
    else:
        most = max((pair.before + pair.open for pair in pairs), default=0.0)
        axes.set_xlim(0.0, 1.04 * max(*values, min(most, 1.3 * max(values))))
        axes.xaxis.set_major_locator(MaxNLocator(8))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_formatter(NullFormatter())
