# SPDX-License-Identifier: MIT
"""Hand rules of joints: stress of a fastener, and of the material round it, from the force on it.

Bearing, edge shear, punching and the shank are nominal, force over area; `pin_peak_factor` and
`slot_peak` are peaks beside a pin and a slot. What a plain hole adds to the stress of the wall is
in `fea.check.holes`. Force in N, lengths in mm, stress in MPa.

Source: shigley-2011 (bearing, edge shear, eccentric rows), en-1993-1-8 (punching, shank).
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def bearing_stress(force: ArrayLike, diameter: float, thickness: float) -> Array:
    """Pressure of a shank on the wall of its hole, over the projected area d t.

    Example:
        >>> float(bearing_stress(480.0, diameter=4.8, thickness=5.0))
        20.0
    """
    return np.asarray(force, dtype=float) / (diameter * thickness)


def shear_out_stress(
    force: ArrayLike, edge_distance: ArrayLike, diameter: float, thickness: float
) -> Array:
    """Shear on the two planes along which a shank tears out to the edge it is pushed towards.

    Args:
        force: on the shank.
        edge_distance: from the middle of the hole to the edge, along the force, more than d/2.
        diameter, thickness: of hole and wall.

    Each plane is counted from the hole to the edge, e − d/2 long, which is the shortest of them.

    Example:
        >>> float(shear_out_stress(1000.0, 12.0, diameter=4.0, thickness=5.0))
        10.0
    """
    plane = np.asarray(edge_distance, dtype=float) - 0.5 * diameter
    return np.asarray(force, dtype=float) / (2.0 * plane * thickness)


def punching_stress(pull: ArrayLike, head: float, thickness: float) -> Array:
    """Shear round the head or washer of diameter ``head`` that is pulled through the wall.

    Source: en-1993-1-8, table 3.4.

    Example:
        >>> round(float(punching_stress(1000.0, head=16.0, thickness=4.0)), 3)
        4.974
    """
    return np.asarray(pull, dtype=float) / (np.pi * head * thickness)


def fastener_use(
    shear: ArrayLike, pull: ArrayLike, *, diameter: float, shear_strength: float,
    pull_strength: float,
) -> Array:
    """Share of a fastener's strength used by shear and pull together; 1 at failure.

    Args:
        shear, pull: forces on the shank.
        diameter: of the shank; of a thread its core.
        shear_strength: Fv,R over the area.
        pull_strength: Ft,R over the area: 0.6 of the tensile strength of a rivet, whose head gives
            way first, 0.9 of that of a screw.

    Source: en-1993-1-8, table 3.4: Fv/Fv,R + Ft/(1.4 Ft,R); and pull alone up to Ft,R.

    Example:
        >>> use = fastener_use(1000.0, 700.0, diameter=4.0, shear_strength=200.0,
        ...                    pull_strength=0.6 * 300.0)
        >>> round(float(use), 4)  # 1000/2513 + 700/(1.4 · 2262)
        0.6189
    """
    area = 0.25 * np.pi * diameter**2
    in_shear = np.asarray(shear, dtype=float) / (area * shear_strength)
    in_pull = np.asarray(pull, dtype=float) / (area * pull_strength)
    return np.maximum(in_shear + in_pull / 1.4, in_pull)


PIN_SHARE = 0.5
"""Diameter over width up to which `pin_peak_factor` is known."""


def pin_peak_factor(share: ArrayLike) -> Array:
    """Highest tension beside a pin over its pressure on the hole, by diameter over width.

    The width is twice the way to the nearest edge of all, that ahead of the pin too. An envelope of
    meshed plates with the pressure of the pin spread as a cosine; tests of plates with a far edge
    ahead lie below it (tests/validation/test_peaks_at_pins_and_slots.py).

    Source: frocht-hill-1940 for the tests; the envelope is derived, up to `PIN_SHARE`.

    Example:
        >>> pin_peak_factor([0.1, 0.25, 0.5]).round(2).tolist()
        [1.32, 1.69, 3.0]
    """
    return np.asarray(1.25 + 7.0 * np.asarray(share, dtype=float) ** 2)


def slot_peak(
    bending: ArrayLike, pull: ArrayLike, *, length: float, width: float, depth: float
) -> Array:
    """Highest stress at the end of a slot with round ends, through which a strap pulls.

    Args:
        bending: of the strip between slot and rim, as a beam held at both ends, MPa.
        pull: of the strap over length and wall thickness, MPa.
        length, width: of the slot;  depth: of the strip, mm.

    The strip runs into the wall with a fillet of half the width, and the pull passes across the
    slot, which is taken for an ellipse of the same length and end radius. The sum is no less than
    meshed slots show (tests/validation/test_peaks_at_pins_and_slots.py).

    Source: heywood-1952 for a fillet in bending in a deep wall, from memory; inglis-1913.

    Example:
        >>> float(slot_peak(100.0, 10.0, length=40.0, width=4.0, depth=8.0).round(1))
        216.4
    """
    fillet = 1.0 + (depth / (10.74 * 0.5 * width)) ** 0.85
    ellipse = 1.0 + 2.0 * np.sqrt(length / width)
    return np.asarray(fillet * np.asarray(bending) + ellipse * np.asarray(pull))


def row_forces(points: Array, axis: Array, twist: Array) -> Array:
    """Forces by which a row of fasteners takes moments about their own axes.

    A shank turns in its hole, so a single one takes no moment about its axis; a row takes the sum
    as forces in proportion to the distance from its middle.

    Args:
        points: (r, 3) of the fasteners.
        axis: (3,) unit vector, the common direction of their axes.
        twist: (..., r) moment on each about ``axis``, N·mm.

    Returns:
        Forces (..., r, 3), N, without resultant, whose moment about ``axis`` is the sum of twists.

    Raises:
        ZeroDivisionError: the row is a single fastener, or all lie on one axis.

    Example:
        >>> pair = np.array([[0.0, 0, 0], [0, 0, 40.0]])
        >>> row_forces(pair, np.array([0.0, 1, 0]), np.array([600.0, 200.0])).tolist()
        [[-20.0, 0.0, 0.0], [20.0, 0.0, 0.0]]
    """
    arm = points - points.mean(axis=0)
    arm = arm - np.outer(arm @ axis, axis)
    polar = float(np.sum(arm**2))
    if polar == 0.0:
        raise ZeroDivisionError("a single fastener takes no moment about its own axis")
    total = np.asarray(twist, dtype=float).sum(axis=-1)
    return np.asarray(total[..., None, None] * np.cross(axis, arm) / polar)


def rows_of(points: Array) -> list[NDArray[np.int64]]:
    """Fasteners (r, 3) that stand together: no further apart than twice the nearest of either.

    Example:
        >>> at = np.array([[0.0, 0, 0], [0, 0, 40.0], [0, 0, 80.0], [0, 0, 280.0], [0, 0, 320.0]])
        >>> [row.tolist() for row in rows_of(at)]
        [[0, 1, 2], [3, 4]]
    """
    gap = np.linalg.norm(points[:, None] - points[None], axis=2)
    nearest = np.where(np.eye(len(points), dtype=bool), np.inf, gap).min(axis=1, initial=np.inf)
    row = np.arange(len(points))
    for i, j in zip(*np.nonzero(gap <= 2.0 * np.minimum.outer(nearest, nearest)), strict=True):
        row[row == row[j]] = row[i]
    return [np.flatnonzero(row == k) for k in dict.fromkeys(row.tolist())]
