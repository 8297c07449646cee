# SPDX-License-Identifier: MIT
"""How many cycles of stress a material outlives: S-N line, mean stress, and damage summed up.

Stress amplitudes are half a range; the mean lies in its middle, tension positive; MPa. A cycle
about a mean is first turned into the fully reversed one (mean zero, R = −1) that does the same
harm, whose life the S-N line gives.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import MaterialError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Basquin:
    """Fully reversed amplitude against cycles: straight on logarithmic scales, with a knee or not.

    Attributes:
        amplitude: MPa at `cycles`, the knee where there is one.
        cycles: at that amplitude.
        exponent: k of N ∝ S^−k at higher amplitudes.
        beyond: exponent at lower amplitudes; None where the line goes on.

    Source: basquin-1910; 2k − 1 beyond a knee, for loads of changing height, haibach-2006.

    Example:
        >>> line = Basquin.through((1000.0, 400.0), (1e6, 100.0))
        >>> round(line.exponent, 3), round(float(line.life(200.0)))
        (4.983, 31623)
        >>> line.amplitude_at(1e6)
        100.0
    """

    amplitude: float
    cycles: float
    exponent: float
    beyond: float | None = None

    @classmethod
    def through(
        cls, short: tuple[float, float], long: tuple[float, float], *, knee: bool = False
    ) -> "Basquin":
        """The line through two points of cycles and amplitude, the longer life last.

        With a knee there, it goes on beyond with 2k − 1 in place of k.

        Raises:
            MaterialError: the amplitude does not fall with the cycles.
        """
        (fewer, high), (more, low) = short, long
        if not (0.0 < low < high and 0.0 < fewer < more):
            raise MaterialError(
                f"a fatigue line falls from few cycles to many; got {high:g} MPa at {fewer:g} "
                f"cycles and {low:g} MPa at {more:g}"
            )
        exponent = math.log(more / fewer) / math.log(high / low)
        return cls(low, more, exponent, 2.0 * exponent - 1.0 if knee else None)

    def life(self, amplitude: ArrayLike) -> Array:
        """Cycles to failure, of the shape of the fully reversed amplitude (MPa); inf at zero."""
        with np.errstate(divide="ignore", over="ignore"):
            ratio = self.amplitude / np.asarray(amplitude, dtype=float)
            lower = self.exponent if self.beyond is None else self.beyond
            power = np.where(ratio > 1.0, lower, self.exponent)
            return np.asarray(self.cycles * ratio**power, dtype=float)

    def amplitude_at(self, cycles: float) -> float:
        """The fully reversed amplitude, MPa, that is outlived for so many cycles."""
        beyond = cycles > self.cycles and self.beyond is not None
        exponent = self.beyond if beyond and self.beyond is not None else self.exponent
        return float(self.amplitude * (self.cycles / cycles) ** (1.0 / exponent))


@dataclass(frozen=True)
class Goodman:
    """Lines of equal life, straight from the fully reversed amplitude to a static strength.

    Attributes:
        tension: MPa, mean in tension at which no amplitude is left.
        compression: MPa, likewise in compression; infinite where compression is given no credit
            and does no harm.

    Source: goodman-1899 as drawn in Haigh's diagram.

    Example:
        >>> round(float(Goodman(tension=570.0).reversed(125.0, 125.0)), 1)
        160.1
    """

    tension: float
    compression: float = math.inf

    def reversed(self, amplitude: ArrayLike, mean: ArrayLike) -> Array:
        """The fully reversed amplitude of equal life, MPa; infinite where the mean leaves none."""
        mean = np.asarray(mean, dtype=float)
        share = np.where(mean > 0.0, mean / self.tension, -mean / self.compression)
        left = np.maximum(1.0 - share, 0.0)
        amplitude = np.asarray(amplitude, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(amplitude > 0.0, amplitude / left, np.where(left > 0.0, 0.0, np.inf))


@dataclass(frozen=True)
class Sensitivity:
    """Parallel lines of equal life: a share of the mean stress counts as amplitude.

    Attributes:
        tension, compression: the share of a mean of either sign, 0 or more.

    Source: schuetz-1967.

    Example:
        >>> round(float(Sensitivity(tension=0.234).reversed(8.55, 10.45)), 1)
        11.0
    """

    tension: float
    compression: float = 0.0

    def reversed(self, amplitude: ArrayLike, mean: ArrayLike) -> Array:
        """The fully reversed amplitude of equal life, MPa."""
        mean = np.asarray(mean, dtype=float)
        share = np.where(mean > 0.0, self.tension * mean, -self.compression * mean)
        return np.asarray(amplitude, dtype=float) + share


def sensitivity(amplitude: float, largest: float, ratio: float) -> float:
    """Sensitivity to mean stress from two stress ratios.

    Args:
        amplitude: MPa, outlived fully reversed.
        largest: MPa, largest stress outlived as often at another ratio, without its sign.
        ratio: of the stress of smaller size to that of larger size there, −1 < ratio < 1.

    Returns:
        The share of the mean; 0 where the second amplitude is no smaller than the first.

    Source: schuetz-1967.

    Example:
        >>> round(sensitivity(11.0, 19.0, 0.1), 3), sensitivity(11.0, 24.0, 0.0)
        (0.234, 0.0)
    """
    other, mean = 0.5 * (1.0 - ratio) * largest, 0.5 * (1.0 + ratio) * largest
    return max(amplitude - other, 0.0) / mean


@dataclass(frozen=True)
class FatigueCurve:
    """What a material outlives, of any amplitude and mean.

    Attributes:
        line: fully reversed.
        mean_stress: how a mean changes it.
        tension, compression: MPa, static strengths; a cycle that reaches one is the last, however
            few cycles of its amplitude would do harm.

    Example:
        >>> line = Basquin.through((1e3, 500.0), (1e7, 100.0))
        >>> curve = FatigueCurve(line, Goodman(550.0), 550.0, 440.0)
        >>> float(curve.life(100.0, 0.0)), float(curve.bears(275.0, 110.0))
        (10000000.0, 2.0)
    """

    line: Basquin
    mean_stress: Goodman | Sensitivity
    tension: float
    compression: float

    def life(self, amplitude: ArrayLike, mean: ArrayLike) -> Array:
        """Cycles to failure, 1 or more, of arrays of one shape; MPa."""
        return np.maximum(self.line.life(self.mean_stress.reversed(amplitude, mean)), 1.0)

    def bears(self, pull: ArrayLike, push: ArrayLike) -> Array:
        """The factor on stress that reaches a static strength; infinite without stress.

        Args:
            pull, push: MPa, largest tension and largest compression, or both the equivalent stress;
                0 or less where there is none.
        """
        with np.errstate(divide="ignore"):
            return np.minimum(
                self.tension / np.maximum(pull, 0.0), self.compression / np.maximum(push, 0.0)
            )


def miner(counts: Sequence[float], lives: ArrayLike) -> Array:
    """Share of the life used up: Σ n/N over the first axis of the lives.

    Source: palmgren-1924, miner-1945.

    Example:
        >>> round(float(miner([1000.0, 10.0], [1e4, 1e2])), 6)
        0.2
    """
    with np.errstate(divide="ignore"):
        return np.tensordot(np.asarray(counts, dtype=float), 1.0 / np.asarray(lives), axes=1)
