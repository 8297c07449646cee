# SPDX-License-Identifier: MIT
"""The frame of the foot: forces turned into it, and moments about the ankle axis.

Device frame: x forward, y to the wearer's left, z up, origin on the floor under the ankle axis
while the foot is flat; z = 0 is the underside of the shoe. After heel-off the foot is pitched
heel-up by φ against the floor, so a force of the floor frame is turned into the device frame:

    F'x = Fx cos φ - Fz sin φ        F'z = Fx sin φ + Fz cos φ

A moment about the ankle axis is the same in both frames. With the centre of pressure a distance x'
ahead of the axis, on the sole a height h below it, the external dorsiflexing moment is

    M = F'z x' + F'x h        so        x' = (M - F'x h) / F'z
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def into_device_frame(
    fx: ArrayLike, fz: ArrayLike, pitch: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Turn forward and vertical force into the frame of a foot pitched heel-up.

    Args:
        fx, fz: forward and vertical force in the floor frame, any unit, any shape.
        pitch: rad, heel-up positive.

    Returns:
        Forward and vertical force in the device frame, same unit and shape.

    Example:
        >>> fx, fz = into_device_frame(0.152, 1.075, np.radians(14))
        >>> round(float(fx), 2), round(float(fz), 2)
        (-0.11, 1.08)
    """
    along, across = np.asarray(fx, dtype=float), np.asarray(fz, dtype=float)
    sine, cosine = np.sin(pitch), np.cos(pitch)
    return along * cosine - across * sine, along * sine + across * cosine


def dorsiflexing_moment(
    fx: ArrayLike, fz: ArrayLike, ahead: ArrayLike, height: float
) -> NDArray[np.float64]:
    """External dorsiflexing moment about the ankle axis.

    Args:
        fx, fz: forward and vertical force on the sole, device frame.
        ahead: centre of pressure ahead of the ankle axis;  height: of the axis above the sole.

    Example:
        >>> float(dorsiflexing_moment(0.0, 400.0, 100.0, 60.0))
        40000.0
    """
    return np.asarray(fz, dtype=float) * np.asarray(ahead) + np.asarray(fx) * height


def cop_ahead(
    moment: ArrayLike, fx: ArrayLike, fz: ArrayLike, height: float
) -> NDArray[np.float64]:
    """Centre of pressure ahead of the ankle axis that gives an external dorsiflexing moment.

    Example:
        >>> float(cop_ahead(40000.0, 0.0, 400.0, 60.0))
        100.0
    """
    return (np.asarray(moment, dtype=float) - np.asarray(fx) * height) / np.asarray(fz)
