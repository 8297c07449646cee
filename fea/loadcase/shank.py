# SPDX-License-Identifier: MIT
"""How the shank stands: the angle that shoe and device give it."""

import math

from fea.device.device import Sole
from fea.errors import LoadError


def shank_to_vertical(sole: Sole, ball_length: float) -> float:
    """Forward lean of the shank from vertical, standing flat on the floor in shoe and device.

    The ankle set alone says nothing about it: a shoe whose heel is thicker than its forefoot tips
    the foot forward by arctan(difference / length), and the shank with it. So

        shank to vertical = ankle set + arctan(heel-sole difference / heel-to-ball length)

    Args:
        sole: heel-sole difference and ankle set (dorsiflexion positive) of the device.
        ball_length: heel edge to ball of the foot, mm; the shoe stands on heel and ball.

    Returns:
        rad, positive with the knee ahead of the ankle.

    Raises:
        LoadError: a length that is not positive.

    Source: practice (geometry; that heel and ball are where the shoe stands is common practice).

    Example:
        >>> equinus = Sole(height=14.0, heel_sole_difference=18.0, ankle_set_deg=-5.0)
        >>> round(math.degrees(shank_to_vertical(equinus, 182.0)), 1)
        0.6
    """
    if not ball_length > 0.0:
        raise LoadError(f"a heel-to-ball length of {ball_length:g} mm is no length; give it in mm")
    wedge = math.atan2(sole.heel_sole_difference, ball_length)
    return math.radians(sole.ankle_set_deg) + wedge
