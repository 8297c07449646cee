# SPDX-License-Identifier: MIT
"""From an instant of stance to the ground reaction on one device, in the device's frame.

The frame and its two formulas stand in `fea.loadcase.frame`.

A free moment of the ground stands about the vertical of the floor. On a pitched sole its part along
the sole tips the foot sideways; the centre of pressure moves sideways by that part over F'z, which
leaves a moment about the normal of the sole only.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import LoadError
from fea.limb import HEEL_BEHIND_ANKLE
from fea.loadcase.frame import cop_ahead, dorsiflexing_moment, into_device_frame
from fea.loadcase.instant import LoadSet, StanceInstant
from fea.loadcase.knee import cop_to_unload
from fea.units import STANDARD_GRAVITY
from fea.wearer import Wearer

MASS_TOLERANCE = 0.10
"""How far body mass may have moved since the wearer's gait was measured. Source: practice."""


@dataclass(frozen=True, eq=False)
class GroundReaction:
    """The ground reaction at one instant on one device, device frame.

    Attributes:
        name: of the instant.
        percent: % of the gait cycle, or None.
        force: (3,) N on the sole.
        cop: (3,) mm, centre of pressure; z = 0.
        dorsiflexing_moment: N·mm, external, about the ankle axis.
        free_moment: N·mm, external, about the normal of the sole at the centre of pressure;
            right-handed about z of the device.
        pitch: rad, foot turned heel-up against the floor.
        shank_angle: rad, forward lean of the shank from vertical; None where it is not known.
        patch_half_length: mm, half the length of the patch that carries the force.
        moved_back: mm by which a plate that ends too early moved the centre of pressure; 0 mostly.
        description: one sentence for people.
    """

    name: str
    percent: float | None
    force: NDArray[np.float64]
    cop: NDArray[np.float64]
    dorsiflexing_moment: float
    free_moment: float
    pitch: float
    shank_angle: float | None
    patch_half_length: float
    moved_back: float
    description: str


