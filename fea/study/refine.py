# SPDX-License-Identifier: MIT
"""A refinement study: the same assessment on finer and finer meshes, and where its numbers go.

The mesh that is judged is the coarsest, and every other one is finer: what must be shown is that
the judged mesh is fine enough, and on coarser ones trim radii and ribs would be lost. Each mesh has
√2 times shorter edges than the one before, so about twice the unknowns; with three meshes the study
costs some ten times the check. A device given as a mesh is subdivided instead, which halves the
edges and costs as much in one step; so two meshes are its default, which show no order, and the
band round the result is three times as wide. See `fea.mesh.subdivision` for what becomes of its
shape.

Compared is the peak of each check in the case that governs on the judged mesh, zone by zone, so
the largest value over the same part of the device under the same load. It is the computed value,
without the error estimate that `Check.demand` contains. What the strength checks leave out on the
judged mesh, since stress does not converge there, is held in space and left out of every mesh: it
is measured in cells, and would shrink with them.

A peak that moves is another peak, and values of different ones do not lead to a third; nor do
values whose steps hardly become smaller. Both have a range and count as not checked.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from fea.assessment import Assessment, assess
from fea.check.check import BUCKLING, Check, Finding, NotChecked, Point
from fea.check.requirements import Requirements
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.check.wording import percent_text, quantity_text
from fea.device.carving import repeated
from fea.device.device import Device
from fea.errors import InputError
from fea.limb import Limb
from fea.loadcase.instant import LoadSet
from fea.mesh.mesh import triangle_geometry
from fea.mesh.subdivision import subdivided
from fea.shipped import AUTO_STEP
from fea.structure.region import Region
from fea.structure.singular import left_out, singular_places
from fea.study.convergence import SMALLEST_RATIO, Convergence, grid_convergence
from fea.wearer import Wearer

RATIO = math.sqrt(2.0)
"""Cell size of a recipe from one mesh to the next finer one."""

CLOSE = 0.05
"""Share by which the judged mesh may lie off the extrapolated value. Source: assumed."""

NEAR = 2.0
"""Cells of the coarser of two meshes up to which their peaks are at one place; judgement: the node
that reads highest may be a neighbour, and cells differ in size."""


class Recipe(Protocol):
    """A parametric device, meshed anew for each cell size."""

    @property
    def size(self) -> float:
        """Its own cell size, mm."""

    def fit(self, limb: Limb, size: float | None = None) -> Device:
        """The device on a limb, with cells of about ``size`` mm."""


@dataclass(frozen=True)
class Level:
    """One mesh of a study.

    Attributes:
        size: mm, edge of an equilateral triangle that has the mean area of the cells.
        cells: number of triangles.
        unknowns: of the equations.
    """

    size: float
    cells: int
    unknowns: int


@dataclass(frozen=True)
class Refined:
    """One check over all meshes.

    Attributes:
        check: as judged, on the coarsest mesh.
        cases: (m,) case of each value; another than `check.case` only where a mesh has no check of
            that case, such as of a rotation, which is checked in its hardest case alone.
        places: (m,) where the peak lies on each mesh, mm, or None.
        convergence: of the computed value, in the unit of the check. A check that weighs several
            strengths, as of plies, is scaled to the capacity of `check`.
    """

    check: Check
    cases: tuple[str, ...]
    places: tuple[Point | None, ...]
    convergence: Convergence

    @property
    def moved(self) -> bool:
        """Whether the peak lies at another place on one mesh than on the next.

        Not so of a buckle, whose factor belongs to the whole device wherever it strains it hardest.
        """
        if self.check.topic == BUCKLING:
            return False
        steps = zip(itertools.pairwise(self.places), self.convergence.sizes, strict=False)
        return any(
            one is not None and other is not None and math.dist(one, other) > NEAR * size
            for (one, other), size in steps
        )

    @property
    def ends(self) -> bool:
        """Whether the values may lead anywhere: they stay at one place and their steps shrink."""
        return not self.moved and self.convergence.manner != "growing"

    @property
    def range_words(self) -> str:
        """What is wrong with a peak that does not end, with the range of its values."""
        low, high = map(quantity_text, self.convergence.spread)
        unit = "" if self.check.unit == "1" else f" {self.check.unit}"
        span = f"from {low} to {high}{unit} over the meshes, and no value is extrapolated"
        if self.moved:
            places = (place for place in self.places if place is not None)
            at = [f"({', '.join(f'{x:.0f}' for x in place)})" for place in places]
            return f"the peak moved from {' to '.join(dict.fromkeys(at))}; it goes {span}"
        order = self.convergence.order
        shown = "" if order is None else f" (order {order:.1f})"
        first, last = self.convergence.values[0], self.convergence.values[-1]
        way = "grows" if last > first else "falls"
        return f"the peak {way} from mesh to mesh without settling{shown}; it goes {span}"

    @property
    def deviation(self) -> float:
        """Distance of the judged mesh's value from where the values go, as a share."""
        return self.convergence.deviation(0)

    @property
    def close(self) -> bool:
        """Whether the judged mesh is within `CLOSE` of where the values go, if they go anywhere."""
        return self.ends and self.deviation <= CLOSE

    @property
    def utilisation(self) -> float:
        """Share of what is allowed that the extrapolated, or else the highest, value uses."""
        found = self.convergence
        value = found.spread[1] if found.extrapolated is None else found.extrapolated
        return value * self.check.required / self.check.capacity


