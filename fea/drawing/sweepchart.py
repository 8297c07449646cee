# SPDX-License-Identifier: MIT
"""Charts of a sweep: what was found over each varied value, and the front of mass and reserve."""

import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fea.drawing.charts import TEXT, svg
from fea.drawing.inks import BEYOND, FAINT_INK, INK, RULE, SERIES
from fea.errors import InputError
from fea.study.sweep import MASS, RESERVE, Sweep
from fea.study.sweeprow import FAILED, Row

Array = NDArray[np.float64]

QUANTITIES = (
    ("ankle_stiffness_nm_per_deg", "ankle stiffness, N·m/deg"),
    (RESERVE, "governing factor over required"),
    (MASS, "mass, g"),
    ("life_months", "shortest life, months"),
)
LIFE_AS_A_CLASS = ("service_life_reserve", "service life: factor over required")
"""In place of months, which nobody can tell of materials whose published life ends early."""
SIGNS_AN_INCH = 14.0  # of a title
NOTHING = ("", "no design could be judged")
MOST = 5
"""Varied values that one sheet shows; more would be too small to read."""


def sweep_chart(result: Sweep) -> bytes:
    """An SVG: one column a varied value, one row a quantity, one mark a design.

    Filled marks are designs of which every check that could be made is met, hollow ones the rest;
    crosses at the foot of a panel are designs that could not be judged. A quantity that no design
    has is left out; so are varied values beyond the first `MOST`, and the title says so.

    Raises:
        InputError: the plan varies nothing.
    """
    if not result.varied:
        raise InputError("the plan varies nothing to draw over; take the front of mass and reserve")
    varied = result.varied[:MOST]
    shown = [each for each in QUANTITIES if _anywhere(result, each[0])]
    if not _anywhere(result, "life_months") and _anywhere(result, LIFE_AS_A_CLASS[0]):
        shown.append(LIFE_AS_A_CLASS)
    shown = shown or [NOTHING]
    width = 1.2 + 2.9 * len(varied)
    figure = Figure(
        figsize=(width, 1.2 + 2.1 * len(shown)), facecolor="white",
        layout="constrained",
    )  # fmt: skip
    figure.suptitle(_title(result, width, "Cross", result.varied[MOST:]), **TEXT)
    panels = figure.subplots(len(shown), len(varied), squeeze=False, sharex="col",
                             sharey="row")  # fmt: skip
    for line, (column, words) in zip(panels, shown, strict=True):
        for axes, name in zip(line, varied, strict=True):
            _panel(axes, result.rows, name, column)
        line[0].set_ylabel(words, **TEXT)
    for axes, name in zip(panels[-1], varied, strict=True):
        axes.set_xlabel(_in_lines(name), **TEXT)
    return svg(figure)


def front_chart(result: Sweep) -> bytes:
    """An SVG of reserve over mass: each design a mark, the front a line with the designs' numbers.

    On the front are designs that no other one beats in both.
    """
    figure = Figure(figsize=(9.0, 4.8), facecolor="white", layout="constrained")
    axes = figure.add_subplot()
    _style(axes)
    rows = [row for row in result.rows if _known(row, MASS) and _known(row, RESERVE)]
    mass, reserve = (_values(result.front, column) for column in (MASS, RESERVE))
    axes.step(mass, reserve, where="post", color=SERIES[1], linewidth=1.4)
    axes.plot(mass, reserve, "D", color=SERIES[1], markersize=10.0, markerfacecolor="none",
              linestyle="none")  # fmt: skip
    _marks(axes, _values(rows, MASS), _values(rows, RESERVE), rows)
    for row, x, y in zip(result.front, mass, reserve, strict=True):
        axes.annotate(str(row["design"]), (x, y), xytext=(7, 6), textcoords="offset points", **TEXT)
    _limit(axes)
    axes.annotate("required", (1.0, 1.0), xycoords=("axes fraction", "data"), xytext=(0, 3),
                  textcoords="offset points", ha="right", fontsize=8, color=BEYOND)  # fmt: skip
    axes.set_xlabel("mass, g", **TEXT)
    axes.set_ylabel("governing factor over required", **TEXT)
    front = "Line and diamonds: designs that no other one beats in both, with their numbers."
    figure.suptitle(f"{_title(result, 9.0, 'Not shown')}\n{front}", **TEXT)
    return svg(figure)


def _anywhere(result: Sweep, column: str) -> bool:
    return any(_known(row, column) for row in result.rows)


def _title(result: Sweep, width: float, lost: str, left_out: Sequence[str] = ()) -> str:
    """What is seen in a figure of a width in inches; ``lost`` says where failed designs are."""
    words = [f"{result.plan.title or 'Sweep'}: {len(result.rows)} designs. Filled: every check "
             "that could be made is met; hollow: not."]  # fmt: skip
    words += [f"{lost}: {len(result.failed)} that could not be judged."] if result.failed else []
    words += [f"Left out: {', '.join(left_out)}."] if left_out else []
    return "\n".join(textwrap.wrap(" ".join(words), int(SIGNS_AN_INCH * width)))


def _panel(axes: Axes, rows: Sequence[Row], name: str, column: str) -> None:
    _style(axes)
    known = [row for row in rows if _known(row, column)]
    lost = [row for row in rows if row["state"] == FAILED]
    words = sorted({str(row[name]) for row in rows})
    if not any(isinstance(row[name], str) for row in rows):
        words = []

    def along(some: Sequence[Row]) -> Array:
        if not words:
            return _values(some, name)
        return np.array([words.index(str(row[name])) for row in some], dtype=float)

    if words:
        axes.set_xticks(range(len(words)), [_in_lines(word) for word in words])
    axes.margins(x=0.08)
    _marks(axes, along(known), _values(known, column), known)
    if column.endswith("_reserve"):
        _limit(axes)
    if lost:  # an empty line that is not clipped leaves the layout no room
        foot = np.full(len(lost), 0.03)
        axes.plot(along(lost), foot, "x", color=BEYOND, markersize=6.0, linestyle="none",
                  transform=axes.get_xaxis_transform(), clip_on=False)  # fmt: skip


def _marks(axes: Axes, x: Array, y: Array, rows: Sequence[Row]) -> None:
    held = np.array([float(row.get(RESERVE) or 0.0) >= 1.0 for row in rows], dtype=bool)
    for which, fill in ((held, SERIES[0]), (~held, "white")):
        axes.plot(x[which], y[which], "o", color=SERIES[0], markerfacecolor=fill, markersize=5.0,
                  linestyle="none")  # fmt: skip


def _limit(axes: Axes) -> None:
    axes.axhline(1.0, color=BEYOND, linewidth=1.2)
    axes.set_ylim(0.0, max(1.15, axes.get_ylim()[1]))


def _style(axes: Axes) -> None:
    axes.grid(color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(FAINT_INK)
    axes.tick_params(labelsize=8.5, colors=INK)


def _known(row: Row, column: str) -> bool:
    value = row.get(column)
    return isinstance(value, (int, float)) and bool(np.isfinite(value))


def _values(rows: Sequence[Row], column: str) -> Array:
    return np.array([row[column] for row in rows], dtype=float)


def _in_lines(name: str) -> str:
    """A dotted name in lines short enough for a panel.

    Example:
        >>> _in_lines("device.walls.ankle.sheet_mm").splitlines()
        ['device.walls.ankle.', 'sheet_mm']
    """
    lines = [""]
    for part in name.replace(" ", " \\0").replace(".", ".\\0").split("\\0"):
        if lines[-1] and len(lines[-1]) + len(part) > 24:
            lines.append("")
        lines[-1] += part
    return "\n".join(lines)
