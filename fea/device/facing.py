# SPDX-License-Identifier: MIT
"""Where the limb lies from a wall: which of its faces is the inner one, and the landmarks."""

import numpy as np

from fea.device.device import Device
from fea.errors import DeviceError
from fea.mesh.mesh import Mesh, triangle_geometry

FOOT_BODY, SHANK_BODY = "foot", "shank"

_ONE_SIDED = 0.5  # share of a zone's area-weighted normals that must agree where the limb lies


def limb_face(device: Device, mesh: Mesh, zone: str, body: str) -> str:
    """The face of a zone that looks at the limb, "top" or "bottom".

    The limb is looked for towards the vertical through the ankle axis from a zone of the shank,
    and towards the line through the ankle axis along the foot from a zone of the foot (towards
    the axis itself from behind it).

    Raises:
        DeviceError: the normals of the zone do not agree on where the limb lies.
    """
    ankle = np.asarray(landmark(device, "ankle_axis"))
    cells = mesh.zone_cells(zone)
    area, normal = triangle_geometry(mesh.points, cells)
    centre = mesh.points[cells].mean(axis=1)
    inward = ankle - centre
    if body == SHANK_BODY:
        inward[:, 2] = 0.0
    else:
        inward[centre[:, 0] > ankle[0], 0] = 0.0
    facing = area * np.einsum("ci,ci->c", normal, inward)
    if abs(facing.sum()) < _ONE_SIDED * np.abs(facing).sum():
        raise DeviceError(
            f"zone '{zone}' of device '{device.name}': its normals do not tell on which side the "
            f"{body} lies; let all its cells run the same way round, or split the zone"
        )
    return "top" if facing.sum() > 0.0 else "bottom"


def landmark(device: Device, name: str) -> tuple[float, float, float]:
    """A landmark of the device, mm; raises `DeviceError` when it is missing."""
    if name not in device.landmarks:
        known = ", ".join(device.landmarks) or "none"
        raise DeviceError(f"device '{device.name}' has no landmark '{name}'; it has {known}")
    x, y, z = (float(value) for value in device.landmarks[name])
    return x, y, z
