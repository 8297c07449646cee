# SPDX-License-Identifier: MIT
"""Which cells of a mesh file belong to a zone: by set, by cell array, by boxes, by planes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator

from fea.errors import DeviceError, Problem
from fea.inputfile import Schema, refuse
from fea.mesh.quality import place
from fea.mesh.reading import CellTable

Point = tuple[float, float, float]
Side = Literal["above", "below", "ahead", "behind", "left", "right", "medial", "lateral"]

_DIRECTIONS = {"above": (2, 1), "below": (2, -1), "ahead": (0, 1), "behind": (0, -1),
               "left": (1, 1), "right": (1, -1)}


class Box(Schema):
    """An upright box in the mesh's own coordinates."""

    min: Point
    max: Point

    @model_validator(mode="after")
    def _has_room(self) -> "Box":
        if any(low >= high for low, high in zip(self.min, self.max, strict=True)):
            raise ValueError(f"box from {self.min} to {self.max} is empty: min must be below max")
        return self


class Plane(Schema):
    """A plane through a landmark, square to an axis; `by` moves it towards the side kept."""

    keep: Side
    landmark: str
    by: float = 0.0


class Selection(Schema):
    """Keys that say which cells a zone takes; all that are given must hold for a cell."""

    cell_set: str | None = None
    cell_data: str | None = None
    value: int | tuple[int, ...] | None = None
    boxes: tuple[Box, ...] = ()
    planes: tuple[Plane, ...] = ()
    rest: bool = False

    @model_validator(mode="after")
    def _says_which(self) -> "Selection":
        chosen = bool(self.cell_set or self.cell_data or self.boxes or self.planes)
        refuse({
            "must say which cells it takes: cell_set, cell_data with value, boxes or planes; "
            "or rest = true alone for all cells that no other zone takes": chosen == self.rest,
            "cell_data and value go together: the array, and the number in it":
                (self.cell_data is None) != (self.value is None),
        })  # fmt: skip
        return self


@dataclass(frozen=True, eq=False)
class Selected:
    """Cells by zone (name to cell numbers), and what went wrong on the way.

    Attributes:
        zones: name to cell numbers, of the zones that took any.
        problems: names that lead nowhere, and cells that two zones claim.
        misses: zones without a cell and cells without a zone, as follow from a wrong unit.
    """

    zones: Mapping[str, NDArray[np.int64]]
    problems: tuple[Problem, ...]
    misses: tuple[Problem, ...]


@dataclass(frozen=True, eq=False)
class Ground:
    """What selections refer to.

    Attributes:
        points: (n, 3) in the mesh's own coordinates, for boxes and messages.
        turned: (n, 3) the same points along x forward, y left, z up, in the mesh's unit.
        landmarks: name to (3,) along the same axes as `turned`.
        side: "left" or "right", for medial and lateral.
    """

    points: NDArray[np.float64]
    turned: NDArray[np.float64]
    landmarks: Mapping[str, NDArray[np.float64]]
    side: str


def select(
    table: CellTable, rules: Mapping[str, Selection], group: str, ground: Ground
) -> Selected:
    """Give every cell of a table to exactly one zone.

    Args:
        table: cells of one kind.
        rules: zone name to its selection.
        group: "zones" or "bars", for the place in messages.
        ground: coordinates and landmarks.

    Returns:
        The zones, with a problem for every zone that finds nothing, for cells that two zones
        claim, and for cells that no zone claims.
    """
    problems: list[Problem] = []
    misses: list[Problem] = []
    owner = np.full(len(table.cells), -1)
    names = list(rules)
    for number, name in sorted(enumerate(names), key=lambda pair: rules[pair[1]].rest):
        where = f"{group}.{name}"
        rule = rules[name]
        mask = owner < 0 if rule.rest else _mask(table, rule, where, ground, problems)
        if mask is None:
            continue
        if not mask.any():
            asked = _asked(table, rule, ground)
            misses.append(Problem(where, f"takes no cell of the mesh: {asked}"))
        claimed = mask & (owner >= 0)
        if claimed.any():
            other = names[owner[np.flatnonzero(claimed)[0]]]
            problems.append(Problem(where, (
                f"and '{other}' both claim {int(claimed.sum())} cells, the first at "
                f"{_first(table, claimed, ground)}; let only one of them take these")))
        owner[mask & (owner < 0)] = number
    if not problems and not misses and (owner < 0).any():
        left = owner < 0
        misses.append(Problem(group, (
            f"leave {int(left.sum())} of {len(owner)} cells without a zone, the first at "
            f"{_first(table, left, ground)}; widen a selection, or add a zone with rest = true")))
    zones = {name: np.flatnonzero(owner == k) for k, name in enumerate(names)}
    taken = {name: ids for name, ids in zones.items() if ids.size}
    return Selected(taken, tuple(problems), tuple(misses))


def inside(
    cells: NDArray[np.int64], boxes: Sequence[Box], planes: Sequence[Plane], ground: Ground
) -> NDArray[np.bool_]:
    """Which cells (c,) lie in one of the boxes and beyond all of the planes, by their middles.

    Without boxes, or without planes, those hold for every cell.

    Raises:
        DeviceError: a plane through a landmark that is not there.
    """
    for plane in planes:
        if plane.landmark not in ground.landmarks:
            known = ", ".join(ground.landmarks) or "none"
            raise DeviceError(f"a plane passes through the landmark '{plane.landmark}'; there are "
                              f"{known}")
    mask = np.ones(len(cells), dtype=bool)
    if boxes:
        mask &= _boxed(cells, boxes, ground)
    for plane in planes:
        mask &= _beyond(cells, plane, ground)
    return mask


