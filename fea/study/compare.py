# SPDX-License-Identifier: MIT
"""Two devices for one wearer under one set of loads: what a change does, and whether it is enough.

What can be told from what, see `fea.study.comparedchecks`.
"""

import logging
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from fea.assessment import Assessment, Wearable, assess
from fea.check.requirements import Requirements
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.device.device import Device, Wall
from fea.errors import InputError, StanchionError
from fea.limb import Limb
from fea.loadcase.instant import LoadSet
from fea.shipped import AUTO_STEP
from fea.study.comparedchecks import (
    Compared,
    GapChange,
    Side,
    compare_checks,
    compare_gaps,
    size_ratio,
)
from fea.study.comparednumbers import MASS, NumberChange, Numbers, cell_size, number_changes
from fea.study.refine import RATIO
from fea.study.tendency import (
    Tendency,
    enough_words,
    grams_words,
    opening_words,
    outcome_points,
    tendency,
    tendency_points,
    tendency_words,
)
from fea.wearer import Wearer

GIVEN = ("wearer", "load_set", "fall_set", "step_set", "step_limb", "requirements")
"""What all assessments of a comparison share, by attribute."""

LEAST_RATIO = 1.1
"""Least ratio of cell sizes from which two pairs of meshes say anything of each other; judgement:
the band of a change grows tenfold by then."""

BORDER = 0.1
"""Share of the cells of a part that may lie nearest to a zone it only borders on; judgement."""

ALONE = (
    "The changes were not read again on coarser cells, which a device given as a mesh does not "
    "have and a quick comparison leaves out: only large ones can be told, and smaller ones may "
    "be real. To tell more, leave out --quick (in Python, give coarser=), or take smaller cells "
    "(--size-mm).")

LOG = logging.getLogger(__name__)

Pair = tuple[Assessment, Assessment]
Judged = Callable[[int, Wearable, float | None, str], Assessment]


@dataclass(frozen=True, eq=False)
class Comparison:
    """What changes from one device to another.

    Attributes:
        before, after: the assessments.
        rows: every check of either, those of both first, the hardest first.
        gaps: everything that either was not checked for.
        tendency: better or worse, over all checks.
        case: instant of stance in which the stiffness of the ankle is read; empty without one.
        numbers: of before and after.
        changes: of those numbers that depend on the mesh.
        coarser_size: mm, of the cells on which the changes were read again; None without.
    """

    before: Assessment
    after: Assessment
    rows: tuple[Compared, ...]
    gaps: tuple[GapChange, ...]
    tendency: Tendency
    case: str
    numbers: tuple[Numbers, Numbers]
    changes: tuple[NumberChange, ...]
    coarser_size: float | None

    @property
    def mass_change(self) -> float:
        """kg, of after against before."""
        return self.numbers[1].mass - self.numbers[0].mass

    @property
    def opening(self) -> str:
        """Better or worse, in a few words."""
        return opening_words(self.tendency)

    @cached_property
    def sentence(self) -> str:
        """Better or worse, by how much, enough or not, and how many grams."""
        mass = next(each for each in self.changes if each.name == MASS)
        words = tendency_words(self.tendency), enough_words(self.after)
        return f"{'; '.join((*words, grams_words(self.mass_change, mass.told)))}."

    @property
    def points(self) -> tuple[str, ...]:
        """What stands behind the sentence, one sentence each."""
        missed = [sum(not check.met for check in each.checks)
                  for each in (self.before, self.after)]  # fmt: skip
        alone = () if self.coarser_size is not None else (ALONE,)
        return (*tendency_points(self.tendency), *outcome_points(self.rows),
                f"Checks that are not met: {missed[0]} before, {missed[1]} now.", *alone)

    def __str__(self) -> str:
        return "\n".join((self.sentence, *self.points))

    def __repr__(self) -> str:
        names = f"'{self.before.device.name}' to '{self.after.device.name}'"
        return f"<Comparison of {names}: {self.opening}>"


def compare(
    before: Assessment, after: Assessment, *, coarser: Pair | None = None
) -> Comparison:
    """Compare two devices.

    Args:
        before, after: assessments for the same wearer, loads, limb in the step and requirements;
            with cells of one size they can tell most.
        coarser: both devices on coarser cells; without them fewer changes can be told.

    Raises:
        InputError: the assessments differ in more than the device, or the coarser cells are not.

    Example:
        >>> import fea
        >>> wearer = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> before = fea.assess(bare, wearer, size=18.0, step=None)
        >>> same = fea.compare(before, before)
        >>> same.tendency.overall, {row.outcome for row in same.rows}
        ('no difference', {'no difference'})
        >>> print(same)     # the sentence, and what stands behind it
        No difference that the model can resolve: the hardest-worked check uses ...
        Checks that are not met: ...
    """
    for each in (after, *(coarser or ())):
        _require_alike(before, each)
    sides = _sides(before, after)
    coarse_sides = None if coarser is None else _sides(*coarser)
    ratio = _require_coarser(sides, coarse_sides)
    rows, gaps = compare_checks(*sides, coarse_sides), compare_gaps(*sides)
    again = None if coarse_sides is None else compare_checks(*coarse_sides)
    turned = [each for each in before.cases if each.ankle_rotation]
    case = max(turned, key=lambda each: abs(each.ankle_rotation)).name if turned else ""
    numbers = Numbers.of(before, case), Numbers.of(after, case)
    coarse = None if coarser is None else (
        Numbers.of(coarser[0], case), Numbers.of(coarser[1], case))  # fmt: skip
    return Comparison(
        before, after, rows, gaps, tendency(rows, gaps, again, ratio), case, numbers,
        number_changes(numbers, coarse),
        None if coarse is None else math.sqrt(coarse[0].cell_size * coarse[1].cell_size),
    )  # fmt: skip


