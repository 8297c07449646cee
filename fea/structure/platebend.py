# SPDX-License-Identifier: MIT
"""A device whose plate is bent at the ball: held behind it, turned toes-up as one piece ahead."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.device.device import Device
from fea.loadcase.applied import PlateBend
from fea.structure.coupling import DOF_NAMES, Support, Tie
from fea.structure.limbmodel import RIGID_FOOT
from fea.structure.model import Structure
from fea.structure.realise import realise

HELD, FRONT, TURNED = "plate held", "front of the plate", "plate turned"


@dataclass(frozen=True, eq=False)
class BentPlate:
    """A device with its plate bent by the whole angle of a toe bend.

    Attributes:
        structure: needs no load; the plate moves by its supports.
        arm: (3,) mm, from the crease to the place `FRONT`, by which the front is turned.
    """

    structure: Structure
    arm: NDArray[np.float64]

    def moment(self, reaction: NDArray[np.float64]) -> float:
        """Toes-up moment about the crease, N·mm, of the reaction (6,) of the place `FRONT`."""
        return -float(reaction[4] + np.cross(self.arm, reaction[:3])[1])


def bent_plate(device: Device, bend: PlateBend) -> BentPlate:
    """Bend the plate of a device.

    The nodes of the plate up to `bend.held_to` do not move. Those from `bend.turned_from` on are
    one rigid piece, moved by the foremost of them. The toes lie flat on the floor, so nothing of
    the foot presses on the plate ahead of the hold.

    Raises:
        LoadError: the plate has no node to hold, to turn or to bend.
    """
    mesh = device.mesh
    nodes = np.unique(np.concatenate([mesh.zone_nodes(zone) for zone in device.plate_zones]))
    motion = bend.motion(mesh.points[nodes])
    turned = nodes[motion.turned]
    foremost = int(np.argmax(mesh.points[turned, 0]))
    front, given = turned[foremost], motion.displacement[motion.turned][foremost]
    worn = realise(device, replace(RIGID_FOOT, toes_free_from=bend.held_to))
    others = turned[turned != front]
    places = {HELD: nodes[motion.held], FRONT: [front], TURNED: others}
    structure = replace(
        worn,
        mesh=worn.mesh.with_places(places),
        supports=(
            *worn.supports,
            Support(HELD, " ".join(DOF_NAMES)),
            *(Support(FRONT, dof, float(v)) for dof, v in zip(DOF_NAMES, given, strict=True)),
        ),
        ties=(*worn.ties, *((Tie(FRONT, TURNED, rule="rigid"),) if len(others) else ())),
    )
    return BentPlate(structure, mesh.points[front] - motion.crease)
