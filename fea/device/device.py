# SPDX-License-Identifier: MIT
"""The device: one fixed geometry with walls, bars, fastenings and landmarks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import DeviceError
from fea.limb import Limb
from fea.material.laminate import Laminate
from fea.material.library import LibraryMaterial
from fea.mesh.mesh import Mesh


@dataclass(frozen=True)
class Wall:
    """What a shell zone is made of.

    Attributes:
        material: an isotropic material of the library, or the ply material of `layup`.
        thickness: mm as built, so after forming; scalar or (c,) in the zone's cell order.
        layup: the ply stack of a laminated wall, None for an isotropic one.
        direction: material axis 1 before projection on the surface, (3,) or (c, 3) in the zone's
            cell order; None for the default.
        offset: mm from the mesh to the middle of the wall along the normal.
        thinning: as-built over nominal thickness already contained in `thickness` (1.0: none).
    """

    material: LibraryMaterial
    thickness: float | NDArray[np.float64]
    layup: Laminate | None = None
    direction: tuple[float, float, float] | NDArray[np.float64] | None = None
    offset: float = 0.0
    thinning: float = 1.0


@dataclass(frozen=True)
class Bar:
    """A rectangular bar upright: `width` lies in the plane of `up`, `depth` across; mm."""

    material: LibraryMaterial
    width: float
    depth: float
    up: tuple[float, float, float]


@dataclass(frozen=True)
class Fastening:
    """A rivet or screw: the bar's node (a place) held by a washer patch of the shell (a place).

    Attributes:
        name: such as "medial foot rivet 1".
        bar_place, shell_place: the node of the bar, and the nodes of the wall under the washer.
        diameter: of the shank, mm; of a thread its core.
        washer: diameter of the washer on the wall, mm; None where it is not known.
        material: of the rivet or screw; None where it is not known.
        hole_diameter: mm; None where the shank fills its hole.
    """

    name: str
    bar_place: str
    shell_place: str
    diameter: float
    washer: float | None = None
    material: LibraryMaterial | None = None
    hole_diameter: float | None = None

    @property
    def hole(self) -> float:
        """Diameter of the hole in wall and bar, mm."""
        return self.diameter if self.hole_diameter is None else self.hole_diameter


@dataclass(frozen=True)
class Hole:
    """A round hole that the mesh does not show.

    Attributes:
        name, zone: its own, and of the wall.
        place: of one node, the corner nearest to it of the cell that it lies in.
        diameter: mm.
        point: (3,) its middle on the wall, mm; None at the node itself.
    """

    name: str
    zone: str
    place: str
    diameter: float
    point: tuple[float, float, float] | None = None

    def middle(self, mesh: Mesh) -> NDArray[np.float64]:
        """Its middle (3,) on the wall, mm."""
        node = mesh.points[mesh.place(self.place)[0]]
        return node if self.point is None else np.array(self.point)

    def shift(self, mesh: Mesh) -> float:
        """From its middle to its node, mm."""
        gap = self.middle(mesh) - mesh.points[mesh.place(self.place)[0]]
        return float(np.linalg.norm(gap))


@dataclass(frozen=True)
class StrapRivets:
    """Rivets at each end of a strap.

    Attributes:
        count: at each end.
        diameter, washer: of the shank, of a thread its core; and of the washer on the wall, mm.
        edge_distance: from their middle to the rim of the wall that the strap is pulled over, mm.
        material: of the rivets.
        hole_diameter: mm; None where the shank fills its hole.
    """

    count: int
    diameter: float
    washer: float
    edge_distance: float
    material: LibraryMaterial
    hole_diameter: float | None = None

    @property
    def hole(self) -> float:
        """Diameter of the holes in the wall, mm."""
        return self.diameter if self.hole_diameter is None else self.hole_diameter


@dataclass(frozen=True)
class StrapSlot:
    """A slot at each end that the strap is looped through: length along the rim, width, mm.

    `edge_distance` is what is left of the wall between slot and rim, mm.
    """

    length: float
    width: float
    edge_distance: float


@dataclass(frozen=True)
class Strap:
    """A strap that holds the limb in the device; it only pulls.

    Attributes:
        name: such as "calf strap".
        places: the two places of the mesh that it is fastened to.
        body: "shank" or "foot", which it runs over.
        over: (3,) direction in which it passes round the limb: backwards for a calf strap.
        width: mm.
        stiffness: N/mm, pull per elongation of strap and flesh together.
        source, status: where the stiffness comes from.
        zone: that it is fastened to.  at_share: of the zone's height or length, of its middle.
        fixing: how its ends are fastened; None where that is not known.
    """

    name: str
    places: tuple[str, str]
    body: str
    over: tuple[float, float, float]
    width: float
    stiffness: float
    source: str
    status: str
    zone: str
    at_share: float
    fixing: StrapRivets | StrapSlot | None = None


@dataclass(frozen=True)
class Sole:
    """What lies under the plate, and how the device stands.

    Attributes:
        height: mm from the floor to the mesh of the plate (shoe sole and half the plate).
        heel_sole_difference: mm by which the shoe's heel is thicker than its forefoot.
        ankle_set_deg: angle in which the device holds the ankle, dorsiflexion positive.
    """

    height: float
    heel_sole_difference: float
    ankle_set_deg: float

    @property
    def notes(self) -> tuple[str, ...]:
        """What the report must say about the sole."""
        if not self.heel_sole_difference:
            return ()
        return (
            f"The heel-sole difference of {self.heel_sole_difference:g} mm leans the shank, and "
            "counts only in load cases that ask how the shank stands.",
        )


@dataclass(frozen=True)
class Device:
    """A device of one fixed geometry, in the device frame (x forward, y left, z up; mm).

    Attributes:
        name, title: short name and one line for people.
        side: "left" or "right"; medial and lateral follow from it.
        mesh: zones named in `walls` and `bars` partition all cells.
        walls: shell zone to `Wall`;  bars: line zone to `Bar`.
        fastenings: bars to shells.
        straps: bands round the limb.
        holes: holes that the mesh does not show, besides those of fastenings and straps.
        plate_zones: zones under the foot that take the ground reaction.
        foot_zones: zones that touch the foot;  shank_zones: zones that touch the shank.
        landmarks: name to (3,) point; at least "ankle_axis", "heel", "plate_end".
        sole: what lies under the plate.
        origin: where the geometry comes from, one line.
        notes: what was repaired or assumed while reading, for the report.
    """

    name: str
    title: str
    side: str
    mesh: Mesh
    walls: Mapping[str, Wall]
    plate_zones: tuple[str, ...]
    foot_zones: tuple[str, ...]
    shank_zones: tuple[str, ...]
    landmarks: Mapping[str, NDArray[np.float64]]
    sole: Sole
    origin: str
    bars: Mapping[str, Bar] = field(default_factory=dict)
    fastenings: tuple[Fastening, ...] = ()
    straps: tuple[Strap, ...] = ()
    holes: tuple[Hole, ...] = ()
    notes: tuple[str, ...] = ()

    def fit(self, limb: Limb, size: float | None = None) -> "Device":
        """The device itself: one of fixed geometry is neither resized nor meshed again.

        Raises:
            DeviceError: the limb is of the other side.
        """
        if limb.side != self.side:
            raise DeviceError(
                f"device '{self.name}' is for the {self.side} side, the wearer's is the {limb.side}"
            )
        return self

    @property
    def materials(self) -> tuple[LibraryMaterial, ...]:
        """Of walls and bars, each once by its name; not of rivets and screws."""
        parts: list[Wall | Bar] = [*self.walls.values(), *self.bars.values()]
        return tuple({part.material.name: part.material for part in parts}.values())

    def softened(self, share: Callable[[LibraryMaterial], float]) -> "Device":
        """The device with every wall and bar softened.

        Args:
            share: of its stiffness that a material keeps.
        """
        return replace(
            self,
            walls={zone: _softened_wall(wall, share) for zone, wall in self.walls.items()},
            bars={
                zone: replace(bar, material=_softened(bar.material, share(bar.material)))
                for zone, bar in self.bars.items()
            },
        )


def _softened_wall(wall: Wall, share: Callable[[LibraryMaterial], float]) -> Wall:
    left = share(wall.material)
    layup = None if wall.layup is None else wall.layup.softened(left)
    return replace(wall, material=_softened(wall.material, left), layup=layup)


def _softened(material: LibraryMaterial, share: float) -> LibraryMaterial:
    return replace(material, elastic=material.elastic.softened(share))
