# SPDX-License-Identifier: MIT
"""Published gait curves, and what follows from them in the frame of the foot.

The curves (`children_gait.csv` beside this file) give forces in the floor frame, moments and joint
angles, but not how far the foot is pitched. It is recovered here from the knee moment, which the
shank angle fixes; with it come the centre of pressure and the shear in the frame of the foot.
"""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from fea.errors import InputError
from fea.limb import HEEL_BEHIND_ANKLE
from fea.loadcase.frame import cop_ahead, into_device_frame
from fea.units import STANDARD_GRAVITY

Numbers = float | NDArray[np.float64]

SAMPLE_HEIGHT = 1439.0
"""mm, mean height of the children of the curves. Source: pinzone-2014."""

ANKLE_HEIGHT, FOOT_LENGTH, SHANK_LENGTH = 0.040, 0.156, 0.246
"""Height of the ankle axis, foot length and shank length (ankle to knee axis), over body height.
Sources: ansur-ii-2012; snyder-1977; winter-2009."""

COP_SCATTER = 0.086
"""Standard deviation of the centre of pressure at 48 % of the cycle, foot lengths: what is left of
the scatter of the ankle moment when that of the forces is taken out, as if they were independent
(`cop_scatter`). Source: schwartz-2008 (derived)."""

LEAST_LOAD = 0.2  # body weights; below it centre of pressure and pitch are noise over noise


@dataclass(frozen=True, eq=False)
class GaitCurve:
    """Mean and standard deviation over one walking speed; all (n,), one value an instant.

    Forces on the foot in body weights, floor frame; ankle moment external dorsiflexing and knee
    moment external flexing, N·m per kg; angles in degrees, dorsiflexion and flexion positive.
    """

    percent: NDArray[np.float64]
    fz_bw: NDArray[np.float64]
    fz_sd_bw: NDArray[np.float64]
    fx_bw: NDArray[np.float64]
    fx_sd_bw: NDArray[np.float64]
    ankle_moment_nm_per_kg: NDArray[np.float64]
    ankle_moment_sd_nm_per_kg: NDArray[np.float64]
    knee_moment_nm_per_kg: NDArray[np.float64]
    knee_moment_sd_nm_per_kg: NDArray[np.float64]
    ankle_angle_deg: NDArray[np.float64]
    knee_angle_deg: NDArray[np.float64]

    def at(self, percent: Iterable[float]) -> "GaitCurve":
        """The curve at other instants (% of the gait cycle), interpolated linearly."""
        wanted = np.asarray(list(percent), dtype=float)
        return GaitCurve(
            *(np.interp(wanted, self.percent, getattr(self, item.name)) for item in fields(self))
        )


@dataclass(frozen=True)
class Allowed:
    """What stance allows with the centre of pressure near one place of the sole.

    Attributes:
        fz_bw: largest mean + 2 SD of the vertical force, body weights;  percent: when it occurs.
        fx_bw: least mean - 2 SD and largest mean + 2 SD of the forward force, body weights.
        fx_then_bw: mean - 2 SD and mean + 2 SD of it at `percent`.
        pitch_deg: foot pitch at `percent`, degrees.
    """

    fz_bw: float
    percent: float
    fx_bw: tuple[float, float]
    fx_then_bw: tuple[float, float]
    pitch_deg: float


@cache
def children_gait() -> Mapping[str, GaitCurve]:
    """The published children's curves: "very slow", "slow", "free", "fast", "very fast".

    Source: schwartz-2008 (read).

    Example:
        >>> curve = children_gait()["free"].at([48])
        >>> float(curve.fz_bw[0]), float(curve.ankle_moment_nm_per_kg[0])
        (1.0745, 1.2261)
    """
    path = Path(__file__).with_name("children_gait.csv")
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line[0] != "#"]
    rows = list(csv.DictReader(lines))
    speeds = dict.fromkeys(row["speed"] for row in rows)
    return MappingProxyType({
        speed: GaitCurve(**{
            item.name: np.array([float(r[item.name]) for r in rows if r["speed"] == speed])
            for item in fields(GaitCurve)
        })
        for speed in speeds
    })


def shank_lean(
    *, fz_bw: Numbers, fx_bw: Numbers, ankle_moment: Numbers, knee_moment: Numbers,
    shank_length: float,
) -> NDArray[np.float64]:
    """Forward lean of the shank from vertical, rad, recovered from the knee moment.

    With the ground reaction alone, the ankle moment M and the knee-flexing moment K obey
    K + M = Fz L sin s - Fx L cos s, where s is the shank angle and L the shank length, so
    s = arcsin((K + M) / (R L)) + arctan(Fx / Fz), R the resultant. Weight and inertia of foot and
    shank are neglected.

    Args:
        fz_bw, fx_bw: vertical and forward force on the foot, floor frame, body weights.
        ankle_moment: external dorsiflexing, N·m per kg;  knee_moment: external flexing, N·m per kg.
        shank_length: ankle axis to knee axis, mm.

    Example:
        >>> lean = shank_lean(fz_bw=1.0, fx_bw=0.0, ankle_moment=1.2, knee_moment=-0.1,
        ...                   shank_length=354.0)
        >>> round(float(np.degrees(lean)), 1)
        18.5
    """
    arm = STANDARD_GRAVITY * shank_length / 1000.0
    sine = (np.asarray(knee_moment) + ankle_moment) / (np.hypot(fz_bw, fx_bw) * arm)
    return np.arcsin(np.clip(sine, -1.0, 1.0)) + np.arctan2(fx_bw, fz_bw)


