# SPDX-License-Identifier: MIT
"""All walls and bars of a device over cycles of loads, against what their materials outlive.

Walls are read on recovered stress with its estimated error, at the corners of their cells and at
the hot spots beside places where stress does not converge; bars in their extreme fibres. Stress
runs straight through a wall, or a ply, so that its two faces bound what lies between them.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.check.bonded import layers_of
from fea.check.check import Finding, NotChecked
from fea.check.factors import Factors
from fea.check.hotspot import HotSpots, UnreadError
from fea.check.life import LIFE, LifeRow, Points, ZoneLife, life_rows, require_finite
from fea.check.lifecurve import LifeCurve, UnknownLifeError, life_curve, ply_curves
from fea.check.local import left_out_words, require_unbonded
from fea.check.plies import outermost_plies
from fea.check.spectrum import Spectrum
from fea.device.device import Device, Wall
from fea.material.library import LibraryMaterial
from fea.solver.recovery import Recovered
from fea.solver.solution import Solution
from fea.structure.region import Region
from fea.structure.sections import torsion_shear
from fea.structure.singular import POINT, STRUT, WASHER, SingularPlace, left_out, singular_places
from fea.tensors import von_mises

Array = NDArray[np.float64]

REST = "swing"
"""Name of the instant in which nothing acts."""
_FACES = {"bottom": 0, "top": 2}
_COMPONENTS = ("along axis 1", "along axis 2", "shear in the plane")
_SMALL = 0.1
"""Largest stress over that of the zone below which a point cannot govern: half a range is no more
than the largest stress, and no less than half of it where the device rests."""
_INSPECT = "fatigue cracks start at such places first: look at them at every visit"


@dataclass(frozen=True, eq=False)
class LoadCycle:
    """Loads that come again and again.

    Attributes:
        name: such as "step".
        solutions: name of the instant to its solution, in order of time; one structure.
        rests: whether the device is unloaded once in each cycle.
        spectrum: how often, how high.
        topic: of the checks; None for the life of the service.
    """

    name: str
    solutions: Mapping[str, Solution]
    rests: bool
    spectrum: Spectrum
    topic: str | None = None

    @property
    def instants(self) -> tuple[str, ...]:
        """Names of all instants."""
        return (*self.solutions, REST) if self.rests else tuple(self.solutions)

    def of(self, values: Array) -> Array:
        """Values (instants solved, ...) with zero for the instant of rest."""
        rest = np.zeros((1, *values.shape[1:]))
        return np.concatenate([values, rest]) if self.rests else values


@dataclass(frozen=True, eq=False)
class LifeJudgement:
    """Life of all zones.

    Attributes:
        findings: checks, and what could not be checked.
        rows: governing point of each zone, the shortest life first.
    """

    findings: tuple[Finding, ...] = ()
    rows: tuple[LifeRow, ...] = ()

    @property
    def reserve(self) -> float:
        """Least factor over what is required; infinite without a row."""
        return min((row.factor / row.required for row in self.rows), default=np.inf)

    def __add__(self, other: "LifeJudgement") -> "LifeJudgement":
        findings = tuple(dict.fromkeys((*self.findings, *other.findings)))
        return LifeJudgement(findings, life_rows((*self.rows, *other.rows)))


def judge_life(
    device: Device,
    cycles: Iterable[LoadCycle],
    factors: Factors,
    outside: Region | None = None,
) -> LifeJudgement:
    """Life of all walls and bars, each under the one of several cycles of loads that harms it most.

    Args:
        device: walls and bars with their materials; its zones are those of the solutions.
        cycles: loads and how often they come, such as on each model of the limb.
        factors: partial factors.
        outside: as for `fea.check.judgement.judge`.
    """
    worst: dict[str, LifeJudgement] = {}
    gaps: list[Finding] = []
    for cycle in cycles:
        reader = _Reader(device, cycle, factors, outside)
        for zone in (*device.walls, *device.bars):
            found = reader.judge(zone)
            if zone not in worst or found.reserve < worst[zone].reserve:
                worst[zone] = found
        gaps += reader.gaps()
    return sum(worst.values(), LifeJudgement()) + LifeJudgement(tuple(gaps))


class _Reader:
    """Stress at all points of a device over a cycle."""

    def __init__(
        self, device: Device, cycle: LoadCycle, factors: Factors, outside: Region | None
    ):
        self.device, self.cycle, self.factors = device, cycle, factors
        self.unread: dict[tuple[str, str], list[SingularPlace]] = {}
        solutions = list(cycle.solutions.values())
        system = solutions[0].system
        self.recovered = system.recovery(solutions) if device.walls else None
        self.places = singular_places(system.structure) if device.walls else ()
        self.out = np.zeros(0, dtype=bool)
        if device.walls:
            self.out = (
                left_out(system.structure, self.places).cells
                if outside is None
                else outside.on(system.structure.mesh)
            )
        self.hot: dict[str, list[Points]] = {}
        if self.recovered is not None:
            self._read_hot_spots(self.recovered)

    def judge(self, zone: str) -> LifeJudgement:
        """Life of a zone, by the strictest factors of its materials."""
        walls, bars = self.device.walls, self.device.bars
        kinds = [each.kind for each in (walls[zone] if zone in walls else bars[zone]).materials]
        try:
            points = list(self.points(zone))
        except UnknownLifeError as error:
            return LifeJudgement((_gap(self.cycle, zone, str(error)),))
        spared = min(self.factors.partial("consequence", kind).value for kind in kinds)
        required = max(map(self.factors.required_life, kinds), key=lambda one: one.value)
        spectrum = self.cycle.spectrum.without_consequence(spared)
        life = ZoneLife(zone, self.cycle.name, self.cycle.instants, points, spectrum, required,
                        self.cycle.topic)  # fmt: skip
        return LifeJudgement(*life.judge())

    def points(self, zone: str) -> Iterator[Points]:
        """All points of a zone; raises `UnknownLifeError`."""
        if zone not in self.device.walls:
            yield self._bar(zone)
            return
        wall = self.device.walls[zone]
        assert self.recovered is not None
        if wall.layup is None:
            yield from self._faces(zone, wall, self.recovered)
        for material in wall.materials if wall.layup is not None else ():
            yield from self._plies(zone, wall, material, self.recovered)
        yield from self.hot.get(zone, ())

    def gaps(self) -> list[Finding]:
        """Places, joints and ways of failing whose life is not judged."""
        gaps: list[Finding] = [
            _gap(self.cycle, zone, "left out, since stress does not converge there: "
                 + "; ".join(filter(None, [left_out_words(group), reason, _INSPECT])))
            for (zone, reason), group in self.unread.items()
        ]  # fmt: skip
        device = self.device
        joints = [each.name for each in device.fastenings]
        joints += [each.name for each in device.straps] + [each.name for each in device.holes]
        if joints:
            gaps.append(
                _gap(self.cycle, "device", "the life of rivets, screws, straps and of walls and "
                     f"bars at holes and slots is not computed ({', '.join(joints)}); in devices "
                     "they are where fatigue begins: look at them at every visit")
            )  # fmt: skip
        if any(wall.layup is not None for wall in self.device.walls.values()):
            gaps.append(
                _gap(self.cycle, "device", "fatigue between the plies of a laminate is not "
                     "computed; tap the walls and look at the edges at every visit")
            )  # fmt: skip
        return gaps

    def _bar(self, zone: str) -> Points:
        bar, solutions = self.device.bars[zone], list(self.cycle.solutions.values())
        fibres = np.stack([each.fibre_stress(zone) for each in solutions])
        torque = np.stack([each.strut_forces(zone)[..., 3] for each in solutions])
        twist = torque[..., None] * torsion_shear(bar.width, bar.depth)
        stress = np.stack(np.broadcast_arrays(fibres, 0.0, twist), axis=-1)
        places = self.device.mesh.points[self.device.mesh.zone_cells(zone)].mean(axis=1)
        return Points(
            "von Mises stress in the extreme fibre, with the highest shear of torsion",
            life_curve(bar.material, self.factors),
            np.repeat(places, int(np.prod(fibres.shape[2:])), axis=0),
            self.cycle.of(stress.reshape(len(stress), -1, 3)),
        )  # fmt: skip

    def _faces(self, zone: str, wall: Wall, recovered: Recovered) -> Iterator[Points]:
        curve = life_curve(wall.material, self.factors)
        stress = recovered.surface_stress(zone)
        places, judged = self._corners(zone)

        def errors(some: Recovered) -> Array:
            return some.stress_error(zone).swapaxes(0, 1)

        error = _Errors(recovered, errors)
        for face, layer in _FACES.items():
            values = self.cycle.of(stress[:, layer].reshape(len(stress), -1, 3))
            at = judged & _large(np.abs(values).max(axis=(0, 2)), judged, zone)
            yield Points(
                f"von Mises stress at the {face} of the wall", curve, places[at], values[:, at],
                error.of(layer, at),
            )  # fmt: skip

    def _plies(
        self, zone: str, wall: Wall, material: LibraryMaterial, recovered: Recovered
    ) -> Iterator[Points]:
        """The layers of a stack that are of one material."""
        assert wall.layup is not None
        outer = outermost_plies(wall.layup, layers_of(wall, material) if wall.layers else None)
        if material.kind != "laminate":
            yield from self._layers(zone, wall, material, outer, recovered)
            return
        curves = ply_curves(material, self.factors)
        stress = np.moveaxis(recovered.ply_stress(zone, outer), (3, 4, 5), (0, 1, 2))
        places, judged = self._corners(zone)

        def errors(some: Recovered) -> Array:
            return np.moveaxis(some.ply_stress_error(zone, plies=outer), (3, 4, 5), (0, 1, 2))

        error = _Errors(recovered, errors)
        for row, ply in enumerate(outer):
            for face, layer in _FACES.items():
                for number, curve in enumerate(curves):
                    values = stress[row, layer, number]
                    values = self.cycle.of(values.reshape(len(values), -1))
                    at = judged & _large(np.abs(values).max(axis=0), judged, zone)
                    yield Points(
                        f"{_COMPONENTS[number]} at the {face} of ply {ply + 1} at "
                        f"{wall.layup.angles_deg[ply]:g}°", curve, places[at], values[:, at],
                        error.of((row, layer, number), at),
                    )  # fmt: skip

    def _layers(
        self, zone: str, wall: Wall, material: LibraryMaterial, outer: Sequence[int],
        recovered: Recovered,
    ) -> Iterator[Points]:
        """Layers of one isotropic material in a stack."""
        curve = life_curve(material, self.factors)
        stress = np.moveaxis(recovered.ply_stress(zone, outer), (3, 4), (0, 1))
        places, judged = self._corners(zone)

        def errors(some: Recovered) -> Array:
            found = some.ply_stress_error(zone, von_mises, outer)
            return np.moveaxis(found, (3, 4), (0, 1))

        error = _Errors(recovered, errors)
        for row, ply in enumerate(outer):
            for face, layer in _FACES.items():
                values = self.cycle.of(stress[row, layer].reshape(stress.shape[2], -1, 3))
                at = judged & _large(np.abs(values).max(axis=(0, 2)), judged, zone)
                yield Points(
                    f"von Mises stress at the {face} of layer {ply + 1}, of {material.name}",
                    curve, places[at], values[:, at], error.of((row, layer), at),
                )  # fmt: skip

    def _corners(self, zone: str) -> tuple[Array, NDArray[np.bool_]]:
        mesh = self.device.mesh
        return (
            mesh.points[mesh.zone_cells(zone)].reshape(-1, 3),
            np.repeat(~self.out[mesh.zone(zone)[1]], 3),
        )

    def _read_hot_spots(self, recovered: Recovered) -> None:
        hot_spots = HotSpots(recovered)
        for place in self.places:
            touched = [zone for zone in self.device.walls
                       if place.cells[self.device.mesh.zone(zone)[1]].any()]  # fmt: skip
            try:
                found = self._hot_points(hot_spots, place, touched)
            except UnreadError as error:
                for zone in touched:
                    self.unread.setdefault((zone, str(error)), []).append(place)
                continue
            for zone in touched:
                self.hot.setdefault(zone, []).extend(
                    points if wall == zone
                    else replace(points, what=f"{points.what}, read in the wall of zone '{wall}'")
                    for wall, points in found
                )

    def _hot_points(
        self, hot_spots: HotSpots, place: SingularPlace, touched: Sequence[str]
    ) -> list[tuple[str, Points]]:
        """Points at a place, each with the zone in whose wall it is read."""
        if place.reason in (WASHER, STRUT, POINT):
            raise UnreadError("")
        if any(self.device.walls[zone].layup is not None for zone in touched):
            raise UnreadError("")
        found = []
        spots = hot_spots.of(place)
        require_unbonded(self.device, [hot_spots.zone(spot) for spot in spots])
        for spot in spots:
            stress, error = hot_spots.stress(spot)
            zone = hot_spots.zone(spot)
            try:
                curve = _borrowed(life_curve(self.device.walls[zone].material, self.factors))
            except UnknownLifeError as unknown:
                raise UnreadError(f"of the wall of zone '{zone}': {unknown}") from None
            for face, layer in _FACES.items():
                found.append((zone, Points(
                    f"structural hot-spot stress at the {face} of the wall, beside "
                    f"{left_out_words([place])}", curve, np.array([spot.point]),
                    self.cycle.of(stress[:, layer][:, None]),
                    self.cycle.of(error[:, layer][:, None]).__getitem__,
                )))  # fmt: skip
        return found


class _Errors:
    """Estimated errors of one zone, at some of its instants only: each instant costs."""

    def __init__(self, recovered: Recovered, errors: Callable[[Recovered], Array]):
        self.recovered, self.errors = recovered, errors
        self.known: dict[tuple[int, ...], Array] = {}

    def of(self, part: int | tuple[int, ...], at: NDArray[np.bool_]) -> Callable[..., Array]:
        """Gives the errors (i, m) of a part of the wall at some points, for instants (i,)."""

        def error(instants: NDArray[np.int64]) -> Array:
            solved = instants[instants < len(self.recovered.solutions)]
            key = tuple(int(k) for k in solved)
            if key not in self.known:
                self.known[key] = self.errors(_some(self.recovered, solved))
            values = self.known[key][part]
            found = np.zeros((len(instants), int(at.sum())))
            found[: len(solved)] = values.reshape(len(solved), -1)[:, at]
            return found

        return error


def _some(recovered: Recovered, numbers: NDArray[np.int64]) -> Recovered:
    """Some of the cases of what was recovered."""
    solutions = tuple(recovered.solutions[k] for k in numbers)
    cells, corners = recovered.cells[..., numbers], recovered.corners[..., numbers]
    return Recovered(recovered.recovery, cells, corners, solutions)


def _large(size: Array, judged: NDArray[np.bool_], zone: str) -> NDArray[np.bool_]:
    """Points (m,) whose largest stress is not small beside that of the others."""
    require_finite(size[judged], f"the stress in '{zone}'")
    largest = size[judged].max(initial=0.0)
    return np.asarray(size >= _SMALL * largest)


def _borrowed(curve: LifeCurve) -> LifeCurve:
    note = "the hot-spot rule is borrowed from welded joints, and what a notch adds within a wall "
    note += "thickness is not in it"
    return replace(
        curve,
        sources=(*curve.sources, "hobbacher-2016"),
        note="; ".join(filter(None, [curve.note, note])),
    )


def _gap(cycle: LoadCycle, zone: str, because: str) -> NotChecked:
    return NotChecked(
        topic=cycle.topic or LIFE, zone=zone, because=because, horizon="service life"
    )
