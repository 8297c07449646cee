# SPDX-License-Identifier: MIT
"""What a picture shows: values only, so that every painter draws the same thing."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import InputError


@dataclass(frozen=True)
class View:
    """One direction of sight.

    Attributes:
        name: words for the reader, such as "from the front, outer side".
        towards: (3,) direction from the object to the viewer; need not be a unit vector.
        up: (3,) direction that points upwards on the page.
    """

    name: str
    towards: tuple[float, float, float]
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)


@dataclass(frozen=True)
class Scale:
    """The colour scale of a picture.

    Attributes:
        label: what is shown, with its unit.
        low, high: ends of the scale, in the unit of the values.
        limit: value above which a cell is drawn as too high (netted, in the colour beyond the
            scale); None where the quantity has no limit.
        bands: number of equal colour steps.
        factor: what a value is multiplied with for the numbers on the bar (100 for percent).
        limit_text: words beside the limit's mark on the bar.
        no_value_text: words for cells without a value (NaN), which are white and netted.
    """

    label: str
    low: float
    high: float
    limit: float | None = None
    bands: int = 10
    factor: float = 1.0
    limit_text: str = ""
    no_value_text: str = "no value"


@dataclass(frozen=True)
class Callout:
    """A ring around `place` (3,) with `text` on a leader line."""

    text: str
    place: tuple[float, float, float]


@dataclass(frozen=True)
class PushArrow:
    """A force from `tail` (3,) to `tip` (3,), with `text` below its tail."""

    text: str
    tail: tuple[float, float, float]
    tip: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Mark:
    """A part of a picture that is set off from the rest; later marks cover earlier ones.

    Attributes:
        text: beside its sample below the picture; empty shows no sample.
        triangles: (c,) which triangles;  lines: (m,) which bars, or none.
        netted: whether it is netted, and darker, so that it also tells without colour.
    """

    text: str
    triangles: NDArray[np.bool_]
    lines: NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, dtype=bool))
    netted: bool = False


@dataclass(frozen=True, eq=False)
class Picture:
    """A surface with bars, seen from one or more directions.

    Attributes:
        points: (n, 3) coordinates as drawn, so already displaced for a deformed shape.
        triangles: (c, 3) node numbers.
        views: the panels, left to right.
        triangle_values: (c,) coloured by `scale`; NaN is drawn as "no value"; None: plain.
        lines: (m, 2) node numbers of bars.
        line_values: (m,) likewise.
        line_radius: half the drawn width of a bar.
        scale: needed wherever values are given.
        outline: (k, 2, 3) further segments, such as the shape before loading.
        mesh_edges: draw every edge of every triangle.
        callouts: places to be named.
        arrows: forces, drawn over everything else.
        marks: parts set off in a picture without values.
        tight: only as wide as its panels need.

    Raises:
        InputError: arrays of the wrong shape, or values without a scale.
    """

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]
    views: tuple[View, ...]
    triangle_values: NDArray[np.float64] | None = None
    lines: NDArray[np.int64] = field(default_factory=lambda: np.empty((0, 2), dtype=np.int64))
    line_values: NDArray[np.float64] | None = None
    line_radius: float = 1.0
    scale: Scale | None = None
    outline: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 2, 3)))
    mesh_edges: bool = False
    callouts: tuple[Callout, ...] = ()
    arrows: tuple[PushArrow, ...] = ()
    marks: tuple[Mark, ...] = ()
    tight: bool = False

    def __post_init__(self) -> None:
        _check_shape("points", self.points, (None, 3))
        _check_shape("triangles", self.triangles, (None, 3))
        _check_shape("lines", self.lines, (None, 2))
        _check_shape("outline", self.outline, (None, 2, 3))
        if not self.views:
            raise InputError("a picture needs at least one view")
        for name, values, cells in (
            ("triangle_values", self.triangle_values, self.triangles),
            ("line_values", self.line_values, self.lines),
        ):
            if values is not None:
                _check_shape(name, values, (len(cells),))
                if self.scale is None:
                    raise InputError(f"{name} are given without a scale; add scale=Scale(…)")
        for mark in self.marks:
            _check_shape(f"mark '{mark.text}'", mark.triangles, (len(self.triangles),))
            if self.scale is not None:
                raise InputError(f"mark '{mark.text}' would hide values; leave out the scale")


@dataclass(frozen=True, eq=False)
class Beside:
    """Pictures side by side, on one scale of colour and one of length, one panel of each by view.

    Attributes:
        pictures: with the same views and scale, left to right;  names: of each, for its panels.

    Raises:
        InputError: pictures that cannot be compared by eye, or marks, which only one could have.
    """

    pictures: tuple[Picture, ...]
    names: tuple[str, ...]

    def __post_init__(self) -> None:
        if not self.pictures or len(self.names) != len(self.pictures):
            raise InputError(f"{len(self.pictures)} pictures beside each other have "
                             f"{len(self.names)} names; give each its own")
        first = self.pictures[0]
        for one in self.pictures:
            if one.views != first.views or one.scale != first.scale or one.marks:
                raise InputError("pictures beside each other need the same views and the same "
                                 "scale, and no marks")


def _check_shape(name: str, array: ArrayLike, shape: tuple[int | None, ...]) -> None:
    got = np.shape(array)
    if len(got) != len(shape) or any(
        want not in (None, have) for want, have in zip(shape, got, strict=True)
    ):
        wanted = ", ".join("any" if size is None else str(size) for size in shape)
        raise InputError(f"{name} must have shape ({wanted}); got {got}")