def shank_angle(curve: GaitCurve) -> NDArray[np.float64]:
    """`shank_lean` of a published curve, rad (n,).

    Source: schwartz-2008 (moments and forces); winter-2009 (shank length).

    Example:
        >>> angle = shank_angle(children_gait()["free"].at([12, 48]))
        >>> np.degrees(angle).round(1).tolist()
        [-1.4, 25.4]
    """
    return shank_lean(
        fz_bw=curve.fz_bw,
        fx_bw=curve.fx_bw,
        ankle_moment=curve.ankle_moment_nm_per_kg,
        knee_moment=curve.knee_moment_nm_per_kg,
        shank_length=SHANK_LENGTH * SAMPLE_HEIGHT,
    )


def foot_pitch(curve: GaitCurve) -> NDArray[np.float64]:
    """Pitch of the foot heel-up against the floor, rad (n,): shank angle less dorsiflexion.

    Trustworthy in stance only: where hardly any force acts the moments are noise.

    Example:
        >>> np.degrees(foot_pitch(children_gait()["free"].at([20, 48, 54]))).round().tolist()
        [-1.0, 14.0, 32.0]
    """
    return shank_angle(curve) - np.radians(curve.ankle_angle_deg)


def foot_cop(curve: GaitCurve, pitch: NDArray[np.float64] | None = None) -> NDArray[np.float64]:
    """Centre of pressure ahead of the heel edge in the frame of the foot, foot lengths (n,).

    Args:
        curve: the curve.
        pitch: rad (n,), heel-up; None for `foot_pitch`, zeros for the floor frame.

    Example:
        >>> foot_cop(children_gait()["free"].at([48])).round(2).tolist()
        [0.79]
    """
    fx, fz = into_device_frame(
        curve.fx_bw, curve.fz_bw, foot_pitch(curve) if pitch is None else pitch
    )
    height = ANKLE_HEIGHT * SAMPLE_HEIGHT
    moment = curve.ankle_moment_nm_per_kg * 1000.0 / STANDARD_GRAVITY
    ahead = cop_ahead(moment, fx, fz, height)
    return HEEL_BEHIND_ANKLE + ahead / (FOOT_LENGTH * SAMPLE_HEIGHT)


def cop_scatter(curve: GaitCurve) -> NDArray[np.float64]:
    """Standard deviation of the centre of pressure, foot lengths (n,): see `COP_SCATTER`.

    var M = (x SD Fz)² + (h SD Fx)² + (Fz SD x)² for independent Fz, Fx and x, floor frame.

    Example:
        >>> cop_scatter(children_gait()["free"].at([48])).round(3).tolist()
        [0.086]
    """
    length, height = FOOT_LENGTH * SAMPLE_HEIGHT, ANKLE_HEIGHT * SAMPLE_HEIGHT
    ahead = (foot_cop(curve, np.zeros_like(curve.percent)) - HEEL_BEHIND_ANKLE) * length
    moment_sd = curve.ankle_moment_sd_nm_per_kg * 1000.0 / STANDARD_GRAVITY
    rest = moment_sd**2 - (ahead * curve.fz_sd_bw) ** 2 - (height * curve.fx_sd_bw) ** 2
    return np.sqrt(np.maximum(rest, 0.0)) / curve.fz_bw / length


def allowed_near(
    cop: float,
    speeds: Iterable[str] = ("very slow", "slow", "free"),
    *,
    scatter: float = COP_SCATTER,
) -> Allowed:
    """The forces that stance allows while the centre of pressure is near one place of the sole.

    All instants count whose mean centre of pressure, in the frame of the foot, lies within
    `scatter` of `cop`. Vertical force and shear each go to mean ± 2 SD; the moment is not raised.

    Args:
        cop: ahead of the heel edge, foot lengths;  speeds: walking speeds of `children_gait`.
        scatter: how far from `cop` an instant may lie, foot lengths.

    Raises:
        InputError: stance never comes near this place.

    Example:
        >>> near = allowed_near(0.80)
        >>> round(near.fz_bw, 2), round(near.pitch_deg)
        (1.31, 14)
    """
    rows = []
    for speed in speeds:
        curve = children_gait()[speed].at(np.arange(0.0, 62.05, 0.1))
        near = (np.abs(foot_cop(curve) - cop) <= scatter) & (curve.fz_bw >= LEAST_LOAD)
        low, high = curve.fx_bw - 2.0 * curve.fx_sd_bw, curve.fx_bw + 2.0 * curve.fx_sd_bw
        highest = curve.fz_bw + 2.0 * curve.fz_sd_bw
        columns = [highest, curve.percent, low, high, np.degrees(foot_pitch(curve))]
        rows.append(np.column_stack(columns)[near])
    table = np.concatenate(rows)
    if not len(table):
        raise InputError(f"stance never brings the centre of pressure near {cop:g} foot lengths")
    top = [float(part) for part in table[np.argmax(table[:, 0])]]
    return Allowed(
        fz_bw=top[0],
        percent=top[1],
        fx_bw=(float(table[:, 2].min()), float(table[:, 3].max())),
        fx_then_bw=(top[2], top[3]),
        pitch_deg=top[4],
    )