def compare_devices(
    before: Wearable,
    after: Wearable,
    wearer: Wearer,
    *,
    loads: str | Path | LoadSet = "walking-envelope",
    step: str | Path | None = AUTO_STEP,
    size: float | None = None,
    coarser: bool = True,
    requirements: Requirements | None = None,
    large_from_deg: float | None = ROTATION_LIMIT_DEG,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Comparison:
    """Judge two devices for one wearer, on the same cells and on coarser ones, and compare them.

    Args:
        before, after: devices or recipes.
        wearer, loads, step, requirements, large_from_deg, solver: as for `fea.assess`.
        size: cell size of recipes, mm; None takes the smaller of their own.
        coarser: whether the changes are read again on coarser cells; a mesh has none.
        progress: called with a few words as the work goes on.

    Raises:
        InputError: what `fea.assess` refuses.
        SolveError: the equations of a mesh have no answer that can be trusted.
    """
    size = common_size(before, after) if size is None else size
    meshes = isinstance(before, Device) or isinstance(after, Device)
    coarse = None if meshes or size is None or not coarser else RATIO * size
    count = 2 if coarse is None else 4

    def judged(number: int, device: Wearable, size: float | None, words: str) -> Assessment:
        return assess(
            device, wearer, loads=loads, step=step, size=size, requirements=requirements,
            large_from_deg=large_from_deg, solver=solver,
            progress=lambda message: progress(f"{number} of {count}, {words}: {message}"),
        )  # fmt: skip

    progress("fitting both devices to the limb")  # a change that does not fit is told at once
    fitted = [each.fit(Limb.of(wearer), size) for each in (before, after)]
    pair = judged(1, fitted[0], size, "before"), judged(2, fitted[1], size, "after")
    if coarse is None:
        return compare(*pair)
    return compare(*pair, coarser=_again(judged, before, after, coarse))


def common_size(before: Wearable, after: Wearable) -> float | None:
    """The smaller of the cell sizes that two recipes have of their own, mm; None for meshes."""
    sizes = [getattr(each, "size", None) for each in (before, after)]
    return min((size for size in sizes if size is not None), default=None)


def _again(judged: Judged, before: Wearable, after: Wearable, size: float) -> Pair | None:
    """Both devices on coarser cells; None where one cannot be judged on such."""
    try:
        return (judged(3, before, size, "before, coarser cells"),
                judged(4, after, size, "after, coarser cells"))  # fmt: skip
    except StanchionError as error:  # the comparison stands without them, only blunter
        LOG.warning("changes are not read again on coarser cells of %.3g mm: %s", size, error)
        return None


def _require_alike(one: Assessment, other: Assessment) -> None:
    for name in GIVEN:
        if getattr(one, name) != getattr(other, name):
            raise InputError(
                f"the assessments differ in their {name.replace('_', ' ')}; a comparison needs the "
                "same for both devices, so that nothing else changes"
            )


def _require_coarser(fine: tuple[Side, Side], coarse: tuple[Side, Side] | None) -> float:
    """The ratio of cell sizes, 1 without coarser cells."""
    ratio = size_ratio(fine, coarse)
    if coarse is not None and ratio < LEAST_RATIO:
        raise InputError(
            f"the coarser cells are {ratio:.3g} times as large as the others; they say something "
            f"of them from {LEAST_RATIO:g} times on"
        )
    return ratio


def _sides(before: Assessment, after: Assessment) -> tuple[Side, Side]:
    devices = before.device, after.device
    return _side(before, devices[1]), _side(after, devices[0])


def _side(result: Assessment, other: Device) -> Side:
    device = result.device
    return Side(result.checks, result.not_checked, _parts(device), cell_size(device),
                parts_within(device, other))  # fmt: skip


def parts_within(device: Device, other: Device) -> Mapping[str, tuple[str, ...]]:
    """Walls that only one device has, to those walls of both within which they lie on the other.

    A wall lies within another where cells of both are no further apart than cells are large.
    """
    shared = [zone for zone in other.walls if zone in device.walls]
    new = [zone for zone in device.walls if zone not in other.walls]
    if not (shared and new):
        return {}
    middles = [other.mesh.points[other.mesh.zone_cells(zone)].mean(axis=1) for zone in other.walls]
    owner = np.repeat(list(other.walls), [len(each) for each in middles])
    tree, near = cKDTree(np.concatenate(middles)), cell_size(other)
    found = {}
    for zone in new:
        at = device.mesh.points[device.mesh.zone_cells(zone)].mean(axis=1)
        distance, number = tree.query(at, distance_upper_bound=near)
        owners = owner[number[np.isfinite(distance)]]
        least = BORDER * len(at)
        found[zone] = tuple(each for each in shared if np.sum(owners == each) > least)
    return found


def material_words(wall: Wall) -> str:
    """Every material of a wall by name, its own first."""
    return " and ".join(material.name for material in wall.materials)


def _parts(device: Device) -> Mapping[str, str]:
    """Name of each wall and bar, and of what joins them, to that of its material."""
    joins = [each.name for each in device.fastenings]
    joins += [each.name for each in device.straps]
    joins += [each.name for each in device.holes]
    walls = {name: material_words(wall) for name, wall in device.walls.items()}
    bars = {name: bar.material.name for name, bar in device.bars.items()}
    return dict.fromkeys(joins, "") | walls | bars
