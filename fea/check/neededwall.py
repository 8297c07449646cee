# SPDX-License-Identifier: MIT
"""The wall that a check needs, from the share of what is allowed that it uses."""

import math

WEAK = 0.1
"""Slope of a check by its wall above which a thicker one does not help it. Status: assumed."""


def wall_times(used: float, *, buckling: bool = False, slope: float | None = None) -> float:
    """By which a wall may be thinner, or must be thicker, so that a check just holds.

    With a slope, what is missing is taken from it, in the logarithms. Without one, loads in the
    wall are taken to stay: stress of bending goes with the inverse square of the thickness, that of
    tension with the inverse, the load of buckling with at least the square and at most the cube;
    the rule that asks for more wall counts. So it does where there is room to spare.

    Args:
        used: share of what is allowed.
        buckling: whether it is one of buckling.
        slope: relative change of the demand over that of the wall; None where it is not known.

    Returns:
        Needed over judged thickness; infinite where a thicker wall does not help.

    Example:
        >>> wall_times(0.81), wall_times(1.44), wall_times(1.44, buckling=True)
        (0.9, 1.44, 1.2)
        >>> wall_times(1.44, slope=-2.0), wall_times(1.44, slope=0.3)
        (1.2, inf)
    """
    if used <= 1.0:
        steepest = 3.0 if buckling else 2.0
        return float(used ** (1.0 / max(steepest, -(slope or 0.0))))
    if slope is None:
        return math.sqrt(used) if buckling else used
    return used ** (-1.0 / slope) if slope < -WEAK else math.inf


def least_wall(wall: float, times: float) -> float:
    """The thinnest wall that keeps its required factors, mm, rounded up to a tenth.

    Example:
        >>> least_wall(4.5, 0.9), least_wall(4.0, 1.44)
        (4.1, 5.8)
    """
    return math.ceil(round(10.0 * wall * times, 6)) / 10.0 if math.isfinite(times) else math.inf
