# SPDX-License-Identifier: MIT
"""What holes leave of a wall or bar between each other.

A straight way between the middles of two holes loses half of each. Taken over every pair, and over
the way from each hole to the rim, the largest share lost is no less than the share that any section
through several holes loses: a section is made of such ways. Distances are straight, so never longer
than along the wall.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SECTOR = np.radians(30.0)
"""Either side of the force: the shortest way within it is what a shank tears out by."""


@dataclass(frozen=True, eq=False)
class Cut:
    """A round hole, or a round piece of a slot.

    Attributes:
        name: of the fastening, hole or strap end.
        point: (3,) its middle.
        diameter: mm.
        slot: whether it is one of the pieces of a slot, which have nothing between them.
    """

    name: str
    point: Array
    diameter: float
    slot: bool = False


def width_beside(name: str, cuts: Sequence[Cut]) -> tuple[float, str]:
    """Width of wall (mm) that a hole would be the middle of alone, to lose as large a share of it
    as of the way to its worst neighbour; and the neighbour's name. Infinite without any.

    Example:
        >>> row = [Cut("a", np.zeros(3), 4.0), Cut("b", np.array([20.0, 0, 0]), 6.0)]
        >>> width_beside("a", row), width_beside("b", row)  # lost: 2 and 3 of 20 mm
        ((16.0, 'b'), (24.0, 'a'))
    """
    return min(
        (
            (one.diameter * gap / (0.5 * (one.diameter + other.diameter)), other.name)
            for one, other, gap in _pairs(name, cuts)
        ),
        default=(np.inf, ""),
    )


def next_hole(name: str, cuts: Sequence[Cut], force: Array) -> Array:
    """Way (n,) from the middle of a hole to the next one's near edge, within `SECTOR` of forces.

    Args:
        name: of the hole;  cuts: all there are.
        force: (n, 3) N on its shank. Without force every neighbour counts.

    Example:
        >>> row = [Cut("a", np.zeros(3), 4.0), Cut("b", np.array([20.0, 0, 0]), 6.0)]
        >>> next_hole("a", row, np.array([[5.0, 2.0, 0.0], [-5.0, 0.0, 0.0]])).tolist()
        [17.0, inf]
    """
    ahead = np.full(len(force), np.inf)
    for one, other, gap in _pairs(name, cuts):
        along = force @ (other.point - one.point)
        near = along >= np.cos(SECTOR) * np.linalg.norm(force, axis=1) * gap - 1e-9
        ahead = np.where(near, np.minimum(ahead, gap - 0.5 * other.diameter), ahead)
    return ahead


def _pairs(name: str, cuts: Sequence[Cut]) -> Iterator[tuple[Cut, Cut, float]]:
    """Each hole of a name with each other one, and the distance of their middles."""
    for one in cuts:
        for other in cuts:
            own = other is one or (one.slot and other.name == name)
            if one.name == name and not own:
                yield one, other, float(np.linalg.norm(other.point - one.point))