def _boxed(
    cells: NDArray[np.int64], boxes: Sequence[Box], ground: Ground
) -> NDArray[np.bool_]:
    centre = ground.points[cells].mean(axis=1)
    return np.any([((centre >= box.min) & (centre < box.max)).all(axis=1) for box in boxes], axis=0)


def _asked(table: CellTable, rule: Selection, ground: Ground) -> str:
    """What an empty selection asked for, and where the mesh lies."""
    if rule.rest:
        return "the other zones take all cells; remove it, or narrow another"
    asked, lies = [], []
    if rule.boxes:
        points = ground.points[table.cells].reshape(-1, 3)
        asked += [f"inside the box from {place(np.array(box.min))} to {place(np.array(box.max))}"
                  for box in rule.boxes]
        lies.append(f"from {place(points.min(axis=0))} to {place(points.max(axis=0))}")
    for plane in rule.planes:
        axis, _, border = _border(plane, ground)
        along = ground.turned[table.cells][..., axis]
        asked.append(f"{plane.keep} {'of ' * (axis == 1)}{'xyz'[axis]} = {border:.4g} "
                     f"(landmark {plane.landmark}{f', by {plane.by:g}' * bool(plane.by)})")
        lies.append(f"from {'xyz'[axis]} = {along.min():.4g} to {along.max():.4g}")
    if not asked:
        return "check its selection"
    joined = " or ".join(asked[:len(rule.boxes)]), *asked[len(rule.boxes):]
    return (f"it asks for cells {' and '.join(filter(None, joined))}, where the mesh reaches "
            f"{' and '.join(dict.fromkeys(lies))} (in its own unit); mend the selection")


def _first(table: CellTable, mask: NDArray[np.bool_], ground: Ground) -> str:
    return place(ground.points[table.cells[np.flatnonzero(mask)[0]]])


def _mask(
    table: CellTable, rule: Selection, where: str, ground: Ground, problems: list[Problem]
) -> NDArray[np.bool_] | None:
    """Cells that the rule selects; None after noting a problem with a name in it."""
    before = len(problems)
    mask = np.ones(len(table.cells), dtype=bool)
    if rule.cell_set is not None:
        mask &= _in_set(table, rule.cell_set, where, problems)
    if rule.cell_data is not None:
        mask &= _has_value(table, rule, where, problems)
    if rule.boxes:
        mask &= _boxed(table.cells, rule.boxes, ground)
    for plane in rule.planes:
        if plane.landmark not in ground.landmarks:
            known = ", ".join(ground.landmarks) or "none"
            problems.append(Problem(where, (
                f"speaks of the landmark '{plane.landmark}', which is not among [landmarks] "
                f"({known})")))
        else:
            mask &= _beyond(table.cells, plane, ground)
    return mask if len(problems) == before else None


def _in_set(
    table: CellTable, name: str, where: str, problems: list[Problem]
) -> NDArray[np.bool_]:
    mask = np.zeros(len(table.cells), dtype=bool)
    if name not in table.sets:
        known = ", ".join(sorted(table.sets))
        problems.append(Problem(where, f"asks for the cell set '{name}'; " + (
            f"the mesh has {known}" if known else
            "the mesh carries no cell sets: select by cell_data, boxes or planes")))
    else:
        mask[table.sets[name]] = True
    return mask


def _has_value(
    table: CellTable, rule: Selection, where: str, problems: list[Problem]
) -> NDArray[np.bool_]:
    assert rule.cell_data is not None and rule.value is not None
    scalars = {name: data for name, data in table.data.items() if data.ndim == 1}
    values = np.atleast_1d(np.asarray(rule.value))
    if rule.cell_data not in scalars:
        known = ", ".join(sorted(scalars))
        problems.append(Problem(where, f"asks for the cell array '{rule.cell_data}'; " + (
            f"the mesh has {known}" if known else
            "the mesh carries no cell arrays: select by boxes or planes")))
        return np.zeros(len(table.cells), dtype=bool)
    data = scalars[rule.cell_data]
    absent = values[~np.isin(values, data)]
    if absent.size:
        known = ", ".join(f"{value:g}" for value in np.unique(data)[:12])
        problems.append(Problem(where, (
            f"looks for {absent[0]} in the cell array '{rule.cell_data}', which holds {known}")))
    return np.isin(data, values)


def _beyond(
    cells: NDArray[np.int64], plane: Plane, ground: Ground
) -> NDArray[np.bool_]:
    axis, sign, border = _border(plane, ground)
    centre = ground.turned[cells].mean(axis=1)[:, axis]
    # one side owns the plane itself, so that "above" and "below" share no cell
    return centre >= border if sign > 0 else centre < border


def _border(plane: Plane, ground: Ground) -> tuple[int, int, float]:
    """Axis of a plane in the device frame, the side kept (1 or -1), and where it stands."""
    keep = plane.keep
    if keep in ("medial", "lateral"):
        keep = "left" if (keep == "lateral") == (ground.side == "left") else "right"
    axis, sign = _DIRECTIONS[keep]
    return axis, sign, float(ground.landmarks[plane.landmark][axis] + sign * plane.by)
