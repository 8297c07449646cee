# SPDX-License-Identifier: MIT
"""One curve of a bench: the dummy turned by growing moments, linearly or with large rotations."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.check.stiffness import ROTATION_FLAG_DEG, ROTATION_LIMIT_DEG
from fea.device.device import Device
from fea.device.facing import SHANK_BODY
from fea.errors import SolveError, UnsupportedError
from fea.solver.corotational import Problem
from fea.solver.solution import Solution
from fea.solver.system import System
from fea.structure.loads import Load, PointForce
from fea.study.rig import Direction, Rig

Run = dict[tuple[Direction, float], Solution]
"""Solutions by direction and moment in N·m."""

LEVELS = 6
"""Moments of each curve, equally spaced from zero."""

N_M_PER_DEG = 1000.0 / math.radians(1.0)  # N·mm/rad

# Axis about which the dummy turns, and its sense on a left leg.
TURNS: dict[Direction, tuple[int, float]] = {
    "dorsiflexion": (4, 1.0),
    "plantarflexion": (4, -1.0),
    "inversion": (3, 1.0),
    "eversion": (3, -1.0),
    "torsion inward": (5, 1.0),
    "torsion outward": (5, -1.0),
}


@dataclass(frozen=True, eq=False)
class Curve:
    """Moment over angle in one direction.

    Attributes:
        direction: how the foot turns against the shank.
        moment: (k,) N·mm on the dummy about the axis;  angle: (k,) rad, both positive.
        wanted: N·mm, the highest moment of the rig.
        because: why the curve ends before that, or is empty; "" where it does not.
        linear: (k,) rad, where a linear solve would put the points of a curve that was solved with
            large rotations; None where the curve is linear itself.
    """

    direction: Direction
    moment: NDArray[np.float64]
    angle: NDArray[np.float64]
    wanted: float
    because: str = ""
    linear: NDArray[np.float64] | None = None

    @property
    def stiffness(self) -> float | None:
        """N·mm/rad, linear fit through the origin; None without a judged point.

        Source: shuman-2023 (stiffness as the linear fit of moment over angle).
        """
        if not self.moment.size:
            return None
        return float(self.moment @ self.angle / (self.angle @ self.angle))

    @property
    def bend(self) -> float:
        """Secant at the last point over that at the first: 1 for a straight line."""
        secant = self.moment / self.angle
        return float(secant[-1] / secant[0]) if secant.size else math.nan

    @property
    def remark(self) -> str:
        """What a reader must know of this curve."""
        flag = f"flagged: more than {ROTATION_FLAG_DEG:g}°" if self.flagged.any() else ""
        far = "" if self.linear is None else "solved with large rotations"
        return "; ".join(word for word in (flag, far, self.because) if word)

    @property
    def flagged(self) -> NDArray[np.bool_]:
        """(k,) points beyond 5°."""
        return np.degrees(self.angle) > ROTATION_FLAG_DEG


@dataclass(frozen=True, eq=False)
class Turn:
    """A device on a rig, to be turned in one direction.

    Attributes:
        system: of the device on the rig;  device, rig: which;  direction: of the turn.
    """

    system: System
    device: Device
    rig: Rig
    direction: Direction

    def curve(self, large_from_deg: float | None) -> tuple[Curve, Run]:
        """The curve, and the solutions behind it.

        Args:
            large_from_deg: largest angle up to which the whole curve is solved linearly; beyond it
                all of it is solved with large rotations. None cuts a linear curve at 8° instead.
        """
        moments = np.arange(1, LEVELS + 1) / LEVELS * self.rig.moments[self.direction]
        try:
            angles, solutions = self._linear(moments)
        except UnsupportedError as error:
            return unheld(self.direction, self.rig, error), {}
        if large_from_deg is None:
            return self._cut(moments, angles, solutions)
        if math.degrees(angles[-1]) > large_from_deg:
            return self._large(moments, angles)
        return self._gathered(moments, angles, solutions)

    def _cut(
        self, moments: NDArray[np.float64], angles: NDArray[np.float64], found: Sequence[Solution]
    ) -> tuple[Curve, Run]:
        """The linear curve, anew up to 8° where it goes beyond."""
        limit = math.radians(ROTATION_LIMIT_DEG)
        if angles[-1] <= limit:
            return self._gathered(moments, angles, found)
        reach = float(np.interp(limit, [0.0, *angles], [0.0, *moments]))
        because = (
            f"turns by {ROTATION_LIMIT_DEG:g}° at {reach / 1e3:.3g} of {moments[-1] / 1e3:g} N·m; "
            "not judged beyond"
        )
        shorter = moments / moments[-1] * reach * (1.0 - 1e-9)
        angles, found = self._linear(shorter)
        keep = int(np.sum(angles <= limit))
        return self._gathered(shorter[:keep], angles[:keep], found[:keep], because)

    def _large(
        self, moments: NDArray[np.float64], linear: NDArray[np.float64]
    ) -> tuple[Curve, Run]:
        """The curve with large rotations, as far as there is an equilibrium."""
        name, loads = self._case(float(moments[-1]))
        found: list[Solution] = []
        because = ""
        try:
            for solution in Problem(self.system).path(name, loads, moments / moments[-1]):
                found.append(solution)
        except SolveError as error:
            because = f"ends before {moments[-1] / 1e3:g} N·m: {error}"
        reached = len(found)
        return self._gathered(
            moments[:reached], self._angles(found), found, because, linear[:reached]
        )

    def _gathered(
        self,
        moments: NDArray[np.float64],
        angles: NDArray[np.float64],
        solutions: Sequence[Solution],
        because: str = "",
        linear: NDArray[np.float64] | None = None,
    ) -> tuple[Curve, Run]:
        named = zip(moments.tolist(), solutions, strict=True)
        run: Run = {(self.direction, round(moment / 1e3, 6)): each for moment, each in named}
        wanted = self.rig.moments[self.direction]
        return Curve(self.direction, moments, angles, wanted, because, linear), run

    def _linear(
        self, moments: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], Sequence[Solution]]:
        """Angles (k,) of the dummy under moments (k,), and the solutions."""
        solutions = list(self.system.solve(dict(map(self._case, moments.tolist()))).values())
        return self._angles(solutions), solutions

    def _case(self, moment: float) -> tuple[str, list[Load]]:
        x, y, z = (self._sense * moment * (TURNS[self.direction][0] == k) for k in (3, 4, 5))
        load = PointForce(SHANK_BODY, (0.0, 0.0, 0.0), moment=(x, y, z))
        return f"{self.direction} {moment / 1e3:.4g} N·m", [load]

    def _angles(self, solutions: Sequence[Solution]) -> NDArray[np.float64]:
        axis = TURNS[self.direction][0]
        return self._sense * np.array([each.body(SHANK_BODY)[axis] for each in solutions])

    @property
    def _sense(self) -> float:
        axis, sense = TURNS[self.direction]
        return -sense if axis != 4 and self.device.side == "right" else sense


def unheld(direction: Direction, rig: Rig, error: UnsupportedError) -> Curve:
    """The curve of a direction in which nothing holds the dummy."""
    none = np.empty(0)
    return Curve(direction, none, none, rig.moments[direction], f"not judged: {error}")
