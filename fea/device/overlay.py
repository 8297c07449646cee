# SPDX-License-Identifier: MIT
"""Strips and patches bonded on a wall: a zone of its own, with one laminate of wall and overlay.

The mesh stays in the middle of the wall as it was. The laminate is thicker on one side, so its
middle lies off the mesh by half of what was bonded on, and the neutral axis moves with it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.device.carving import carved, require_free
from fea.device.changefile import Overlay
from fea.device.device import Bond, Device, Wall
from fea.device.facing import FOOT_BODY, SHANK_BODY, limb_face
from fea.device.strip import Covered, covered
from fea.errors import DeviceError, MaterialError
from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate, Ply
from fea.material.library import LibraryMaterial, find_material
from fea.mesh.mesh import triangle_geometry

Array = NDArray[np.float64]

BAND = 1.1
"""Thickest over thinnest wall that one laminate may stand for: a wall that tapers more is parted
into bands. Source: assumed; as a step of the wall in `fea.structure.patches`."""

_ALONG = {"up": (0.0, 0.0, 1.0), "forward": (1.0, 0.0, 0.0)}
_FLAT = np.cos(np.radians(20.0))  # of a facet that a strip cannot run along: square to it


@dataclass(frozen=True)
class _Layer:
    """One layer of a wall."""

    material: LibraryMaterial
    elastic: Ply | Isotropic
    angle: float
    thickness: float


def overlaid(
    device: Device, overlay: Overlay, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device with a strip or patch bonded on.

    Args:
        device: of fixed geometry.
        overlay: what, and where.
        library: materials by name.

    Returns:
        The device with a zone "NAME on ZONE" in each zone that is covered, and a note of the width
        and mass as meshed.

    Raises:
        DeviceError: the overlay does not fit the device; the message says what to change.
    """
    layers = _layers_of(overlay, find_material(library, overlay.material))
    bases = [zone for name in overlay.zones or device.walls for zone in device.parts(name)]
    sides = {zone: _side(device, zone, overlay) for zone in bases}
    under = covered(device, overlay)
    require_free(under.device, under.cells, overlay.name, joints=True)
    _require_along(under, overlay)

    def made(zone: str, wall: Wall, areas: Array) -> Wall:
        whole = np.broadcast_to(wall.thickness, areas.shape)
        wall = replace(wall, thickness=float(np.average(whole, weights=areas)))
        along = wall.direction if wall.layup is not None else _ALONG[overlay.along]
        return bonded(replace(wall, direction=along), layers, overlay.name, top=sides[zone])

    result = carved(under.device, _bands(under), overlay.name, made)
    return replace(result, notes=(*result.notes, *_notes(under, overlay, layers)))


def bonded(wall: Wall, layers: Sequence[_Layer], name: str, *, top: bool) -> Wall:
    """A wall with layers bonded on its top or bottom, one laminate about the same mesh surface."""
    base = _layers(wall)
    stack = (*base, *layers) if top else (*layers, *base)
    added = sum(layer.thickness for layer in layers)
    moved = 0 if top else len(layers)
    bonds = [replace(bond, below=bond.below + moved) for bond in wall.bonds]
    bonds.append(Bond(name, layers[0].material, (len(base) if top else len(layers)) - 1))
    layup = Laminate(
        [layer.elastic for layer in stack],
        [layer.angle for layer in stack],
        [layer.thickness for layer in stack],
    )
    return replace(
        wall,
        thickness=layup.thickness,
        layup=layup,
        offset=wall.offset + (0.5 if top else -0.5) * added,
        thinning=1.0,
        layers=tuple(layer.material for layer in stack),
        bonds=tuple(bonds),
    )


