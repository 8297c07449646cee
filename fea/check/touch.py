# SPDX-License-Identifier: MIT
"""What solved cases say of the touch of limb and device: force, contact, pressure, straps.

Pressure at a point depends on how stiff flesh is there, which nobody knows well; the mean over a
pad hardly does. So what is judged is the highest mean over any `PAD` of wall: a whole front piece
that wraps the shank would hide a hard edge among parts that hardly press, and a point would judge
the guess at the flesh.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.spatial import cKDTree

from fea.device.device import Device
from fea.device.facing import FOOT_BODY, SHANK_BODY
from fea.solver.solution import Solution

Array = NDArray[np.float64]
Point = tuple[float, float, float]

PAD = 2000.0
"""mm² of wall over which pressure is averaged: the pad of a published study of pain under force.
Source: tolerance-pad-2021."""

BONE_RADIUS = 15.0
"""mm, radius of the disc of wall that is averaged over bone; assumed: some 7 cm², a few cells."""

REACH = 25.0
"""mm from a landmark on the skin up to which a wall counts as lying over it; assumed: `BONE_RADIUS`
and as much again as a wall stands off the skin."""


@dataclass(frozen=True)
class PressureReading:
    """How one zone touches the limb in one case.

    Attributes:
        zone, case: names.
        force: (3,) N, resultant that the zone exerts on the limb.
        area: mm² in contact.
        mean: MPa over that area;  peak: highest at a node, MPa;  place: (3,) where, mm.
    """

    zone: str
    case: str
    force: Point
    area: float
    mean: float
    peak: float
    place: Point


@dataclass(frozen=True)
class StrapReading:
    """One strap in one case: tension, N; pressure on a round limb, tension / (width · radius)."""

    strap: str
    case: str
    tension: float
    pressure: float


@dataclass(frozen=True)
class PadReading:
    """The hardest pressed pad of one part of the device in one case.

    Attributes:
        part: zone, bony place or strap;  kind: which of them.
        case: name.
        mean: MPa over `PAD`, over bone over a disc of `BONE_RADIUS`; of a strap over all of it.
        peak: MPa, highest at a node of the part.
        place: (3,) middle of the pad, mm.
    """

    part: str
    kind: Literal["wall", "bone", "strap"]
    case: str
    mean: float
    peak: float
    place: Point


@dataclass(frozen=True)
class Bone:
    """A place where bone lies under the skin.

    Attributes:
        name: in words;  landmark: of the device, on the skin.
        below: landmark up to whose height it runs along the shank; None for a single place.
    """

    name: str
    landmark: str
    below: str | None = None


BONES = (
    Bone("tibial crest", "tibial_crest", below="tibial_tuberosity"),
    Bone("fibular head", "fibular_head"),
    Bone("medial malleolus", "medial_malleolus"),
    Bone("lateral malleolus", "lateral_malleolus"),
)


@dataclass(frozen=True, eq=False)
class Touch:
    """The walls that may press on one body, node by node, in all cases of one structure.

    Attributes:
        cases: (k,) names;  zones: names.
        points: (m, 3) mm;  area: (m,) mm² of wall that belongs to each;  zone: (m,) its number.
        pressure: (k, m) MPa. A node on the border of two zones comes twice.
    """

    cases: tuple[str, ...]
    zones: tuple[str, ...]
    points: Array
    area: Array
    zone: NDArray[np.int64]
    pressure: Array

    @classmethod
    def of(cls, solutions: Mapping[str, Solution], body: str) -> "Touch":
        """The touch of a body in solutions that share one structure."""
        every = list(solutions.values())
        structure = every[0].system.structure
        zones = tuple(bed.zone for bed in structure.beds if bed.body == body)
        parts = [[solution.pressure(zone) for zone in zones] for solution in every]
        nodes = np.concatenate([np.empty(0, np.int64), *(part[0] for part in parts[0])])
        return cls(
            tuple(solutions),
            zones,
            structure.mesh.points[nodes],
            np.concatenate([np.empty(0), *(part[2] for part in parts[0])]),
            np.repeat(np.arange(len(zones)), [len(part[0]) for part in parts[0]]),
            np.array([np.concatenate([np.empty(0), *(part[1] for part in row)]) for row in parts]),
        )

    def pads(self, pad: float) -> Array:
        """Mean pressure (k, m) over the ``pad`` mm² of wall nearest to each node, MPa."""
        return np.asarray((pad_means(self.points, self.area, pad) @ self.pressure.T).T)

    def hardest(
        self, part: str, kind: Literal["wall", "bone"], centres: NDArray[np.int64], pads: Array
    ) -> list[PadReading]:
        """The hardest pad of each case round some nodes, with the peak in their zone near them."""
        means = pads[:, centres]
        round_them = _nearer(self.points, self.points[centres], BONE_RADIUS)
        peaks = self.pressure[:, round_them & np.isin(self.zone, self.zone[centres])].max(axis=1)
        return [
            PadReading(part, kind, case, max(float(row.max()), 0.0), float(peak),
                       _point(self.points[centres[int(row.argmax())]]))
            for case, row, peak in zip(self.cases, means, peaks, strict=True)
        ]  # fmt: skip

    def over(self, device: Device, bone: Bone) -> NDArray[np.int64]:
        """Nodes of wall over a bony place; none where no wall that presses comes near it."""
        at = np.asarray(device.landmarks[bone.landmark], dtype=float)
        away = self.points - at
        if bone.below is None:
            distance = np.linalg.norm(away, axis=1)
            near = distance <= REACH
            return np.flatnonzero(near)[[int(distance[near].argmin())]] if near.any() else _none()
        axis = shank_axis(device)
        from_line = np.linalg.norm(away - np.outer(away @ axis, axis), axis=1)
        near = (from_line <= REACH) & (np.abs(away[:, 1]) <= BONE_RADIUS)
        top = device.landmarks.get(bone.below)
        if top is not None:
            near &= (self.points - top) @ axis <= 0.0
        return np.flatnonzero(near)


def pad_means(points: Array, area: Array, pad: float) -> csr_matrix:
    """The matrix (m, m) that takes values at nodes to their means over the wall round each node.

    Args:
        points: (m, 3) nodes, mm;  area: (m,) of wall that belongs to each, mm².
        pad: mm² of wall nearest to the node, the last node in part; at a rim the pad reaches
            farther inwards. More than there is takes all there is.

    Example:
        >>> row = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]])
        >>> pad_means(row, np.ones(3), 1.5).toarray()[0].round(3).tolist()
        [0.667, 0.333, 0.0]
    """
    count = len(area)
    if not count:
        return csr_matrix((0, 0))
    pad = min(pad, float(area.sum()))
    reach = min(count, int(3.0 * pad / area.mean()) + 2)
    tree = cKDTree(points)
    while True:
        near = tree.query(points, k=np.arange(1, reach + 1))[1]
        own = area[near]
        share = np.clip(pad - (np.cumsum(own, axis=1) - own), 0.0, own)
        if reach == count or share.sum(axis=1).min() >= (1.0 - 1e-9) * pad:
            break
        reach = min(count, 2 * reach)
    starts = np.arange(0, count * reach + 1, reach)
    return csr_matrix((share.ravel() / pad, near.ravel(), starts), shape=(count, count))


def read_pressures(solutions: Mapping[str, Solution]) -> tuple[PressureReading, ...]:
    """Every zone that touches the limb in every case."""
    return tuple(
        _pressure(bed.zone, solution)
        for solution in solutions.values()
        for bed in solution.system.structure.beds
        if bed.body is not None
    )


def nodal_pressure(solution: Solution) -> Array:
    """Pressure (n,) between limb and device at the nodes of the mesh, MPa; NaN off every bed."""
    structure = solution.system.structure
    count = len(structure.mesh.points)
    force, area = np.zeros(count), np.zeros(count)
    for bed in structure.beds:
        if bed.body is not None:
            nodes, pressure, own = solution.pressure(bed.zone)
            force[nodes] += pressure * own
            area[nodes] += own
    return np.where(area > 0.0, force / np.where(area > 0.0, area, 1.0), np.nan)


def read_straps(device: Device, solutions: Mapping[str, Solution]) -> tuple[StrapReading, ...]:
    """Every strap in every case that wears it; without friction, and not worn tight."""
    readings = []
    for strap in device.straps:
        ends = [device.mesh.points[device.mesh.place(place)].mean(axis=0) for place in strap.places]
        radius = 0.5 * float(np.linalg.norm(ends[1] - ends[0]))
        for case, solution in solutions.items():
            if not any(worn.name == strap.name for worn in solution.system.structure.straps):
                continue
            tension = solution.tension(strap.name)
            readings.append(
                StrapReading(strap.name, case, tension, tension / (strap.width * radius))
            )
    return tuple(readings)


def read_pads(device: Device, solutions: Mapping[str, Solution]) -> tuple[PadReading, ...]:
    """The hardest pads on the shank: of its zones, over bone, and under straps.

    Args:
        device: gives landmarks and straps; its zones are those of the solutions.
        solutions: case name to solution; all share one structure.
    """
    if not solutions:
        return ()
    shank, foot = (Touch.of(solutions, body) for body in (SHANK_BODY, FOOT_BODY))
    pads = shank.pads(PAD)
    readings: list[PadReading] = []
    for number, zone in enumerate(shank.zones):
        readings += shank.hardest(zone, "wall", np.flatnonzero(shank.zone == number), pads)
    discs = [(touch, touch.pads(math.pi * BONE_RADIUS**2)) for touch in (shank, foot)]
    for bone in BONES:
        over = over_bone(device, bone, (shank, foot))
        readings += [
            reading for touch, disc in discs if touch is over[0] and len(over[1])
            for reading in touch.hardest(bone.name, "bone", over[1], disc)
        ]  # fmt: skip
    for strap in device.straps:
        if strap.body == SHANK_BODY:
            first = device.mesh.points[device.mesh.place(strap.places[0])].mean(axis=0)
            readings += [
                PadReading(each.strap, "strap", each.case, each.pressure, each.pressure,
                           _point(first))
                for each in read_straps(device, solutions) if each.strap == strap.name
            ]  # fmt: skip
    return tuple(readings)


def over_bone(
    device: Device, bone: Bone, touches: Sequence[Touch]
) -> tuple[Touch, NDArray[np.int64]]:
    """The first of some touches that has wall over a bony place, and its nodes; or none."""
    if bone.landmark in device.landmarks:
        for touch in touches:
            nodes = touch.over(device, bone)
            if len(nodes):
                return touch, nodes
    return touches[0], _none()


def shank_axis(device: Device) -> Array:
    """Unit vector (3,) up the shank: from ankle axis to knee centre, or upright without one."""
    up = np.array([0.0, 0.0, 1.0])
    if "knee_centre" in device.landmarks:
        up = np.asarray(device.landmarks["knee_centre"] - device.landmarks["ankle_axis"])
    return np.asarray(up / np.linalg.norm(up))


def _pressure(zone: str, solution: Solution) -> PressureReading:
    nodes, pressure, area = solution.pressure(zone)
    pressed = pressure > 0.0
    contact = float(area[pressed].sum())
    node = int(pressure.argmax())
    return PressureReading(
        zone=zone,
        case=solution.case,
        force=_point(-solution.bed_forces(zone)[1].sum(axis=0)),
        area=contact,
        mean=float(pressure[pressed] @ area[pressed]) / contact if contact else 0.0,
        peak=max(float(pressure[node]), 0.0),
        place=_point(solution.system.structure.mesh.points[nodes[node]]),
    )


def _nearer(points: Array, others: Array, distance: float) -> NDArray[np.bool_]:
    """Which points (m,) lie nearer than a distance to any of the others."""
    return np.asarray(cKDTree(others).query(points)[0] <= distance)


def _none() -> NDArray[np.int64]:
    return np.empty(0, np.int64)


def _point(values: Array) -> Point:
    x, y, z = (float(value) for value in values)
    return x, y, z
