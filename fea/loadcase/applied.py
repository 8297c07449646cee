# SPDX-License-Identifier: MIT
"""Cases that are no instant of stance, on one device: a push, and a bend forced on the plate."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import LoadError
from fea.limb import HEEL_BEHIND_ANKLE
from fea.loadcase.instant import Push, ToeBend
from fea.loadcase.reaction import medial_sign
from fea.units import STANDARD_GRAVITY
from fea.wearer import Wearer


@dataclass(frozen=True, eq=False)
class AppliedPush:
    """A push on one device, device frame.

    Attributes:
        name: of the case.
        zones: zones that take it.
        force: (3,) N on the device.
        at: (3,) mm, a point on the line of action; None spreads the force evenly over the zones.
        patch_half_length: mm, half the length of the patch round `at`.
        description: one sentence for people.
    """

    name: str
    zones: tuple[str, ...]
    force: NDArray[np.float64]
    at: NDArray[np.float64] | None
    patch_half_length: float
    description: str


@dataclass(frozen=True, eq=False)
class PlateMotion:
    """Displacement forced on nodes of the plate.

    Attributes:
        held: (n,) bool, nodes that do not move.
        turned: (n,) bool, nodes that turn with the front of the plate.
        displacement: (n, 6) mm and rad; zero except on turned nodes.
        crease: (3,) mm, the point round which the front turns.
    """

    held: NDArray[np.bool_]
    turned: NDArray[np.bool_]
    displacement: NDArray[np.float64]
    crease: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PlateBend:
    """A toe bend on one device, device frame.

    Attributes:
        name: of the case;  percent: % of the gait cycle, or None.
        angle: rad, front of the plate turned toes-up.
        held_to, turned_from: x, mm: the plate is held behind the one and turned ahead of the other.
        largest_moment: N·mm, external about the crease midway between them: what the ground can
            give there with its push at the end of the plate.
        description: one sentence for people.
    """

    name: str
    percent: float | None
    angle: float
    held_to: float
    turned_from: float
    largest_moment: float
    description: str

    def motion(self, points: ArrayLike) -> PlateMotion:
        """Displacement of the nodes of the plate, small rotation.

        A strip bent evenly turns at its end as if about a crease midway, so the front turns about
        a line across the plate there, at the height of the plate between hold and front.

        Args:
            points: (n, 3) mm, nodes of the plate zones.

        Raises:
            LoadError: no node is held, turned or left to bend.
        """
        nodes = np.asarray(points, dtype=float)
        held, turned = nodes[:, 0] <= self.held_to, nodes[:, 0] >= self.turned_from
        for part, missing in (("held", held), ("turned", turned), ("left", ~held & ~turned)):
            if not missing.any():
                raise LoadError(
                    f"'{self.name}': no node of the plate is {part} with a hold behind "
                    f"x = {self.held_to:.0f} mm and a turn ahead of {self.turned_from:.0f} mm; "
                    "move held_to and turned_from apart, or mesh the plate finer"
                )
        height = float(nodes[~held & ~turned, 2].mean())
        crease = np.array([0.5 * (self.held_to + self.turned_from), 0.0, height])
        moved = np.zeros((len(nodes), 6))
        turn = np.array([0.0, -self.angle, 0.0])  # toes up is -r_y
        moved[turned, :3] = np.cross(turn, nodes[turned] - crease)
        moved[turned, 3:] = turn
        return PlateMotion(held, turned, moved, crease)

    def share(self, moment: float) -> float:
        """Share of the angle that the ground can reach, 0 to 1.

        Args:
            moment: N·mm about the crease that the whole angle asks of a linear plate.

        Example:
            >>> bend = PlateBend("toes", 54, 0.5, 100.0, 140.0, 8000.0, "")
            >>> bend.share(16000.0), bend.share(4000.0)
            (0.5, 1.0)
        """
        return min(1.0, self.largest_moment / abs(moment)) if moment else 1.0


def applied_push(
    push: Push,
    *,
    wearer: Wearer,
    foot_length: float,
    zones: Collection[str],
    landmarks: Mapping[str, ArrayLike],
) -> AppliedPush:
    """A push on one wearer's device.

    Args:
        push: force in body weights, and where it acts.
        wearer: gives body mass, and the side that says where medial is.
        foot_length: mm.
        zones: names of the device's zones;  landmarks: name to (3,) mm.

    Raises:
        LoadError: the device has no such zone or landmark; the ones it has are listed.

    Example:
        >>> lean = Push(name="leaning", zones=("front piece",), fx_bw=-0.3, fy_bw=0.1)
        >>> wearer = Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> applied_push(lean, wearer=wearer, foot_length=219, zones=["front piece"],
        ...              landmarks={}).force.round(1).tolist()
        [-103.0, -34.3, 0.0]
    """
    for zone in push.zones:
        _known(push.name, "zone", zone, zones)
    if push.landmark is not None:
        _known(push.name, "landmark", push.landmark, landmarks)
    weight = wearer.mass_kg * STANDARD_GRAVITY
    force = weight * np.array([push.fx_bw, medial_sign(wearer) * push.fy_bw, push.fz_bw]) + 0.0
    where = ", ".join(push.zones) + (f", at {push.landmark}" if push.landmark else "")
    return AppliedPush(
        name=push.name,
        zones=push.zones,
        force=force,
        at=None if push.landmark is None else np.asarray(landmarks[push.landmark], dtype=float),
        patch_half_length=push.patch_half_length * foot_length,
        description=(
            f"{push.name}: {np.linalg.norm(force):.0f} N on {where} ({force[0]:+.0f} N forward, "
            f"{weight * push.fy_bw:+.0f} N medial, {force[2]:+.0f} N up)"
        ),
    )


def plate_bend(
    bend: ToeBend,
    *,
    wearer: Wearer,
    ankle: ArrayLike,
    foot_length: float,
    plate_span: tuple[float, float],
) -> PlateBend:
    """A toe bend on one wearer's device.

    Args:
        bend: angle, places and the force that the ground has for it.
        wearer: gives body mass.
        ankle: (3,) mm, the ankle axis in the device frame.
        foot_length: mm;  plate_span: x of the plate's heel edge and front end, mm.

    Raises:
        LoadError: the plate ends before the place from which it is turned.

    Example:
        >>> bend = ToeBend(name="toes", angle_deg=25, held_to=0.65, turned_from=0.85, fz_bw=1.0)
        >>> wearer = Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> found = plate_bend(bend, wearer=wearer, ankle=(0, 0, 57), foot_length=220,
        ...                    plate_span=(-55, 165))
        >>> found.held_to, found.turned_from, round(found.largest_moment)
        (88.0, 132.0, 18878)
    """
    start = float(np.asarray(ankle, dtype=float)[0]) - HEEL_BEHIND_ANKLE * foot_length
    held, turned = start + bend.held_to * foot_length, start + bend.turned_from * foot_length
    end = plate_span[1]
    if turned >= end:
        raise LoadError(
            f"'{bend.name}': the plate ends at x = {end:.0f} mm, behind the place from which it is "
            f"to be turned up ({turned:.0f} mm): so short a plate is not bent by the toes; lower "
            "turned_from, or lengthen the plate"
        )
    moment = bend.fz_bw * wearer.mass_kg * STANDARD_GRAVITY * (end - 0.5 * (held + turned))
    return PlateBend(
        name=bend.name,
        percent=bend.percent,
        angle=math.radians(bend.angle_deg),
        held_to=held,
        turned_from=turned,
        largest_moment=moment,
        description=(
            f"{bend.name}: plate held to {held:.0f} mm ahead of the ankle axis and turned toes-up "
            f"by {bend.angle_deg:g} deg from {turned:.0f} mm on, or as far as the ground's "
            f"external moment of {moment / 1000.0:.1f} N·m bends it about the ball"
        ),
    )


def _known(case: str, kind: str, name: str, known: Collection[str]) -> None:
    if name not in known:
        names = ", ".join(known) or "none"
        raise LoadError(f"'{case}': the device has no {kind} '{name}'; it has {names}: name one")
