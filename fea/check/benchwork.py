# SPDX-License-Identifier: MIT
"""What an assessment asks of the bench: walls to measure, places not to cut, places to watch.

All of it is read off the shares of what is allowed that cells and checks use; nothing is judged.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.check.check import BUCKLING, Check, Finding, Horizon, Point
from fea.check.neededwall import least_wall, wall_times
from fea.device.device import Device
from fea.material.library import Kind
from fea.mesh.mesh import Mesh, triangle_geometry

HOLE = math.sqrt(28.0 / 3.0)
"""Stress at the edge of a small round hole over the von Mises stress without it, at the worst.
(3 − r) / √(1 − r + r²) of the ratio r of the principal stresses is largest at r = 1/5.
Source: kirsch-1898 (derived)."""

TRIM_SHARE, TRIM_REACH = 0.5, 10.0
"""A rim is left alone where a cell within this reach, mm, uses more than this share. Status:
assumed."""

APART, MOST_PLACES = 30.0, 6
"""Places to watch lie this far apart, mm, and are no more than this many. Status: assumed."""

PLAIN = frozenset({"yield", "break", "life", "early cracks"})
"""Topics of the stress of cells; others are about single places."""

Slopes = Mapping[tuple[str, str, Horizon], float]
"""Topic, zone and horizon of checks to the relative change of their demand over that of their own
wall: −2 where all of a bending stress hangs on it."""

UNEVEN = 0.01  # share by which a wall's thickness varies before its thinnest place counts too

Why = Literal["hardest worked", "thinnest", "middle"]
Watched = Literal["thermoplastic", "metal", "laminate", "printed", "fastening", "skin"]


@dataclass(frozen=True)
class MeasurePoint:
    """Where a wall is to be measured after forming.

    Attributes:
        zone: of the wall;  place: middle of the cell, mm.
        why: "hardest worked", "thinnest" or "middle".
        wall: mm, as the assessment assumed it.
        sheet: mm, before forming; equal to `wall` where no thinning is contained.
        utilisation: of the cell; None where it is not judged.
        least: mm, estimate of the thinnest wall that still keeps every required factor of strength
            and buckling in the zone; infinite where a thicker wall does not help; None for a
            laminate, and where a zone is not judged.
    """

    zone: str
    place: Point
    why: Why
    wall: float
    sheet: float
    utilisation: float | None
    least: float | None


@dataclass(frozen=True)
class KeepClear:
    """How much of a wall must not be cut.

    Attributes:
        zone: of the wall;  drill: share of its area not to drill.
        trim: mm of its rim not to trim.
        place: middle of its hardest worked cell, mm;  utilisation: there; None if none is judged.
    """

    zone: str
    drill: float
    trim: float
    place: Point
    utilisation: float | None


@dataclass(frozen=True)
class WatchPlace:
    """Where to look at each visit.

    Attributes:
        place: mm;  zone: zone, joint, hole or bony place;  kind: what is looked at.
        utilisation: share of what is allowed; None for one that no check judges.
    """

    place: Point
    zone: str
    kind: Watched
    utilisation: float | None


@dataclass(frozen=True, eq=False)
class BenchWork:
    """What a bench person does next.

    Attributes:
        measure: in order of need.
        clear: of every wall, the most restricted first.
        drill, trim: (c,) cells of the mesh that must not be drilled, or whose rim not be trimmed.
        watch: walls, bars, fastenings, then the skin; of each the hardest worked first.
    """

    measure: tuple[MeasurePoint, ...]
    clear: tuple[KeepClear, ...]
    drill: NDArray[np.bool_]
    trim: NDArray[np.bool_]
    watch: tuple[WatchPlace, ...]


def bench_work(
    device: Device,
    cells: NDArray[np.float64],
    checks: Sequence[Check],
    findings: Sequence[Finding] = (),
    slopes: Slopes = MappingProxyType({}),
) -> BenchWork:
    """What the numbers of an assessment ask of the bench.

    Args:
        device: walls, bars, fastenings and their mesh.
        cells: (c,) share of what is allowed used by each triangle today; NaN where not judged.
        checks: the governing ones, with their places.
        findings: all of all cases. The governing check of a joint may be one of its bar; what its
            wall bears stands here only.
        slopes: of the checks whose sensitivity is known.
    """
    cells = _hardest_question(device, cells, checks)
    drill = _not_to_drill(device, cells)
    trim = _not_to_trim(device.mesh, cells)
    measure = [
        point
        for zone in device.walls
        for point in _measure(device, zone, cells, [*checks, *findings], slopes)
    ]
    clear = [_clear(device.mesh, zone, cells, drill, trim) for zone in device.walls]
    return BenchWork(
        tuple(sorted(measure, key=_urgency)),
        tuple(sorted(clear, key=lambda one: (-one.drill, -one.trim))),
        drill,
        trim,
        (*_worked(device, cells, checks), *_fastened(device, checks), *_pressed(checks)),
    )


def _hardest_question(
    device: Device, cells: NDArray[np.float64], checks: Sequence[Check]
) -> NDArray[np.float64]:
    """Cells (c,) raised, zone by zone, to the hardest check of their stress: a fall asks more.

    How the shares spread over a zone stays as it is today.
    """
    raised = cells.copy()
    for zone in device.walls:
        numbers = device.mesh.zone(zone)[1]
        asked = [one.utilisation for one in checks if one.zone == zone and _of_strength(one)]
        if asked and not np.isnan(cells[numbers]).all():
            highest = float(np.nanmax(cells[numbers]))
            if 0.0 < highest < max(asked):
                raised[numbers] *= max(asked) / highest
    return raised


def _of_strength(check: Check) -> bool:
    """Whether a check holds the stress of plain cells against strength or life."""
    return check.topic in PLAIN or check.topic.startswith("ply ")


def _urgency(point: MeasurePoint) -> tuple[int, float]:
    """Walls with the least room first; those of which it is not known before all."""
    if point.least is None:
        return (0, -(point.utilisation or math.inf))
    return (1, -point.least / point.wall)


def _measure(
    device: Device, zone: str, cells: NDArray[np.float64], findings: Sequence[Finding],
    slopes: Slopes,
) -> list[MeasurePoint]:
    wall, numbers = device.walls[zone], device.mesh.zone(zone)[1]
    if wall.material.kind == "metal":  # neither formed nor laid up on the bench
        return []
    if wall.layers:  # the wall is measured beside what is bonded on
        return []
    thickness = np.broadcast_to(np.asarray(wall.thickness, dtype=float), len(numbers))
    times = _times(zone, findings, slopes)

    def point(k: int, why: Why) -> MeasurePoint:
        here, used = float(thickness[k]), float(cells[numbers[k]])
        return MeasurePoint(
            zone=zone,
            place=_middle(device.mesh, zone, k),
            why=why,
            wall=here,
            sheet=here / wall.thinning,
            utilisation=None if math.isnan(used) else used,
            least=None if wall.layup or times is None else least_wall(here, times),
        )

    hardest, found = _hardest(device.mesh, zone, cells)
    points = [point(hardest, "hardest worked" if found else "middle")]
    thinnest = int(np.argmin(thickness))
    if thickness[thinnest] < (1.0 - UNEVEN) * thickness[hardest]:
        points.append(point(thinnest, "thinnest"))
    return points


def _times(zone: str, findings: Iterable[Finding], slopes: Slopes) -> float | None:
    """Needed over judged thickness of a wall; None where no strength of it is judged.

    What is judged of a wall at its joints and holes counts too, not what is judged of their bars.
    """
    own = [one for one in findings if isinstance(one, Check) and zone == (one.part or one.zone)]
    if not any(check.unit == "MPa" for check in own):
        return None
    return max(
        wall_times(
            check.utilisation,
            buckling=check.topic == BUCKLING,
            slope=slopes.get((check.topic, check.zone, check.horizon)),
        )
        for check in own
        if check.unit == "MPa" or check.topic == BUCKLING
    )


def _hardest(mesh: Mesh, zone: str, cells: NDArray[np.float64]) -> tuple[int, bool]:
    """Number within a zone of its hardest worked cell; of its middle one if none is judged."""
    shares = cells[mesh.zone(zone)[1]]
    if not np.isnan(shares).all():
        return int(np.nanargmax(shares)), True
    centres = mesh.points[mesh.zone_cells(zone)].mean(axis=1)
    return int(np.argmin(np.linalg.norm(centres - centres.mean(axis=0), axis=1))), False


def _not_to_drill(device: Device, cells: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Where a hole would use more than is allowed; unjudged cells and laminates everywhere."""
    clear = np.isnan(cells) | (HOLE * np.nan_to_num(cells) > 1.0)
    for zone, wall in device.walls.items():
        if wall.layup is not None:
            clear[device.mesh.zone(zone)[1]] = True
    return clear