def _layers(wall: Wall) -> tuple[_Layer, ...]:
    """The layers of a wall, bottom to top; its thickness is one number."""
    if wall.layup is None:
        return (_Layer(wall.material, wall.material.elastic, 0.0, float(wall.thickness)),)
    made_of = wall.layers or (wall.material,) * len(wall.layup.plies)
    rows = zip(made_of, wall.layup.plies, wall.layup.angles_deg, wall.layup.thicknesses,
               strict=True)  # fmt: skip
    return tuple(_Layer(*row) for row in rows)


def _layers_of(overlay: Overlay, material: LibraryMaterial) -> tuple[_Layer, ...]:
    if overlay.layup is None:
        assert overlay.thickness_mm is not None  # the schema wants one of both
        if material.kind == "laminate":
            raise DeviceError(f"'{overlay.name}': '{material.name}' is a single ply; give a layup")
        return (_Layer(material, material.elastic, 0.0, overlay.thickness_mm),)
    angles, thick = overlay.layup.angles_deg, overlay.layup.thicknesses_mm
    each = thick if isinstance(thick, tuple) else (thick,) * len(angles)
    if len(each) != len(angles):
        raise DeviceError(f"'{overlay.name}': layup has {len(angles)} angles and {len(each)} "
                          "thicknesses; give one thickness for each ply, or one for all")
    rows = zip(angles, each, strict=True)
    return tuple(_Layer(material, material.elastic, angle, size) for angle, size in rows)


def _side(device: Device, zone: str, overlay: Overlay) -> bool:
    """Whether the overlay lies on the top of a zone."""
    body = FOOT_BODY if zone in device.foot_zones else SHANK_BODY
    inner = limb_face(device, device.mesh, zone, body)
    return (inner == "top") == (overlay.face == "inner")


def _require_along(under: Covered, overlay: Overlay) -> None:
    """Refuse a strip that runs up where the wall lies flat, or forward where it faces forward."""
    mesh = under.device.mesh
    area, normal = triangle_geometry(mesh.points, mesh.cells["triangle"][under.cells])
    across = np.abs(normal @ np.array(_ALONG[overlay.along]))
    if area @ across > _FLAT * area.sum():
        other = "forward" if overlay.along == "up" else "up"
        raise DeviceError(f"'{overlay.name}' runs {overlay.along}, square to the wall it covers; "
                          f'give along = "{other}"')


def _bands(under: Covered) -> NDArray[np.int64]:
    """(c,) -1 of cells that are not covered, else the band of wall thickness, from 0 in each zone.
    """
    device, label = under.device, np.full(len(under.cells), -1)
    for zone, wall in device.walls.items():
        numbers = device.mesh.zone(zone)[1]
        own = under.cells[numbers]
        if own.any():
            thickness = np.broadcast_to(wall.thickness, len(numbers))[own]
            spread = np.log(thickness / thickness.min()) / np.log(BAND)
            count = max(1, int(np.ceil(spread.max() - 1e-9)))
            share = spread / max(spread.max(), 1e-12)
            label[numbers[own]] = np.minimum((share * count).astype(int), count - 1)
    return label


def _notes(under: Covered, overlay: Overlay, layers: Sequence[_Layer]) -> list[str]:
    """What was bonded on, and how it came out."""
    thickness = sum(layer.thickness for layer in layers)
    words = (f"Bonded on the {overlay.face} face, '{overlay.name}': {layers[0].material.title}, "
             f"{thickness:g} mm")
    if under.length is not None:
        width = under.area / under.length
        words += (f", {overlay.width_mm:g} mm wide ({width:.1f} mm as meshed), {under.length:.0f} "
                  "mm long in all")
    try:
        stack = Laminate([layer.elastic for layer in layers], [layer.angle for layer in layers],
                         [layer.thickness for layer in layers])  # fmt: skip
        words += f", {1000.0 * stack.areal_mass * under.area:.0f} g without glue"
    except MaterialError:
        words += ", of unknown mass"
    if overlay.face == "inner":
        words += ". It takes as much of the room between wall and skin"
    return [f"{words}.{under.shortfall}"]