def ground_reaction(
    instant: StanceInstant,
    *,
    wearer: Wearer,
    ankle: ArrayLike,
    foot_length: float,
    plate_span: tuple[float, float],
    shank_length: float | None = None,
    shank_to_vertical: float | None = None,
) -> GroundReaction:
    """The ground reaction at one instant on one wearer's device.

    Args:
        instant: forces, and centre of pressure or moment.
        wearer: gives body mass, and the side that says where medial is.
        ankle: (3,) mm, the ankle axis in the device frame; its height counts from the floor.
        foot_length: mm.
        plate_span: x of the plate's heel edge and of its front end, mm, device frame.
        shank_length: ankle axis to knee axis, mm; only "unload-knee" asks for it.
        shank_to_vertical: rad, lean of the shank standing flat in shoe and device, see
            `fea.loadcase.shank`; only a shank angle "device" asks for it.

    Returns:
        Force, centre of pressure and moment in the device frame.

    Raises:
        LoadError: the centre of pressure lies beyond the plate, the force does not press on the
            sole, or a length or angle that the instant asks for is not given.

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
    return _react(instant, _Worn(
        wearer, np.asarray(ankle, dtype=float), foot_length, plate_span, shank_length,
        shank_to_vertical,
    ))  # fmt: skip


def ground_reactions(
    load_set: LoadSet,
    *,
    wearer: Wearer,
    ankle: ArrayLike,
    foot_length: float,
    plate_span: tuple[float, float],
    shank_length: float | None = None,
    shank_to_vertical: float | None = None,
) -> tuple[GroundReaction, ...]:
    """`ground_reaction` of every instant of a load set, in its order.

    Its other cases, pushes and toe bends, are no ground reactions; see `fea.loadcase.applied`.

    Raises:
        LoadError: as `ground_reaction`; or the set was measured on this wearer by its header, and
            side or body mass are another's.
    """
    require_suiting(load_set, wearer)
    return tuple(
        ground_reaction(
            instant, wearer=wearer, ankle=ankle, foot_length=foot_length, plate_span=plate_span,
            shank_length=shank_length, shank_to_vertical=shank_to_vertical,
        )
        for instant in load_set.instants
    )  # fmt: skip


def require_suiting(load_set: LoadSet, wearer: Wearer) -> None:
    """Refuse the wearer's own gait on another side, or at another body mass.

    Args:
        load_set: measured gait, or any other, which suits everyone.
        wearer: who is to wear the device.

    Raises:
        LoadError: it does not suit the wearer; the message says what would.
    """
    measured = load_set.measured_on
    if measured is None or not measured.the_wearer:
        return
    cure = "correct it in one of the files, or set person.curves_of to 'another person'"
    if measured.side != wearer.side:
        raise LoadError(
            f"load set '{load_set.name}' was measured on the {measured.side} leg and the wearer's "
            f"side is {wearer.side}; {cure}"
        )
    if abs(measured.mass_kg / wearer.mass_kg - 1.0) > MASS_TOLERANCE:
        raise LoadError(
            f"load set '{load_set.name}' was measured at a body mass of {measured.mass_kg:g} kg, "
            f"over {100 * MASS_TOLERANCE:.0f} % from the wearer's {wearer.mass_kg:g} kg; {cure}"
        )


def medial_sign(wearer: Wearer) -> float:
    """Sign of y toward the other leg: -1.0 for a left limb, 1.0 for a right one."""
    return -1.0 if wearer.side == "left" else 1.0


@dataclass(frozen=True, eq=False)
class _Worn:
    """What `ground_reaction` knows of wearer and device."""

    wearer: Wearer
    ankle: NDArray[np.float64]
    foot_length: float
    plate_span: tuple[float, float]
    shank_length: float | None
    shank_to_vertical: float | None


def _react(instant: StanceInstant, worn: _Worn) -> GroundReaction:
    weight, ankle = worn.wearer.mass_kg * STANDARD_GRAVITY, worn.ankle
    medial = medial_sign(worn.wearer)
    pitch = math.radians(instant.pitch_deg)
    fx, fz = (
        float(part) * weight for part in into_device_frame(instant.fx_bw, instant.fz_bw, pitch)
    )
    if fz <= 0.0:
        raise LoadError(
            f"'{instant.name}': the force pulls on the sole ({fz:.0f} N across it at a pitch of "
            f"{instant.pitch_deg:g} deg); raise fz_bw, or lower pitch_deg"
        )
    wanted = _cop_x(instant, worn, (fx, fz))
    half = instant.patch_half_length * worn.foot_length
    x = _on_plate(instant, wanted, worn.plate_span, half)
    moment = float(dorsiflexing_moment(fx, fz, x - ankle[0], ankle[2]))
    twist = medial * instant.free_moment_nm_per_kg * worn.wearer.mass_kg * 1000.0 + 0.0
    sideways = -twist * math.sin(pitch) / fz
    return GroundReaction(
        name=instant.name,
        percent=instant.percent,
        force=np.array([fx, medial * instant.fy_bw * weight + 0.0, fz]),
        cop=np.array([x, ankle[1] + medial * instant.cop_medial_mm + sideways, 0.0]),
        dorsiflexing_moment=moment,
        free_moment=twist * math.cos(pitch) + sideways * fx,
        pitch=pitch,
        shank_angle=_shank_angle(instant, worn),
        patch_half_length=half,
        moved_back=abs(wanted - x),
        description=_description(instant, fx, fz, x - ankle[0], moment, moved=x != wanted),
    )


def _shank_angle(instant: StanceInstant, worn: _Worn) -> float | None:
    if instant.shank_angle_deg is None:
        return None
    if instant.shank_angle_deg != "device":
        return math.radians(instant.shank_angle_deg)
    if worn.shank_to_vertical is None:
        raise LoadError(
            f"'{instant.name}': the shank stands as the device holds it, which is not known; give "
            "shank_to_vertical, or an angle as shank_angle_deg"
        )
    return math.radians(instant.pitch_deg) + worn.shank_to_vertical


def _cop_x(instant: StanceInstant, worn: _Worn, force: tuple[float, float]) -> float:
    """x of the centre of pressure that the instant asks for, mm, device frame."""
    half = instant.patch_half_length * worn.foot_length
    cop, ankle = instant.cop, worn.ankle
    if cop == "heel-edge":
        return worn.plate_span[0] + half
    if cop == "plate-end":
        return worn.plate_span[1] - half
    if cop == "unload-knee":
        cop = _cop_for_knee(instant, worn)
    if cop is not None:
        return float(ankle[0]) + (cop - HEEL_BEHIND_ANKLE) * worn.foot_length
    if instant.moment_nm_per_kg is None:
        raise LoadError(f"'{instant.name}': neither cop nor moment_nm_per_kg is given; give one")
    moment = instant.moment_nm_per_kg * worn.wearer.mass_kg * 1000.0
    return float(ankle[0] + cop_ahead(moment, *force, float(ankle[2])))


def _cop_for_knee(instant: StanceInstant, worn: _Worn) -> float:
    lean = _shank_angle(instant, worn)
    if lean is None or worn.shank_length is None:
        raise LoadError(
            f"'{instant.name}': the centre of pressure that unloads the knee needs the angle and "
            "the length of the shank; give shank_angle_deg and shank_length"
        )
    return cop_to_unload(
        (instant.fx_bw, instant.fz_bw), shank_angle=lean, shank_length=worn.shank_length,
        ankle_height=float(worn.ankle[2]), foot_length=worn.foot_length,
        pitch=math.radians(instant.pitch_deg),
    )  # fmt: skip


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
