# SPDX-License-Identifier: MIT
"""From a device on a limb to a structure: every place, zone and landmark is resolved here, once.

Foot and shank are rigid bodies joined at the ankle axis; the shank is held. Each touches the device
through flesh and liner, which only press, and through straps, which only pull. So the body's weight
passes from the plate through the foot to the joint, and the device carries the moment about the
ankle axis.
"""

import numpy as np

from fea.device.device import Bar, Device, Wall
from fea.device.device import Strap as DeviceStrap
from fea.device.facing import FOOT_BODY, SHANK_BODY, landmark, limb_face
from fea.element.solid import gradients
from fea.errors import DeviceError
from fea.loadcase.applied import AppliedPush
from fea.loadcase.reaction import GroundReaction
from fea.material.isotropic import Isotropic
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.structure.coupling import Bed, Body, Spring, Strap, Support, Tie
from fea.structure.limbmodel import RIGID_FOOT, LimbModel
from fea.structure.loads import PatchForce, SurfaceForce
from fea.structure.model import Structure
from fea.structure.sections import Section, ShellSection, SolidSection, StrutSection
from fea.structure.tissue import FOOT, SHANK, SLIP_SHARE

_PATCH_SPREAD = 2.0  # radius of the load patch over its half length along the foot


def realise(device: Device, limb: LimbModel = RIGID_FOOT) -> Structure:
    """The structure of a device worn on its limb.

    Args:
        device: a device of fixed geometry; a recipe is fitted first.
        limb: how foot, ankle and flesh are modelled.

    Returns:
        Mesh, sections, ties, beds, straps and bodies; cases are added by `Structure.with_cases`.

    Raises:
        DeviceError: a landmark that is needed is missing, a wall's material does not suit it, or
            it cannot be told on which side of a zone the limb lies.
    """
    ankle = landmark(device, "ankle_axis")
    sections: dict[str, Section] = {zone: _shell(zone, wall) for zone, wall in device.walls.items()}
    sections |= {zone: _strut(zone, bar) for zone, bar in device.bars.items()}
    mesh, foot_zones = (
        (device.mesh, device.foot_zones)
        if limb.toes_free_from is None
        else _behind(device, limb.toes_free_from)
    )
    spring = Spring(FOOT_BODY, "ry", limb.ankle_stiffness) if limb.ankle_stiffness else None
    axis = None if limb.ball_joint else (0.0, 1.0, 0.0)
    return Structure(
        mesh=mesh,
        sections=sections,
        supports=(Support(SHANK_BODY, "ux uy uz rx ry rz"),),
        ties=tuple(Tie(f.bar_place, f.shell_place, rule="mean") for f in device.fastenings),
        beds=_beds(device, mesh, foot_zones, limb),
        bodies=(
            Body(SHANK_BODY, at=ankle),
            Body(FOOT_BODY, at=ankle, joined_to=SHANK_BODY, axis=axis),
        ),
        straps=tuple(_strap(device, strap) for strap in device.straps),
        springs=() if spring is None else (spring,),
    )


def _beds(
    device: Device, mesh: Mesh, foot_zones: tuple[str, ...], limb: LimbModel
) -> tuple[Bed, ...]:
    """Flesh and liner, which press on the face of the zone that looks at the limb."""
    foot, shank = (limb.tissue_share * tissue.bed_stiffness for tissue in (FOOT, SHANK))
    beds = [
        Bed(zone, FOOT_BODY, foot, SLIP_SHARE * foot, limb_face(device, mesh, zone, FOOT_BODY))
        for zone in foot_zones
    ]
    beds += [
        Bed(
            zone, SHANK_BODY, shank, limb.shank_grip * shank,
            limb_face(device, mesh, zone, SHANK_BODY),
        )
        for zone in device.shank_zones
    ]
    return tuple(beds)


def _behind(device: Device, limit: float) -> tuple[Mesh, tuple[str, ...]]:
    """The mesh with zones of the foot that end at x = ``limit``, and their names."""
    mesh, zones = device.mesh, {}
    for zone in device.foot_zones:
        ahead = mesh.points[mesh.zone_cells(zone)].mean(axis=1)[:, 0] > limit
        if not ahead.all():
            zones[f"{zone} behind the toes"] = ("triangle", mesh.zone(zone)[1][~ahead])
    return mesh.with_zones(zones), tuple(zones)


