# SPDX-License-Identifier: MIT
"""The chart of a stiffness bench: moment over angle about three axes, with its linear fit."""

import io
import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fea.check.stiffness import ROTATION_FLAG_DEG, ROTATION_LIMIT_DEG
from fea.drawing.inks import FAINT_INK, INK, RULE, SERIES
from fea.study.bench import Bench
from fea.study.benchcurve import N_M_PER_DEG, Curve
from fea.study.rig import Direction

_PANELS: tuple[tuple[Direction, Direction], ...] = (
    ("dorsiflexion", "plantarflexion"),
    ("inversion", "eversion"),
    ("torsion inward", "torsion outward"),
)
_MARKS, _ROOM = "os", 1.25


def bench_chart(result: Bench) -> bytes:
    """A PNG of the curves: the first direction of each pair to the upper right, its opposite to
    the lower left; points are solved, lines are linear fits, hollow points lie beyond 5°. Dotted is
    where a linear solve would put points that were solved with large rotations.
    """
    figure = Figure(figsize=(11.0, 4.4), facecolor="white", layout="constrained")
    panels = figure.subplots(1, len(_PANELS))
    for axes, pair in zip(panels, _PANELS, strict=True):
        _panel(axes, [result.curves[direction] for direction in pair])
    panels[0].set_ylabel("moment on the dummy shank, N·m", fontsize=9, color=INK)
    figure.suptitle(
        f"{result.device.name} on rig {result.rig.name}\n"
        f"points: solved, hollow beyond {ROTATION_FLAG_DEG:g}°; lines: linear fit; dotted: where "
        "a linear solve would put points solved with large rotations; hatched: not judged",
        fontsize=9.5, color=INK,
    )  # fmt: skip
    FigureCanvasAgg(figure)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=160, metadata={"Software": None})
    return stream.getvalue()


def _panel(axes: Axes, pair: list[Curve]) -> None:
    axes.grid(color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(labelsize=8.5, colors=INK)
    for value in (axes.axhline, axes.axvline):
        value(0.0, color=FAINT_INK, linewidth=0.8)
    angles = [np.degrees(curve.angle) for curve in pair]
    reach = _ROOM * max((float(each[-1]) for each in angles if each.size), default=1.0)
    top = _ROOM * max((float(c.moment[-1]) for c in pair if c.moment.size), default=1e3) / 1e3
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-top, top)
    for sign, curve in zip((1.0, -1.0), pair, strict=True):
        if reach > ROTATION_LIMIT_DEG and curve.because and curve.linear is None:
            axes.axvspan(sign * ROTATION_LIMIT_DEG, sign * reach, facecolor="white",
                         edgecolor=RULE, hatch="///", linewidth=0.0)
    for number, (curve, angle) in enumerate(zip(pair, angles, strict=True)):
        _branch(axes, curve, angle, number)
    axes.set_xlabel("angle, deg", fontsize=9, color=INK)


def _branch(axes: Axes, curve: Curve, angle: NDArray[np.float64], number: int) -> None:
    sign, ink = 1.0 - 2.0 * number, SERIES[number]
    moment, stiffness = curve.moment / 1e3, curve.stiffness
    if stiffness is None:
        words = f"{curve.direction}:\nnot judged"
    else:
        slope = stiffness / N_M_PER_DEG
        axes.plot([0.0, sign * angle[-1]], [0.0, sign * slope * angle[-1]], color=ink,
                  linewidth=1.5, linestyle="solid" if number == 0 else (0, (5, 2)))
        for hollow in (False, True):
            shown = curve.flagged == hollow
            axes.plot(sign * angle[shown], sign * moment[shown], _MARKS[number], color=ink,
                      markerfacecolor="white" if hollow else ink, markersize=6.0)
        if curve.linear is not None:
            axes.plot(np.degrees([0.0, sign * curve.linear[-1]]), [0.0, sign * moment[-1]],
                      color=ink, linewidth=1.2, linestyle="dotted")
        end = f"\nends at {math.degrees(curve.angle[-1]):.2g}°" if curve.because else ""
        words = f"{curve.direction}\n{_three_digits(slope)} N·m/deg{end}"
    axes.annotate(words, (0.03 if number == 0 else 0.97, 0.5 + sign * 0.47), fontsize=9,
                  xycoords="axes fraction", ha="left" if number == 0 else "right",
                  va="top" if number == 0 else "bottom", color=ink,
                  bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"})


def _three_digits(value: float) -> str:
    """A number with three digits, without an exponent.

    Example:
        >>> _three_digits(317.42), _three_digits(4.4), _three_digits(0.2868)
        ('317', '4.40', '0.287')
    """
    digits = max(0, 2 - math.floor(math.log10(abs(value))))
    return f"{value:.{digits}f}"
