# SPDX-License-Identifier: MIT
"""From an instant of stance to the ground reaction on one device, in the device's frame.

Device frame: x forward, y to the wearer's left, z up, origin on the floor under the ankle axis
while the foot is flat; z = 0 is the underside of the shoe. After heel-off the foot is pitched
heel-up by φ against the floor, so a force of the floor frame is turned into the device frame:

    F'x = Fx cos φ - Fz sin φ        F'z = Fx sin φ + Fz cos φ

A moment about the ankle axis is the same in both frames. With the centre of pressure a distance x'
ahead of the axis, on the sole a height h below it, the external dorsiflexing moment is

    M = F'z x' + F'x h        so        x' = (M - F'x h) / F'z
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import LoadError
from fea.limb import HEEL_BEHIND_ANKLE
from fea.loadcase.instant import LoadSet, StanceInstant
from fea.units import STANDARD_GRAVITY
from fea.wearer import Wearer


@dataclass(frozen=True, eq=False)
class GroundReaction:
    """The ground reaction at one instant on one device, device frame.

    Attributes:
        name: of the instant.
        percent: % of the gait cycle, or None.
        force: (3,) N on the sole.
        cop: (3,) mm, centre of pressure; z = 0.
        dorsiflexing_moment: N·mm, external, about the ankle axis.
        pitch: rad, foot turned heel-up against the floor.
        patch_half_length: mm, half the length of the patch that carries the force.
        moved_back: mm by which a plate that ends too early moved the centre of pressure; 0 mostly.
        description: one sentence for people.
    """

    name: str
    percent: float | None
    force: NDArray[np.float64]
    cop: NDArray[np.float64]
    dorsiflexing_moment: float
    pitch: float
    patch_half_length: float
    moved_back: float
    description: str


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
        >>> fx, fz = into_device_frame(0.152, 1.075, math.radians(14))
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


def ground_reaction(
    instant: StanceInstant,
    *,
    wearer: Wearer,
    ankle: ArrayLike,
    foot_length: float,
    plate_span: tuple[float, float],
) -> GroundReaction:
    """The ground reaction at one instant on one wearer's device.

    Args:
        instant: forces, and centre of pressure or moment.
        wearer: gives body mass, and the side that says where medial is.
        ankle: (3,) mm, the ankle axis in the device frame; its height counts from the floor.
        foot_length: mm.
        plate_span: x of the plate's heel edge and of its front end, mm, device frame.

    Returns:
        Force, centre of pressure and moment in the device frame.

    Raises:
        LoadError: the centre of pressure lies beyond the plate, or the force does not press on
            the sole.

    Example:
        >>> push = StanceInstant(name="push-off", percent=48, fz_bw=1.0, fx_bw=0.1, cop=0.75)
        >>> wearer = Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> reaction = ground_reaction(push, wearer=wearer, ankle=(0, 0, 57), foot_length=219,
        ...                            plate_span=(-55, 164))
        >>> reaction.force.round(1).tolist(), reaction.cop.tolist()
        ([34.3, 0.0, 343.2], [109.5, 0.0, 0.0])
        >>> round(reaction.dorsiflexing_moment / 1000, 2)               # N·m, external
        39.54
    """
    axis = np.asarray(ankle, dtype=float)
    weight = wearer.mass_kg * STANDARD_GRAVITY
    medial = -1.0 if wearer.side == "left" else 1.0
    pitch = math.radians(instant.pitch_deg)
    fx, fz = (
        float(part) * weight for part in into_device_frame(instant.fx_bw, instant.fz_bw, pitch)
    )
    if fz <= 0.0:
        raise LoadError(
            f"'{instant.name}': the force pulls on the sole ({fz:.0f} N across it at a pitch of "
            f"{instant.pitch_deg:g} deg); raise fz_bw, or lower pitch_deg"
        )
    half = instant.patch_half_length * foot_length
    wanted = _cop_x(instant, wearer, axis, foot_length, plate_span, (fx, fz))
    x = _on_plate(instant, wanted, plate_span, half)
    moment = float(dorsiflexing_moment(fx, fz, x - axis[0], axis[2]))
    return GroundReaction(
        name=instant.name,
        percent=instant.percent,
        force=np.array([fx, medial * instant.fy_bw * weight + 0.0, fz]),
        cop=np.array([x, axis[1] + medial * instant.cop_medial_mm, 0.0]),
        dorsiflexing_moment=moment,
        pitch=pitch,
        patch_half_length=half,
        moved_back=abs(wanted - x),
        description=_description(instant, fx, fz, x - axis[0], moment, moved=x != wanted),
    )


def ground_reactions(
    load_set: LoadSet,
    *,
    wearer: Wearer,
    ankle: ArrayLike,
    foot_length: float,
    plate_span: tuple[float, float],
) -> tuple[GroundReaction, ...]:
    """`ground_reaction` of every instant of a load set, in its order."""
    return tuple(
        ground_reaction(
            instant, wearer=wearer, ankle=ankle, foot_length=foot_length, plate_span=plate_span
        )
        for instant in load_set.instants
    )


def _cop_x(
    instant: StanceInstant,
    wearer: Wearer,
    axis: NDArray[np.float64],
    foot_length: float,
    plate_span: tuple[float, float],
    force: tuple[float, float],
) -> float:
    """x of the centre of pressure that the instant asks for, mm, device frame."""
    half = instant.patch_half_length * foot_length
    if instant.cop == "heel-edge":
        return plate_span[0] + half
    if instant.cop == "plate-end":
        return plate_span[1] - half
    if instant.cop is not None:
        return float(axis[0]) + (instant.cop - HEEL_BEHIND_ANKLE) * foot_length
    if instant.moment_nm_per_kg is None:
        raise LoadError(f"'{instant.name}': neither cop nor moment_nm_per_kg is given; give one")
    moment = instant.moment_nm_per_kg * wearer.mass_kg * 1000.0
    return float(axis[0] + cop_ahead(moment, *force, float(axis[2])))


def _on_plate(
    instant: StanceInstant, x: float, plate_span: tuple[float, float], half: float
) -> float:
    heel, end = plate_span
    if instant.beyond_plate == "plate-end":
        x = min(max(x, heel + half), end - half)
    if heel <= x <= end:
        return x
    raise LoadError(
        f"'{instant.name}': the centre of pressure at x = {x:.0f} mm lies beyond the plate "
        f"({heel:.0f} to {end:.0f} mm): no plate of this length can take this load; lengthen the "
        "plate, lower the moment, or set the centre of pressure to 'heel-edge' or 'plate-end'"
    )


def _description(
    instant: StanceInstant, fx: float, fz: float, ahead: float, moment: float, *, moved: bool
) -> str:
    when = instant.name
    if instant.percent is not None:
        when += f" ({instant.percent:g} % of the gait cycle)"
    where = "ahead of" if ahead >= 0.0 else "behind"
    turns = "dorsiflexing" if moment >= 0.0 else "plantarflexing"
    text = (
        f"{when}: {fz:.0f} N across the sole and {fx:+.0f} N along it, {abs(ahead):.0f} mm {where} "
        f"the ankle axis, foot pitched {instant.pitch_deg:g} deg heel-up; external {turns} moment "
        f"{abs(moment) / 1000.0:.1f} N·m"
    )
    return text + ("; moved to the end of the plate" if moved else "")
