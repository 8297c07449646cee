# SPDX-License-Identifier: MIT
"""From a device on a limb to a structure: every place, zone and landmark is resolved here, once.

Foot and shank are rigid bodies joined by a hinge at the ankle axis; the shank is held. Each
touches the device through a bed of tissue, two-sided in this form. So the body's weight passes from
the plate through the foot to the hinge, and the device carries the moment about the ankle axis.
"""

import numpy as np

from fea.device.device import Bar, Device, Wall
from fea.element.solid import gradients
from fea.errors import DeviceError, LoadError
from fea.loadcase.reaction import GroundReaction
from fea.material.isotropic import Isotropic
from fea.mesh.mesh import triangle_geometry
from fea.structure.coupling import Bed, Body, Support, Tie
from fea.structure.loads import PatchForce
from fea.structure.model import Structure
from fea.structure.sections import Section, ShellSection, SolidSection, StrutSection
from fea.structure.tissue import FOOT, SHANK, SLIP_SHARE

FOOT_BODY, SHANK_BODY = "foot", "shank"

_PATCH_SPREAD = 2.0  # radius of the load patch over its half length along the foot


def realise(device: Device) -> Structure:
    """The structure of a device worn on its limb.

    Args:
        device: a device of fixed geometry; a recipe is fitted first.

    Returns:
        Mesh, sections, ties, beds and bodies; cases are added by `Structure.with_cases`.

    Raises:
        DeviceError: a landmark that is needed is missing, or a wall's material does not suit it.
    """
    ankle = landmark(device, "ankle_axis")
    sections: dict[str, Section] = {zone: _shell(zone, wall) for zone, wall in device.walls.items()}
    sections |= {zone: _strut(zone, bar) for zone, bar in device.bars.items()}
    foot, shank = FOOT.bed_stiffness, SHANK.bed_stiffness
    beds = [Bed(zone, FOOT_BODY, foot, SLIP_SHARE * foot) for zone in device.foot_zones]
    beds += [Bed(zone, SHANK_BODY, shank) for zone in device.shank_zones]
    return Structure(
        mesh=device.mesh,
        sections=sections,
        supports=(Support(SHANK_BODY, "ux uy uz rx ry rz"),),
        ties=tuple(Tie(f.bar_place, f.shell_place, rule="mean") for f in device.fastenings),
        beds=tuple(beds),
        bodies=(
            Body(SHANK_BODY, at=ankle),
            Body(FOOT_BODY, at=ankle, joined_to=SHANK_BODY, axis=(0.0, 1.0, 0.0)),
        ),
    )


def ground_load(device: Device, reaction: GroundReaction) -> PatchForce:
    """The ground reaction as a force on the plate, with its line of action kept.

    Raises:
        LoadError: the ground twists the foot as well; a force alone would leave that out.
    """
    if reaction.free_moment:
        raise LoadError(
            f"'{reaction.name}': the ground twists the foot by {reaction.free_moment / 1e3:.1f} "
            "N·m about the sole's normal, which is not carried to the plate yet; set "
            "free_moment_nm_per_kg to 0, or choose another load set"
        )
    x, y, z = (float(value) for value in reaction.cop)
    fx, fy, fz = (float(value) for value in reaction.force)
    return PatchForce(
        zones=device.plate_zones,
        force=(fx, fy, fz),
        at=(x, y, z),
        radius=_PATCH_SPREAD * reaction.patch_half_length,
    )


def plate_span(device: Device) -> tuple[float, float]:
    """x of the plate's heel edge and front end, mm."""
    nodes = np.concatenate([device.mesh.zone_nodes(zone) for zone in device.plate_zones])
    x = device.mesh.points[nodes, 0]
    return float(x.min()), float(x.max())


def landmark(device: Device, name: str) -> tuple[float, float, float]:
    """A landmark of the device, mm; raises `DeviceError` when it is missing."""
    if name not in device.landmarks:
        known = ", ".join(device.landmarks) or "none"
        raise DeviceError(f"device '{device.name}' has no landmark '{name}'; it has {known}")
    x, y, z = (float(value) for value in device.landmarks[name])
    return x, y, z


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