def _not_to_trim(mesh: Mesh, cells: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Cells that work hard, or are not judged, within reach of a rim."""
    triangles = mesh.cells["triangle"]
    rim = np.unique(_rims(triangles)[0])
    if not len(rim):
        return np.zeros(len(triangles), dtype=bool)
    hard = np.isnan(cells) | (np.nan_to_num(cells) > TRIM_SHARE)
    gap, _ = cKDTree(mesh.points[rim]).query(mesh.points[triangles].mean(axis=1))
    return hard & ((gap <= TRIM_REACH) | np.isin(triangles, rim).any(axis=1))


def _rims(triangles: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Edges (e, 2) of one triangle only, and the numbers (e,) of these triangles."""
    sides = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    edges, first, counts = np.unique(sides, axis=0, return_index=True, return_counts=True)
    return edges[counts == 1], first[counts == 1] // 3


def _clear(
    mesh: Mesh,
    zone: str,
    cells: NDArray[np.float64],
    drill: NDArray[np.bool_],
    trim: NDArray[np.bool_],
) -> KeepClear:
    numbers = mesh.zone(zone)[1]
    area = triangle_geometry(mesh.points, mesh.zone_cells(zone))[0]
    edges, owners = _rims(mesh.cells["triangle"])
    kept = np.isin(owners, numbers) & trim[owners]
    length = np.linalg.norm(np.diff(mesh.points[edges[kept]], axis=1)[:, 0], axis=1).sum()
    k, found = _hardest(mesh, zone, cells)
    return KeepClear(
        zone=zone,
        drill=float(area[drill[numbers]].sum() / area.sum()),
        trim=float(length),
        place=_middle(mesh, zone, k),
        utilisation=float(cells[numbers[k]]) if found else None,
    )


def _worked(
    device: Device, cells: NDArray[np.float64], checks: Sequence[Check]
) -> list[WatchPlace]:
    """Walls, then bars: the highest shares of cells and checks, some way from each other."""
    walls = {zone: wall.material.kind for zone, wall in device.walls.items()}
    bars = {zone: bar.material.kind for zone, bar in device.bars.items()}
    on_bars = _checked(bars, checks)
    on_walls = _checked(walls, checks)
    for zone, kind in walls.items():
        numbers = device.mesh.zone(zone)[1]
        on_walls += [
            WatchPlace(_middle(device.mesh, zone, k), zone, kind, float(cells[numbers[k]]))
            for k in np.flatnonzero(~np.isnan(cells[numbers])).tolist()
        ]
    return [*_apart(on_walls), *_apart(on_bars)]


def _checked(kinds: Mapping[str, Kind], checks: Sequence[Check]) -> list[WatchPlace]:
    """Places of the checks of some zones, but for skin and buckling."""
    return [
        WatchPlace(check.place, check.zone, kinds[check.zone], check.utilisation)
        for check in checks
        if check.place and check.zone in kinds and check.unit != "kPa" and check.topic != BUCKLING
    ]


def _apart(places: Sequence[WatchPlace]) -> list[WatchPlace]:
    """The hardest places that keep their distance from each other."""
    kept: list[WatchPlace] = []
    for one in sorted(places, key=lambda place: -(place.utilisation or 0.0)):
        if len(kept) == MOST_PLACES:
            break
        if all(math.dist(one.place, other.place) >= APART for other in kept):
            kept.append(one)
    return kept


def _fastened(device: Device, checks: Sequence[Check]) -> list[WatchPlace]:
    """Every rivet, screw, strap end and hole: its hardest check, or its place without one."""
    parts = {*device.walls, *device.bars}
    found: dict[str, WatchPlace] = {}
    for one in sorted(checks, key=lambda check: -check.utilisation):
        if one.place and one.zone not in parts and one.unit not in ("kPa", "deg"):
            found.setdefault(
                one.zone, WatchPlace(one.place, one.zone, "fastening", one.utilisation)
            )
    places = {each.name: each.shell_place for each in device.fastenings}
    places |= {place: place for strap in device.straps for place in strap.places}
    places |= {hole.name: hole.place for hole in device.holes}
    for name, place in places.items():
        found.setdefault(name, WatchPlace(_at(device.mesh, place), name, "fastening", None))
    return list(found.values())


def _pressed(checks: Sequence[Check]) -> list[WatchPlace]:
    """The hardest pressed places of the skin."""
    found = [
        WatchPlace(check.place, check.zone, "skin", check.utilisation)
        for check in checks
        if check.unit == "kPa" and check.place
    ]
    return _apart(found)[:3]


def _at(mesh: Mesh, place: str) -> Point:
    x, y, z = mesh.points[mesh.place(place)].mean(axis=0).tolist()
    return x, y, z


def _middle(mesh: Mesh, zone: str, k: int) -> Point:
    x, y, z = mesh.points[mesh.zone_cells(zone)[k]].mean(axis=0).tolist()
    return x, y, z
