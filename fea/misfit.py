# SPDX-License-Identifier: MIT
"""What does not fit between a device, the limb in it and the loads on it: never a pass."""

from collections.abc import Sequence

import numpy as np

from fea.check.check import NotChecked
from fea.device.device import Device
from fea.device.facing import FOOT_BODY, landmark
from fea.judging import Loads
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.worn import Worn

_FIT = 0.15  # share by which the heels of device and limb may lie apart before fit is doubted
_UPRIGHT = 0.7  # of a normal forwards: what stands behind the heel, not what lies below it


def misfits(device: Device, limb: Limb, loads: Loads) -> list[NotChecked]:
    """What the judgement of a device on a limb under its loads leaves open since they do not fit.

    Args:
        device: as fitted;  limb: the wearer's.
        loads: on this device; a plate that ends too early has moved some of them back.
    """
    gaps = beyond_plate(loads)
    heel = abs(landmark(device, "heel")[0] - landmark(device, "ankle_axis")[0])
    wanted = abs(limb.landmarks["heel"][0])
    if abs(heel - wanted) > _FIT * wanted:
        because = (
            f"the device's heel lies {heel:.0f} mm behind the ankle axis, this wearer's foot "
            f"{wanted:.0f} mm: the mesh is not resized, and looks made for another foot"
        )
        gaps.append(NotChecked(topic="fit", zone="device", because=because))
    return gaps + _unheld(device)


def _unheld(device: Device) -> list[NotChecked]:
    """A foot that nothing keeps from sliding back out of the device."""
    if any(strap.body == FOOT_BODY for strap in device.straps):
        return []
    ankle = landmark(device, "ankle_axis")[0]
    for zone in device.foot_zones:
        cells = device.mesh.zone_cells(zone)
        _, normal = triangle_geometry(device.mesh.points, cells)
        behind = device.mesh.points[cells].mean(axis=1)[:, 0] < ankle
        if (behind & (np.abs(normal[:, 0]) > _UPRIGHT)).any():
            return []
    because = (
        "no zone of foot_zones stands behind the heel and no strap runs round the instep: the "
        "foot slides in the device, and rotation, buckling and stress are those of a device that "
        "comes off; give it a heel or a strap"
    )
    return [NotChecked(topic="hold of the foot", zone="device", because=because)]


def beyond_plate(loads: Loads) -> list[NotChecked]:
    """The pushes that a plate which ends too early has moved back."""
    moved = [reaction for reaction in loads.reactions if reaction.moved_back > 0.0]
    if not moved:
        return []
    because = (
        f"the plate ends before the push of {len(moved)} load cases, which was moved back by "
        f"up to {max(reaction.moved_back for reaction in moved):.0f} mm; a shoe or foot that "
        "reaches further loads the device harder than judged here"
    )
    return [NotChecked(topic="push beyond the plate", zone="device", because=because)]


def narrow(worn: Sequence[Worn], loads: Loads) -> list[NotChecked]:
    """The pushes for which the plate is too narrow when they are moved aside."""
    kept = {case: mm for each in worn for case, mm in each.kept_aside(loads.reactions).items()}
    if not kept:
        return []
    because = (
        f"the plate is too narrow for a push {worn[-1].model.push_aside:g} mm aside in "
        f"{len(kept)} load cases ({', '.join(kept)}); it stands as far aside there as the plate "
        f"carries, at least {min(kept.values()):g} mm; a shoe or foot that reaches further loads "
        "the device harder than judged here"
    )
    return [NotChecked(topic="push beside the plate", zone="device", because=because)]
