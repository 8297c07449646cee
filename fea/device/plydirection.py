# SPDX-License-Identifier: MIT
"""Where ply axis 1 lies when a layup says nothing else: along the part.

Along the foot, round the heel and up the shank, as cloth is draped: one field without a jump
between zones, so that a ply that runs through several of them stays one ply.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_STEP = 0.1  # mm, for what a pose makes of a direction


def along_the_part(points: ArrayLike, centre: tuple[float, float]) -> Array:
    """Directions along the part, to be projected on its surface.

    Args:
        points: (n, 3) of the upright limb, x forward and z up, mm.
        centre: x and z of the line about which the part turns from the foot to the shank: that of
            the trim radius at the ankle.

    Returns:
        (n, 3) unit vectors in planes of constant y: forward ahead of the centre, down above it,
        and square to the radius about it between.

    Example:
        >>> plate, shank, heel = [90, 0, 0], [-90, 0, 300], [-40, 0, 10]
        >>> along_the_part([plate, shank, heel], (30.0, 80.0)).round(3).tolist()
        [[1.0, 0.0, -0.0], [0.0, 0.0, -1.0], [0.707, 0.0, -0.707]]
    """
    x, _, z = np.asarray(points, dtype=float).T
    behind, below = np.maximum(centre[0] - x, 0.0), np.maximum(centre[1] - z, 0.0)
    above = (behind == 0.0) & (below == 0.0)  # no wall of a recipe lies there
    length = np.where(above, 1.0, np.hypot(behind, below))
    down = np.where(above, 1.0, behind / length)
    return np.stack([below / length, np.zeros_like(x), -down], axis=1)


def posed_directions(
    directions: Array, points: ArrayLike, pose: Callable[[Array], Array]
) -> Array:
    """What a pose of points makes of directions (n, 3) at points (n, 3): unit vectors (n, 3)."""
    middle, half = np.asarray(points, dtype=float), 0.5 * _STEP * directions
    turned = pose(middle + half) - pose(middle - half)
    return np.asarray(turned / np.linalg.norm(turned, axis=1, keepdims=True))