def _strap(device: Device, strap: DeviceStrap) -> Strap:
    """A strap with its way over the limb: half a circle over its two ends."""
    first, last = (
        device.mesh.points[device.mesh.place(place)].mean(axis=0) for place in strap.places
    )
    middle, half = 0.5 * (first + last), 0.5 * (last - first)
    radius = np.linalg.norm(half)
    out = np.asarray(strap.over) - half * (half @ strap.over) / radius**2
    out *= radius / np.linalg.norm(out)
    angles = np.linspace(0.0, np.pi, 9)[1:-1, None]
    way = middle - np.cos(angles) * half + np.sin(angles) * out
    over = tuple((float(x), float(y), float(z)) for x, y, z in way)
    return Strap(strap.name, strap.places, strap.body, over, strap.stiffness)


def ground_load(device: Device, reaction: GroundReaction) -> PatchForce:
    """The ground reaction as a force on the plate, with its line of action and its twist kept."""
    x, y, z = (float(value) for value in reaction.cop)
    fx, fy, fz = (float(value) for value in reaction.force)
    return PatchForce(
        zones=device.plate_zones,
        force=(fx, fy, fz),
        at=(x, y, z),
        radius=_PATCH_SPREAD * reaction.patch_half_length,
        moment=(0.0, 0.0, reaction.free_moment) if reaction.free_moment else None,
    )


def push_loads(device: Device, push: AppliedPush) -> tuple[PatchForce | SurfaceForce, ...]:
    """A push on a device: evenly over its zones, or over a patch round its line of action."""
    fx, fy, fz = (float(value) for value in push.force)
    zones = tuple(part for zone in push.zones for part in device.parts(zone))
    if push.at is not None:
        x, y, z = (float(value) for value in push.at)
        radius = _PATCH_SPREAD * push.patch_half_length
        return (PatchForce(zones, (fx, fy, fz), (x, y, z), radius),)
    areas, _ = zip(
        *(triangle_geometry(device.mesh.points, device.mesh.zone_cells(z)) for z in zones),
        strict=True,
    )
    total = float(np.concatenate(areas).sum())
    return tuple(SurfaceForce(zone, (fx / total, fy / total, fz / total)) for zone in zones)


def plate_span(device: Device) -> tuple[float, float]:
    """x of the plate's heel edge and front end, mm."""
    nodes = np.concatenate([device.mesh.zone_nodes(zone) for zone in device.plate_zones])
    x = device.mesh.points[nodes, 0]
    return float(x.min()), float(x.max())


def device_mass(structure: Structure) -> float:
    """Mass of all shells, struts and solids, kg (the density's mass unit)."""
    mesh = structure.mesh
    total = 0.0
    for zone, section in structure.sections.items():
        if isinstance(section, ShellSection):
            area, _ = triangle_geometry(mesh.points, mesh.zone_cells(zone))
            total += float(np.sum(area * section.areal_mass(len(area))))
        elif isinstance(section, SolidSection):
            _, volume = gradients(mesh.points[mesh.zone_cells(zone)])
            total += float(volume.sum()) * section.density
        elif section.material.density is not None:
            ends = mesh.points[mesh.zone_cells(zone)]
            length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
            total += float(np.sum(length)) * section.area * section.material.density
    return total


def _shell(zone: str, wall: Wall) -> ShellSection:
    if wall.layup is not None:
        return ShellSection(wall.layup, offset=wall.offset, direction=wall.direction)
    elastic = wall.material.elastic
    if not isinstance(elastic, Isotropic):
        raise DeviceError(
            f"zone '{zone}': {wall.material.name} is a ply material; give the zone a layup"
        )
    return ShellSection(elastic, wall.thickness, wall.offset, wall.direction)


def _strut(zone: str, bar: Bar) -> StrutSection:
    elastic = bar.material.elastic
    if not isinstance(elastic, Isotropic):
        raise DeviceError(
            f"bar '{zone}': {bar.material.name} is a ply material; a bar needs an isotropic one"
        )
    return StrutSection.rectangle(elastic, width=bar.width, depth=bar.depth, up=bar.up)
