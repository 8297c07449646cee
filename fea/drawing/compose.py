# SPDX-License-Identifier: MIT
"""Panels, callouts and colour bar around the painted images: the finished picture."""

import io
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colorbar import ColorbarBase
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from fea.drawing.camera import Camera, is_hidden
from fea.drawing.colours import band_map
from fea.drawing.inks import INK, MARKS, NO_VALUE, SERIES
from fea.drawing.picture import Beside, Callout, Mark, Picture, PushArrow, Scale

DPI = 200
PANEL_HEIGHT, ROW_HEIGHT = 4.8, 3.6
WIDTH = 9.0
NAME_HEIGHT = 0.34
BAR_HEIGHT = 0.72
TEXT = {"fontsize": 9, "color": INK}


def compose(
    shown: Picture | Beside, images: list[NDArray[Any]], cameras: list[Camera]
) -> bytes:
    """The PNG of a picture from its painted panels, one image (h, w, 3 or 4) per view.

    Of pictures beside each other there is one image per view and picture, view by view, and one row
    of panels per view.
    """
    pictures, names = _sheets(shown)
    first, count = pictures[0], len(pictures)
    # Callouts stand beside the object, so every panel gets some paper around it.
    paper = 0.5 if any(picture.callouts for picture in pictures) else 0.1
    shares = [camera.half_width / camera.half_height + paper for camera in cameras]
    length = len(cameras) if count == 1 else count  # of a row
    longest = max(sum(shares[k : k + length]) for k in range(0, len(shares), length))
    height = min(PANEL_HEIGHT if count == 1 else ROW_HEIGHT, WIDTH / longest)
    line = height + NAME_HEIGHT * (1.0 if count == 1 else 1.5)
    named = [mark for mark in first.marks if mark.text]
    total = line * (len(cameras) // length)
    total += BAR_HEIGHT if first.scale else 0.45 if named else 0.0
    width = height * longest if first.tight else WIDTH
    figure = Figure(figsize=(width, total), dpi=DPI, facecolor="white")
    for number, (image, camera, share) in enumerate(zip(images, cameras, shares, strict=True)):
        row, place = divmod(number, length)
        view, one = divmod(number, count)
        inside = shares[row * length : (row + 1) * length]
        left = 0.5 * (width - height * sum(inside)) + height * sum(inside[:place])
        axes = figure.add_axes((left / width, 1.0 - (row * line + height) / total,
                                share * height / width, height / total))  # fmt: skip
        _panel(axes, image, camera, share)
        _draw_over(axes, pictures[one], cameras[one::count], view)
        name = f"{names[one]}\n{first.views[view].name}".strip()
        axes.text(0.5, -0.02, name, transform=axes.transAxes, ha="center", va="top", **TEXT)
    _mark_samples(figure, named, total)
    if first.scale:
        _bar(figure, first.scale, total)
        values = [one.triangle_values for one in pictures if one.triangle_values is not None]
        if any(np.isnan(each).any() for each in values):
            _no_value_sample(figure, first.scale, total)
    return _png(figure)


def _sheets(shown: Picture | Beside) -> tuple[tuple[Picture, ...], tuple[str, ...]]:
    if isinstance(shown, Beside):
        return shown.pictures, shown.names
    return (shown,), ("",)


def _draw_over(axes: Axes, picture: Picture, cameras: list[Camera], view: int) -> None:
    """Callouts and arrows of one panel of a picture; `cameras` are those of all its views."""
    hidden = _hidden(picture, cameras)
    # A place is named where it can be seen; one that nobody sees is named once, as behind.
    seen = ~hidden
    seen[0] |= hidden.all(axis=0)
    _callouts(axes, picture, cameras[view], seen[view], hidden[view])
    for arrow in picture.arrows:
        _arrow(axes, arrow, cameras[view])


def _panel(axes: Axes, image: NDArray[Any], camera: Camera, share: float) -> None:
    half_width, half_height = camera.half_width, camera.half_height
    axes.imshow(image, extent=(-half_width, half_width, -half_height, half_height),
                interpolation="antialiased", aspect="auto")
    axes.set_xlim(-share * half_height, share * half_height)
    axes.set_ylim(-half_height, half_height)
    axes.set_axis_off()


def _hidden(picture: Picture, cameras: list[Camera]) -> NDArray[np.bool_]:
    """Whether each callout (columns) is hidden from each camera (rows)."""
    return np.array([
        [is_hidden(np.asarray(callout.place, dtype=float), picture.points, picture.triangles, eye)
         for callout in picture.callouts]
        for eye in cameras
    ], dtype=bool).reshape(len(cameras), len(picture.callouts))


def _callouts(
    axes: Axes, picture: Picture, camera: Camera, shown: NDArray[np.bool_],
    hidden: NDArray[np.bool_],
) -> None:
    """Rings and leader lines; the texts of one side are kept from overlapping."""
    page = camera.project(picture.points)
    places = [camera.project(np.asarray(c.place, dtype=float)) for c in picture.callouts]
    sides = np.array([_nearer_side(page, at, camera) for at in places])
    for side in (-1.0, 1.0):
        level = -np.inf
        for k in sorted(np.flatnonzero((sides == side) & shown), key=lambda k: places[k][1]):
            above = places[k][1] + 0.12 * camera.half_height
            level = min(max(level + 0.16 * camera.half_height, above), 0.95 * camera.half_height)
            text_at = (side * _text_distance(page, level, side, camera), level)
            _callout(axes, picture.callouts[k], places[k], text_at, behind=bool(hidden[k]))


def _nearer_side(page: NDArray[np.float64], at: NDArray[np.float64], camera: Camera) -> float:
    """-1 or +1: the side on which the object ends sooner, at the height of the place."""
    row = page[np.abs(page[:, 1] - at[1]) < 0.1 * camera.half_height, 0]
    if row.size == 0:
        return 1.0 if at[0] >= 0 else -1.0
    return 1.0 if row.max() - at[0] <= at[0] - row.min() else -1.0


def _text_distance(
    page: NDArray[np.float64], level: float, side: float, camera: Camera
) -> float:
    """How far out a text stands so that it is clear of the object at its height."""
    row = side * page[np.abs(page[:, 1] - level) < 0.08 * camera.half_height, 0]
    edge = float(row.max()) if row.size else 0.0
    return edge + 0.12 * camera.half_height


def _callout(
    axes: Axes, callout: Callout, at: NDArray[np.float64], text_at: tuple[float, float], *,
    behind: bool,
) -> None:
    words = f"{callout.text}\n(behind)" if behind else callout.text
    for colour, width in (("white", 3.4), (INK, 1.4)):
        axes.plot([at[0]], [at[1]], "o", markersize=11, markerfacecolor="none",
                  markeredgecolor=colour, markeredgewidth=width, alpha=1.0, zorder=3)
    axes.annotate(
        words, xy=(at[0], at[1]), xytext=text_at, ha="right" if text_at[0] < 0 else "left",
        va="center", zorder=4, annotation_clip=False,
        arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.9, "shrinkB": 6.5,
                    "linestyle": "dashed" if behind else "solid"},
        bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"}, **TEXT,
    )


