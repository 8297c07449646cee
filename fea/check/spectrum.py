# SPDX-License-Identifier: MIT
"""The cycles of a service: walking, stairs, stumbles; and what they use up of a life.

Stress follows load in proportion (contact and straps start without gap or pull), so that a stair or
a stumble is the step times a ratio.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.check.requirements import Service
from fea.material.life import FatigueCurve, miner

Array = NDArray[np.float64]

MONTH = 365.25 / 12.0
"""Days."""

_STEPS = 60  # of halving, on a logarithmic scale


@dataclass(frozen=True)
class Block:
    """Cycles of one height.

    Attributes:
        name: such as "stairs";  ratio: of their stress to that of the cycle as solved.
        count: how many.
        rare: whether the load stands for the consequence of failing, as in a fall.
    """

    name: str
    ratio: float
    count: float
    rare: bool = False


@dataclass(frozen=True)
class Spectrum:
    """All cycles of a service.

    Attributes:
        blocks: of the whole service, or of one month where none is asked for.
        months: that it lasts; None for a number of cycles that a test asks for.
        asked: whether a device must outlive it.
        note: reservations.
    """

    blocks: tuple[Block, ...]
    months: float | None
    asked: bool = True
    note: str = ""

    @classmethod
    def of(
        cls, service: Service, *, stairs: float, stumble: float, walking: float = 1.0
    ) -> "Spectrum":
        """Of daily life.

        Args:
            service: how long, how often.
            stairs, stumble: ratio of their stress to that of a step on the level.
            walking: ratio of that of a step on the level to that which was solved; stairs and
                stumbles grow with it.

        Example:
            >>> from fea.check.requirements import read_requirements
            >>> service = read_requirements(adult=True).service
            >>> [round(each.count) for each in Spectrum.of(service, stairs=1.5, stumble=2.5).blocks]
            [3403400, 61362, 110]
        """
        months = service.months or 1.0
        doubts = [each for each in service.doubts if not each.startswith("standing")]
        days = MONTH * months
        return cls(
            (
                Block("walking", walking, days * service.strides_per_day),
                Block("stairs", walking * stairs, days * service.stair_strides_per_day),
                Block("stumbles", walking * stumble, days * service.stumbles_per_day, rare=True),
            ),
            months, service.months is not None, "; ".join(doubts),
        )  # fmt: skip

    @property
    def count(self) -> float:
        """Of all cycles."""
        return sum(block.count for block in self.blocks)

    def first(self, cycles: float) -> "Spectrum":
        """As much of it as takes so many cycles; itself where it has no more."""
        share = cycles / self.count if self.count > cycles else 1.0
        if share == 1.0:
            return self
        blocks = tuple(replace(block, count=share * block.count) for block in self.blocks)
        return replace(self, blocks=blocks, months=self.months and share * self.months)

    def without_consequence(self, factor: float) -> "Spectrum":
        """With the stress of rare cycles over a factor that is counted in every stress later."""
        blocks = tuple(
            replace(block, ratio=block.ratio / factor) if block.rare else block
            for block in self.blocks
        )
        return replace(self, blocks=blocks)

    def damage(
        self, curve: FatigueCurve, amplitude: Array, mean: Array, factor: Array | float = 1.0,
        bears: Array | float = np.inf,
    ) -> Array:
        """Miner's sum of cycles (k, ...) at the same point, the largest last.

        Args:
            curve: what is outlived.
            amplitude, mean: (k, ...) MPa.
            factor: (...) on all stresses.
            bears: (...) factor at which the largest cycle is the last, see `FatigueCurve.bears`.
        """
        total = np.zeros(np.broadcast_shapes(np.shape(amplitude)[1:], np.shape(factor)))
        for block in self.blocks:
            times = block.ratio * np.asarray(factor)
            lives = curve.life(times * amplitude, times * mean)
            lives[-1] = np.where(times >= bears, 1.0, lives[-1])
            total = total + miner([block.count] * len(lives), lives)
        return total

    def factor(
        self, curve: FatigueCurve, amplitude: Array, mean: Array, bears: Array | float = np.inf
    ) -> Array:
        """The factor on all stresses (...) at which cycles (k, ...) use the life up exactly.

        Args:
            curve, amplitude, mean, bears: as for `damage`.
        """
        size = np.maximum(amplitude + np.abs(mean), 1e-9 * curve.tension).max(axis=0)
        low, high = np.log(1e-9 * curve.tension / size), np.log(10.0 * curve.tension / size)
        for _ in range(_STEPS):
            middle = 0.5 * (low + high)
            over = self.damage(curve, amplitude, mean, np.exp(middle), bears) > 1.0
            low, high = np.where(over, low, middle), np.where(over, middle, high)
        return np.exp(low)

    @property
    def highest(self) -> float:
        """The largest ratio of a block that comes at least once; 0 where none does."""
        return max((block.ratio for block in self.blocks if block.count >= 1.0), default=0.0)