@dataclass(frozen=True, eq=False)
class Refinement:
    """What finer meshes say of an assessment.

    Attributes:
        assessment: on the judged mesh, the coarsest; with what the study found lacking.
        levels: (m,) the meshes, the coarsest first.
        peaks: every check of the assessment that all meshes have, the hardest first.
    """

    assessment: Assessment
    levels: tuple[Level, ...]
    peaks: tuple[Refined, ...]

    @property
    def sentence(self) -> str:
        """How many peaks of the judged mesh are close to where finer meshes lead."""
        close = sum(peak.close for peak in self.peaks)
        return (f"{close} of {len(self.peaks)} peaks of the judged mesh lie within "
                f"{percent_text(CLOSE)} of the value that finer meshes lead to.")


def refine(
    device: Device | Recipe,
    wearer: Wearer,
    *,
    sizes: Sequence[float] | None = None,
    levels: int | None = None,
    loads: str | Path | LoadSet = "walking-envelope",
    step: str | Path | None = AUTO_STEP,
    requirements: Requirements | None = None,
    large_from_deg: float | None = ROTATION_LIMIT_DEG,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Refinement:
    """Judge a device on two or more meshes and see where each number goes.

    Args:
        device: a recipe, which is meshed anew, or a device of fixed geometry, whose mesh is
            subdivided.
        wearer: who wears it.
        sizes: cell sizes of a recipe, mm; the largest is judged. None takes the recipe's own, and
            each next one smaller by `RATIO`.
        levels: number of meshes where `sizes` does not say it, at least 2. None takes three of a
            recipe, and two of a mesh, whose unknowns grow fourfold from one to the next.
        loads, step, requirements, large_from_deg, solver: as for `assess`.
        progress: called with a few words as the work goes on.

    Returns:
        The assessment on the coarsest mesh and the convergence of its checks.

    Raises:
        InputError: fewer than two meshes, sizes closer than a ratio of 1.3, sizes for a device of
            fixed geometry, or what `assess` refuses.
        SolveError: the equations of a mesh have no answer that can be trusted.

    Source: celik-2008, roache-1998.

    Example:
        >>> import fea
        >>> wearer = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> study = refine(bare, wearer, sizes=[18.0, 12.0])
        >>> len(study.levels), study.peaks[0].check.topic, study.peaks[0].convergence.manner
        (2, 'break', 'unknown')
    """
    results: list[tuple[Level, tuple[Finding, ...]]] = []
    judged: Assessment | None = None
    outside: Region | None = None
    meshes = _meshes(device, sizes, levels)
    for number, (wearable, size) in enumerate(meshes, start=1):
        words = f"mesh {number} of {len(meshes)}"
        result = assess(
            wearable,
            wearer,
            loads=loads,
            step=None if results else step,
            size=size,
            requirements=requirements,
            large_from_deg=large_from_deg,
            solver=solver,
            outside=outside,
            progress=lambda message, words=words: progress(f"{words}: {message}"),  # type: ignore[misc]
        )
        level = _level(result)
        progress(f"{words}: {level.cells} cells of {level.size:.1f} mm, {level.unknowns} unknowns")
        results.append((level, result.findings))
        if judged is None:
            judged, structure = result, result.run.structure
            outside = left_out(structure, singular_places(structure))
    assert judged is not None
    return compared(judged, [level for level, _ in results], [found for _, found in results])


def subdivided_device(device: Device) -> Device:
    """A device of fixed geometry with half the cell size; see `fea.mesh.subdivision`.

    What is given cell by cell passes to the parts of each cell, fastenings keep their patches.
    """
    return replace(
        device,
        file=None,
        mesh=subdivided(device.mesh),
        walls={zone: repeated(entry, 4) for zone, entry in device.walls.items()},
    )


def _meshes(
    device: Device | Recipe, sizes: Sequence[float] | None, levels: int | None
) -> list[tuple[Device | Recipe, float | None]]:
    """What to assess, and with which cell size, the coarsest first."""
    if levels is None:
        levels = 2 if isinstance(device, Device) else 3
    if levels < 2:
        raise InputError(f"levels = {levels}: a refinement study needs two meshes or more")
    if isinstance(device, Device):
        if sizes is not None:
            raise InputError(
                f"device '{device.name}' is a mesh, which is subdivided and not meshed anew: leave "
                "the sizes out, and give the number of levels if it is not to be two"
            )
        chain = itertools.accumulate(range(1, levels), lambda one, _: subdivided_device(one),
                                     initial=device)
        return [(entry, None) for entry in chain]
    if sizes is None:
        sizes = [device.size / RATIO**k for k in range(levels)]
    chosen = sorted((float(size) for size in sizes), reverse=True)
    if len(chosen) < 2:
        raise InputError("sizes: a refinement study needs two cell sizes or more")
    for coarse, fine in itertools.pairwise(chosen):
        if not coarse >= SMALLEST_RATIO * fine > 0.0:
            raise InputError(
                f"cell sizes {coarse:g} and {fine:g} mm are too close: from one mesh to the next "
                f"the size must fall by a factor of {SMALLEST_RATIO:g} or more"
            )
    return [(device, size) for size in chosen]


def _level(result: Assessment) -> Level:
    mesh = result.device.mesh
    area, _ = triangle_geometry(mesh.points, mesh.cells["triangle"])
    size = math.sqrt(4.0 / math.sqrt(3.0) * float(area.mean()))
    return Level(size, len(area), int(str(result.provenance["unknowns"])))


def compared(
    judged: Assessment, levels: Sequence[Level], findings: Sequence[Sequence[Finding]]
) -> Refinement:
    """The study of an assessment from what was found on each mesh.

    Args:
        judged: the assessment on the coarsest mesh.
        levels: (m,) the meshes, the coarsest first.
        findings: (m,) the findings of every case on each of them.

    Returns:
        The study; what it found lacking is added to what the assessment calls not checked.
    """
    sizes = [level.size for level in levels]
    peaks: list[Refined] = []
    gaps: list[NotChecked] = []
    for check in judged.checks:
        found = [_counterpart(check, entries) for entries in findings]
        matched = [one for one in found if one is not None]
        if len(matched) < len(found):
            gaps.append(_gap(check, "finer meshes have no such check, so nothing shows whether "
                                    "the cells are small enough"))
            continue
        shares = [one.computed / one.capacity for one in matched]
        values = [share * check.capacity for share in shares]
        peak = Refined(check, tuple(one.case for one in matched),
                       tuple(one.place for one in matched), grid_convergence(sizes, values))
        if peak.moved:
            peak = replace(peak, convergence=peak.convergence.without_end)
        peaks.append(peak)
        if not peak.close:
            gaps.append(_gap(check, _why(peak)))
    judged = replace(judged, not_checked=(*judged.not_checked, *gaps))
    return Refinement(judged, tuple(levels), tuple(peaks))


def _counterpart(check: Check, findings: Iterable[Finding]) -> Check | None:
    """The same check on another mesh: of its case, or if that is not there, the governing one.

    A buckle belongs to the whole device; which zone it strains hardest may change with the mesh.
    """
    same = [one for one in findings if isinstance(one, Check) and one.topic == check.topic
            and (one.zone == check.zone or one.topic == BUCKLING)]
    of_case = [one for one in same if one.case == check.case]
    return max(of_case or same, key=lambda one: one.utilisation, default=None)


def _gap(check: Check, because: str) -> NotChecked:
    return NotChecked(topic="mesh refinement", zone=check.zone, because=f"{check.topic}: {because}")


def _why(peak: Refined) -> str:
    """Why the judged mesh is not known to be fine enough for a peak."""
    if not peak.ends:
        return f"{peak.range_words}; use smaller cells, and find out whether stress converges there"
    where = ("the highest of the meshes" if peak.convergence.extrapolated is None else
             "the value that finer meshes lead to")
    words = (f"the judged mesh is {percent_text(peak.deviation)} off {where}, which would use "
             f"{percent_text(peak.utilisation)} of what is allowed; use smaller cells")
    return f"{words}, and find out whether stress converges there at all"