def _arrow(axes: Axes, arrow: PushArrow, camera: Camera) -> None:
    tail, tip = (camera.project(np.array(end))[:2] for end in (arrow.tail, arrow.tip))
    axes.annotate("", xy=tip, xytext=tail, annotation_clip=False, zorder=5,
                  arrowprops={"arrowstyle": "-|>", "color": SERIES[0], "linewidth": 1.6,
                              "shrinkA": 0.0, "shrinkB": 0.0})
    axes.annotate(arrow.text, tail, xytext=(0, -3), textcoords="offset points", ha="center",
                  va="top", annotation_clip=False, zorder=5, fontsize=9, color=SERIES[0])


def _bar(figure: Figure, scale: Scale, total: float) -> None:
    length = 0.5
    axes = figure.add_axes((0.5 * (1.0 - length), 0.42 / total, length, 0.13 / total))
    borders = np.linspace(scale.low, scale.high, scale.bands + 1)
    colours = band_map(scale)
    beyond = scale.limit is not None
    bar = ColorbarBase(
        axes, cmap=colours, norm=BoundaryNorm(borders, colours.N), orientation="horizontal",
        extend="max" if beyond else "neither", spacing="proportional",
        ticks=borders[:: 2 if scale.bands % 2 == 0 else 1],
    )
    bar.ax.xaxis.set_major_formatter(lambda value, _: f"{value * scale.factor:.4g}")
    bar.ax.tick_params(labelsize=8, colors=INK, length=2.5)
    bar.outline.set_edgecolor(INK)
    bar.outline.set_linewidth(0.6)
    bar.set_label(scale.label, **TEXT)
    if beyond:
        bar.ax.axvline(scale.limit, color=INK, linewidth=1.8)
        bar.ax.text(scale.limit, 1.35, scale.limit_text, transform=bar.ax.get_xaxis_transform(),
                    ha="center", va="bottom", fontsize=8, color=INK)
        _net_sample(bar)


def _no_value_sample(figure: Figure, scale: Scale, total: float) -> None:
    """A netted white box beside the bar, for cells without a value."""
    axes = figure.add_axes((0.03, 0.42 / total, 0.035, 0.13 / total))
    axes.set_axis_off()
    axes.add_patch(Rectangle((0, 0), 1, 1, facecolor=NO_VALUE, edgecolor=INK, hatch="xxxxx"))
    axes.text(1.15, 0.5, scale.no_value_text, va="center", ha="left", fontsize=8, color=INK)


def _mark_samples(figure: Figure, marks: Sequence[Mark], total: float) -> None:
    """A box with words for each mark, side by side below the panels."""
    for number, mark in enumerate(marks):
        start = (number + 0.12) / len(marks)
        axes = figure.add_axes((start, 0.16 / total, 0.035, 0.13 / total))
        axes.set_axis_off()
        axes.add_patch(Rectangle((0, 0), 1, 1, facecolor=MARKS[mark.netted], edgecolor=INK,
                                 hatch="xxxxx" if mark.netted else None))
        axes.text(1.15, 0.5, mark.text, va="center", ha="left", **TEXT)


def _net_sample(bar: ColorbarBase) -> None:
    """Net the end of the bar as the cells beyond the limit are netted."""
    for patch in bar._extend_patches:  # matplotlib has no public handle on the extension
        patch.set_hatch("xxxxxxx")
        patch.set_edgecolor(INK)


def _png(figure: Figure) -> bytes:
    FigureCanvasAgg(figure)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=DPI, metadata={"Software": None})
    return stream.getvalue()
