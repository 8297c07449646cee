# SPDX-License-Identifier: MIT
"""What the ground asks of the knee, and how much of it an ankle moment takes away.

The device does not cross the knee. With the ground reaction through the ankle axis the external
knee-flexing moment would be

    K0 = Fz L sin s − Fx L cos s

where s is the forward lean of the shank from vertical and L the distance from ankle axis to knee.
An external dorsiflexing moment M about the ankle, which device and calf carry between them, means
that the ground reaction passes ahead of the ankle; it leaves K0 − M to the knee. So what the device
does for the knee is exactly the share of M that it carries. The force of the front piece on the
shin is how it does so, and must never be counted on top. Weight and inertia of foot and shank are
neglected.

Forces stand in the floor frame.
"""

import math
from dataclasses import dataclass

from fea.errors import LoadError
from fea.limb import HEEL_BEHIND_ANKLE
from fea.loadcase.frame import cop_ahead, into_device_frame


@dataclass(frozen=True)
class KneeDemand:
    """Moments at one instant, N·mm, external; flexing the knee and dorsiflexing the foot positive.

    Attributes:
        through_ankle: knee-flexing moment if the ground reaction passed through the ankle axis, K0.
        ankle_moment: dorsiflexing moment about the ankle axis, M.
        device_share: share of it that the device carries, 0 to 1; the calf carries the rest.
    """

    through_ankle: float
    ankle_moment: float
    device_share: float = 1.0

    @property
    def at_knee(self) -> float:
        """What is left to flex the knee with the device, K0 − M; negative straightens it."""
        return self.through_ankle - self.ankle_moment

    @property
    def by_device(self) -> float:
        """What the device takes off the knee."""
        return self.device_share * self.ankle_moment

    @property
    def without_device(self) -> float:
        """What would flex the knee if only the calf's share of the ankle moment were there."""
        return self.at_knee + self.by_device

    @property
    def for_quadriceps(self) -> float:
        """Moment that the quadriceps must hold; nothing where the knee is pressed straight."""
        return max(self.at_knee, 0.0)


def knee_demand(
    force: tuple[float, float],
    *,
    shank_angle: float,
    shank_length: float,
    ankle_moment: float,
    device_share: float = 1.0,
) -> KneeDemand:
    """The knee's share at one instant.

    Args:
        force: forward and vertical ground reaction on the foot, N, floor frame.
        shank_angle: rad, forward lean of the shank from vertical.
        shank_length: ankle axis to knee axis, mm.
        ankle_moment: external, dorsiflexing positive, N·mm.
        device_share: share of it that the device carries, 0 to 1.

    Raises:
        LoadError: a share outside 0 to 1.

    Example:
        >>> crouch = knee_demand((0.0, 360.0), shank_angle=math.radians(25), shank_length=347.0,
        ...                      ankle_moment=45e3)
        >>> round(crouch.through_ankle / 1e3, 1), round(crouch.for_quadriceps / 1e3, 1)    # N·m
        (52.8, 7.8)
    """
    if not 0.0 <= device_share <= 1.0:
        raise LoadError(f"the device carries a share of {device_share:g} of the ankle moment; give "
                        "a number from 0 (the calf does all) to 1 (the device does all)")
    return KneeDemand(
        _through_ankle(force, shank_angle, shank_length), ankle_moment, device_share
    )


def cop_to_unload(
    force: tuple[float, float],
    *,
    shank_angle: float,
    shank_length: float,
    ankle_height: float,
    foot_length: float,
    pitch: float = 0.0,
) -> float:
    """Centre of pressure at which nothing is left to flex the knee.

    Args:
        force: forward and vertical ground reaction on the foot, N, floor frame.
        shank_angle: rad, forward lean of the shank from vertical.
        shank_length, ankle_height, foot_length: mm; the height is that of the axis over the sole.
        pitch: rad, foot turned heel-up from the floor.

    Returns:
        Foot lengths ahead of the heel edge, on the sole. Beyond the end of the plate no device can
        unload this knee, however strong.

    Raises:
        LoadError: the ground does not push on the sole.

    Example:
        >>> place = cop_to_unload((0.0, 360.0), shank_angle=math.radians(25), shank_length=347.0,
        ...                       ankle_height=56.0, foot_length=220.0)
        >>> round(place, 2)
        0.92
    """
    along, across = (float(part) for part in into_device_frame(*force, pitch))
    if across <= 0.0:
        raise LoadError(f"the ground pulls on the sole with {-across:.0f} N; it can only push")
    wanted = _through_ankle(force, shank_angle, shank_length)
    ahead = float(cop_ahead(wanted, along, across, ankle_height))
    return HEEL_BEHIND_ANKLE + ahead / foot_length


def _through_ankle(force: tuple[float, float], shank_angle: float, shank_length: float) -> float:
    forward, up = force
    return shank_length * (up * math.sin(shank_angle) - forward * math.cos(shank_angle))
