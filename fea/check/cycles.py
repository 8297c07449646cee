# SPDX-License-Identifier: MIT
"""Ranges of stress at each point over one cycle of loads, with the mean and the two instants.

In an isotropic wall the range is the largest von Mises norm of the difference of two stress states,
wherever their axes point, and the mean is the trace of the state in the middle between them. Along
a fibre stress is one number. Smaller ranges within a cycle are counted at one point by rainflow.

Source: sines-1959 (amplitude of shear energy with the sum of the mean normal stresses; for one
stress alone it is its amplitude and its mean), astm-e1049 (rainflow).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_CHUNK = 4000  # points whose pairs of instants are held at once


@dataclass(frozen=True, eq=False)
class Ranges:
    """The largest range at each of m points.

    Attributes:
        amplitude: (m,) half the range, MPa, 0 or more;  mean: (m,) MPa, tension positive.
        first, second: (m,) instants between which it lies; `first` is the one of larger stress.
        pull, push: (m,) MPa, largest tension and largest compression of all instants, below 0 where
            there is none; in an isotropic wall both are the largest von Mises stress, since the sum
            of normal stresses says nothing of how near yielding is.
    """

    amplitude: Array
    mean: Array
    first: IntArray
    second: IntArray
    pull: Array
    push: Array

    @classmethod
    def of_plane_stress(cls, stress: Array) -> Ranges:
        """Of stress (instants, m, 3), components 11, 22, 12.

        Example:
            >>> two = Ranges.of_plane_stress(np.array([[[0.0, 0, 0]], [[10.0, 0, 0]]]))
            >>> float(two.amplitude[0]), float(two.mean[0]), int(two.first[0])
            (5.0, 5.0, 1)
        """
        parts = [
            _longest_chord(stress[:, start : start + _CHUNK])
            for start in range(0, stress.shape[1], _CHUNK)
        ]
        return cls(*(np.concatenate(each) for each in zip(*parts, strict=True)))

    @classmethod
    def of_component(cls, stress: Array) -> Ranges:
        """Of one stress component (instants, m).

        Example:
            >>> one = Ranges.of_component(np.array([[0.0], [12.0], [-4.0]]))
            >>> float(one.amplitude[0]), float(one.mean[0])
            (8.0, 4.0)
        """
        top, bottom = stress.argmax(axis=0), stress.argmin(axis=0)
        high, low = stress.max(axis=0), stress.min(axis=0)
        first = np.where(high >= -low, top, bottom)
        second = np.where(high >= -low, bottom, top)
        return cls(0.5 * (high - low), 0.5 * (high + low), first, second, high, -low)

    def widened(self, error: Array) -> tuple[Ranges, ...]:
        """What the range may be where the stress at each of its ends is off by an error.

        The range widest, with what is left for the mean; and the mean moved furthest, with what is
        left for the range; each with the mean towards tension and towards compression. The error is
        taken as of one stress alone, so that it moves the mean of a wall by as much as an end.

        Args:
            error: (instants, m) estimated, MPa.

        Example:
            >>> swing = Ranges.of_component(np.array([[0.0], [10.0]]))
            >>> moved = swing.widened(np.array([[1.0], [2.0]]))  # 0 ± 1 to 10 ± 2
            >>> [(float(each.amplitude[0]), float(each.mean[0])) for each in moved]
            [(6.5, 5.5), (6.5, 4.5), (5.5, 6.5), (5.5, 3.5)]
        """
        points = np.arange(len(self.amplitude))
        one, other = error[self.first, points], error[self.second, points]
        sums, rest = 0.5 * (one + other), 0.5 * np.abs(one - other)
        most = np.maximum(one, other)
        return tuple(
            replace(self, amplitude=self.amplitude + wider, mean=self.mean + way * shift,
                    pull=self.pull + most, push=self.push + most)
            for wider, shift in ((sums, rest), (rest, sums))
            for way in (1.0, -1.0)
        )  # fmt: skip


def _longest_chord(stress: Array) -> tuple[Array, Array, IntArray, IntArray, Array, Array]:
    """What `Ranges` holds, of stress (instants, m, 3)."""
    place = np.ascontiguousarray(_euclidean(stress).transpose(1, 0, 2))  # (m, instants, 3)
    size = np.einsum("mti,mti->mt", place, place)
    squared = size[:, :, None] + size[:, None, :] - 2.0 * place @ place.transpose(0, 2, 1)
    count = place.shape[1]
    points = np.arange(len(place))
    pair = squared.reshape(len(place), -1).argmax(axis=1)
    one, other = pair // count, pair % count
    swap = size[points, other] > size[points, one]
    one, other = np.where(swap, other, one), np.where(swap, one, other)
    chord = np.linalg.norm(place[points, one] - place[points, other], axis=1)
    middle = 0.5 * (stress[one, points] + stress[other, points])
    peak = np.sqrt(size.max(axis=1))
    return 0.5 * chord, middle[:, 0] + middle[:, 1], one, other, peak, peak


def _euclidean(stress: Array) -> Array:
    """Coordinates (..., 3) whose length is the von Mises norm of plane stress (..., 3)."""
    a, b, c = stress[..., 0], stress[..., 1], stress[..., 2]
    root = np.sqrt(3.0)
    return np.stack([0.5 * (a + b), 0.5 * root * (a - b), root * c], axis=-1)


def along_range(stress: Array, first: int, second: int) -> Array:
    """Stress (instants, 3) of one point along its largest range: signed, the range as its length.

    Example:
        >>> along_range(np.array([[0.0, 0, 0], [10.0, 0, 0], [4.0, 0, 0]]), 1, 0).round(6).tolist()
        [0.0, 10.0, 4.0]
    """
    place = _euclidean(stress)
    way = place[first] - place[second]
    length = float(np.linalg.norm(way))
    return np.zeros(len(place)) if length == 0.0 else place @ (way / length)


def rainflow(series: Array) -> list[tuple[int, int]]:
    """Pairs of instants that bound the closed cycles of a series that repeats without end.

    The largest one comes last.

    Source: astm-e1049, four-point form, begun at the highest point.

    Example:
        >>> rainflow(np.array([2.0, 10.0, 4.0, 8.0, 0.0]))
        [(2, 3), (1, 4)]
    """
    start = int(np.argmax(series))
    order = [*range(start, len(series)), *range(start), start]
    kept: list[int] = []
    cycles: list[tuple[int, int]] = []
    for index in _reversals(series, order):
        kept.append(index)
        while len(kept) >= 4:
            a, b, c, d = (float(series[k]) for k in kept[-4:])
            if abs(c - b) > abs(b - a) or abs(c - b) > abs(d - c):
                break
            cycles.append((kept[-3], kept[-2]))
            del kept[-3:-1]
    if len(kept) >= 2 and series[kept[0]] != series[kept[1]]:
        cycles.append((kept[0], kept[1]))
    return cycles


def _reversals(series: Array, order: list[int]) -> list[int]:
    """The instants of an order at which the series turns, with both ends."""
    turning = [order[0]]
    for index in order[1:]:
        if series[index] == series[turning[-1]] and index != order[-1]:
            continue
        if len(turning) >= 2 and (
            (series[index] > series[turning[-1]]) == (series[turning[-1]] > series[turning[-2]])
        ):
            turning[-1] = index
        else:
            turning.append(index)
    return turning
