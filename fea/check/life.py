# SPDX-License-Identifier: MIT
"""Does a device outlive the months that it must last: fatigue of walls and bars.

Each point sees its own range and mean over a cycle of loads, such as a step with the swing that
follows it. The factor that a check must reach multiplies all stresses; at the limit Miner's sum
over the months asked for is 1.

Published life of thermoplastics is short. They are judged for the cycles that were published;
what follows is not checked.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Check, Finding, NotChecked, memory_parts
from fea.check.cycles import Ranges, along_range, rainflow
from fea.check.factors import RequiredFactor
from fea.check.lifecurve import LifeCurve
from fea.check.spectrum import MONTH, Spectrum
from fea.check.wording import quantity_text
from fea.errors import GateError
from fea.material.life import FatigueCurve

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

LIFE, EARLY_CRACKS = "life", "early cracks"
"""Topics: the whole service, and as much of it as published tests reach."""
LONGEST = 1200.0
"""Months beyond which no number is said."""
State = Literal["outlived", "not outlived", "beyond published life", "cracks expected early"]

NEAR = 3.0
"""Points whose factor without error is beyond so many times the least are not looked at again."""

_RATIOS = np.linspace(-5.0, 5.0, 401)  # of mean to amplitude


@lru_cache(maxsize=64)
def _table(spectrum: Spectrum, curve: FatigueCurve) -> Array:
    """Factors at amplitude 1 MPa, for each of `_RATIOS`; twice the stress has half the factor."""
    return spectrum.factor(curve, np.ones((1, len(_RATIOS))), _RATIOS[None])


@dataclass(frozen=True, eq=False)
class Points:
    """Points of one zone that share a curve.

    Attributes:
        what: the stress, in words;  curve: what the material outlives there.
        places: (m, 3) mm.
        stress: (instants, m, 3) plane stress, or (instants, m) one component, MPa.
        error: gives the estimated error (i, m) of the stress at some instants; None without.
    """

    what: str
    curve: LifeCurve
    places: Array
    stress: Array
    error: Callable[[IntArray], Array] | None = None

    @property
    def equivalent(self) -> bool:
        """Whether amplitude and mean are those of a plane stress, by Sines."""
        return self.stress.ndim == 3

    @cached_property
    def ranges(self) -> Ranges:
        """The largest range at each point, without error."""
        if self.equivalent:
            return Ranges.of_plane_stress(self.stress)
        return Ranges.of_component(self.stress)

    def factors(self, spectrum: Spectrum, ranges: Ranges) -> Array:
        """The factor (m,) on stress at which a spectrum uses up the life, the main cycle alone."""
        size, spectrum = ranges.amplitude, self.spectrum(spectrum)
        ratio = np.divide(ranges.mean, size, out=np.zeros_like(size), where=size > 0.0)
        table = _table(spectrum, self.curve.sure)
        with np.errstate(divide="ignore"):
            last = self.curve.sure.bears(ranges.pull, ranges.push) / spectrum.highest
            return np.minimum(np.interp(ratio, _RATIOS, table) / size, last)

    def spectrum(self, spectrum: Spectrum) -> Spectrum:
        """As much of it as published tests reach."""
        published = self.curve.published
        return spectrum if published is None else spectrum.first(published)

    def widened(self, instants: IntArray) -> tuple[Ranges, ...]:
        """The ranges with the error at some instants counted, by which the others are not changed.

        One set for each way in which it may harm, see `Ranges.widened`; which one harms most,
        materials tell apart. Raises `GateError` for an error that is not finite.
        """
        if self.error is None:
            return (self.ranges,)
        error = np.zeros(self.stress.shape[:2])
        error[instants] = self.error(instants)
        require_finite(error, f"the estimated error of the {self.what}")
        return self.ranges.widened(error)

    def at(self, point: int, ranges: Ranges) -> tuple[Array, Array]:
        """Amplitude and mean (k,) of every cycle of one point, the largest last, without error."""
        stress = self.stress[:, point]
        first, second = int(ranges.first[point]), int(ranges.second[point])
        plane = self.equivalent
        series = along_range(stress, first, second) if plane else stress
        normal = stress[:, 0] + stress[:, 1] if plane else stress
        pairs = [*rainflow(series)[:-1], (first, second)]
        amplitude = [0.5 * abs(series[i] - series[j]) for i, j in pairs]
        return np.array(amplitude), np.array([0.5 * (normal[i] + normal[j]) for i, j in pairs])


@dataclass(frozen=True)
class LifeRow:
    """How long one zone lasts, at its governing point.

    Attributes:
        zone, cycle: names;  place: mm;  what: the stress, in words.
        first, second: instants between which the stress swings.
        amplitude, mean: MPa, as computed, with the estimated error.
        asked: cycles that it must outlive.
        factor, required: on all stresses: what it bears, and what it must bear.
        state: "outlived", "not outlived"; of thermoplastics "beyond published life" or "cracks
            expected early", or "outlived" where less was asked than is published.
        months: that nearly every piece lasts, all factors counted; None for a class.
        months_middle: that half of the pieces last, scatter of life not counted; None likewise.
        months_tested: that published tests reach; None where they reach all that is asked for.
    """

    zone: str
    cycle: str
    place: tuple[float, float, float]
    what: str
    first: str
    second: str
    amplitude: float
    mean: float
    asked: float
    factor: float
    required: float
    state: State
    months: float | None
    months_middle: float | None
    months_tested: float | None = None


@dataclass(frozen=True, eq=False)
class _Worst:
    """The point of a zone that lasts shortest."""

    points: Points
    point: int
    ranges: Ranges
    amplitude: Array
    mean: Array
    error: float
    bears: float
    factor: float
    spectrum: Spectrum


@dataclass(frozen=True, eq=False)
class ZoneLife:
    """One zone over one cycle of loads.

    Attributes:
        zone: name;  cycle: name of the cycle of loads;  instants: names of its instants.
        points: all that is known of it, each set with its own curve.
        spectrum: cycles asked for;  required: factor on stress.
        topic: of the checks, None for `LIFE`.
    """

    zone: str
    cycle: str
    instants: Sequence[str]
    points: Sequence[Points]
    spectrum: Spectrum
    required: RequiredFactor
    topic: str | None = None

    def judge(self) -> tuple[tuple[Finding, ...], tuple[LifeRow, ...]]:
        """Checks, what could not be checked, and the row of the governing point.

        Raises:
            GateError: a stress or its error is not finite.
        """
        for points in self.points:
            require_finite(points.stress, f"the {points.what} in '{self.zone}'")
        if not any(len(points.places) for points in self.points):
            return (self._gap("every cell of the zone is left out of the judgement"),), ()
        worst = self._worst()
        row = self._row(worst)
        if not self.spectrum.asked:
            because = f"no service life is asked for; {self._lasts(row)}; give months"
            return (self._gap(because, worst),), (row,)
        findings: list[Finding] = [self._check(worst, row)]
        if row.state == "beyond published life":
            findings.append(self._gap(self._beyond(worst), worst))
        return tuple(findings), (row,)

    def _worst(self) -> _Worst:
        """The point with the least factor, error counted."""
        every = [points for points in self.points if len(points.places)]
        bare = [points.factors(self.spectrum, points.ranges) for points in every]
        limit = NEAR * min(float(each.min()) for each in bare)
        near = [np.flatnonzero(each <= limit) for each in bare]
        used = [np.concatenate([p.ranges.first[at], p.ranges.second[at]])
                for p, at in zip(every, near, strict=True)]  # fmt: skip
        instants = np.unique(np.concatenate(used))
        least, found = np.inf, (every[0], 0, every[0].ranges)
        for points, at in zip(every, near, strict=True):
            if not len(at):
                continue
            for ranges in points.widened(instants):
                factors = points.factors(self.spectrum, ranges)[at]
                if factors.min() < least:
                    least = float(factors.min())
                    found = points, int(at[factors.argmin()]), ranges
        return self._exact(*found)

    def _exact(self, points: Points, point: int, ranges: Ranges) -> _Worst:
        """All cycles of one point, and the factor at which they use up its life."""
        amplitude, mean = points.at(point, ranges)
        error = float(ranges.amplitude[point] - points.ranges.amplitude[point])
        shift = float(ranges.mean[point] - points.ranges.mean[point])
        amplitude, mean = amplitude + error, mean + shift
        spectrum = points.spectrum(self.spectrum)
        curve = points.curve.sure
        bears = float(curve.bears(ranges.pull[point], ranges.push[point]))
        factor = float(spectrum.factor(curve, amplitude, mean, bears))
        return _Worst(points, point, ranges, amplitude, mean, error, bears, factor, spectrum)

    def _row(self, worst: _Worst) -> LifeRow:
        met, curve = worst.factor >= self.required.value, worst.points.curve
        short = worst.spectrum is not self.spectrum
        state: State = "outlived" if met else "not outlived"
        if curve.published is not None:
            state = "outlived" if met else "cracks expected early"
            state = "beyond published life" if met and short else state
        months, middle = self._months(worst, curve.sure), self._months(worst, curve.middle)
        x, y, z = worst.points.places[worst.point].tolist()
        first, second = self._ends(worst)
        return LifeRow(
            self.zone, self.cycle, (x, y, z), worst.points.what, first, second,
            float(worst.amplitude[-1]), float(worst.mean[-1]), self.spectrum.count, worst.factor,
            self.required.value, state, months, middle, self._tested(worst),
        )  # fmt: skip

    def _tested(self, worst: _Worst) -> float | None:
        """Months of service that published tests reach."""
        if worst.spectrum is self.spectrum or self.spectrum.months is None:
            return None
        return self.spectrum.months * worst.spectrum.count / self.spectrum.count

    def _ends(self, worst: _Worst) -> tuple[str, str]:
        ranges, point = worst.ranges, worst.point
        return self.instants[ranges.first[point]], self.instants[ranges.second[point]]

    def _months(self, worst: _Worst, curve: FatigueCurve) -> float | None:
        """Months of service until Miner's sum at the required factor is 1."""
        if worst.points.curve.published is not None or self.spectrum.months is None:
            return None
        damage = self.spectrum.damage(
            curve, worst.amplitude, worst.mean, self.required.value, worst.bears
        )
        return self.spectrum.months / float(damage) if damage > 0.0 else np.inf

    def _check(self, worst: _Worst, row: LifeRow) -> Check:
        curve = worst.points.curve
        beyond = row.state == "beyond published life"
        swing = (
            f"{worst.points.what}, amplitude {quantity_text(row.amplitude)} MPa about a mean of "
            f"{quantity_text(row.mean)} MPa between '{row.first}' and '{row.second}'"
        )
        basis = f"{swing}, over {self._asked(worst.spectrum)}; {self._lasts(row)}; {curve.basis}"
        notes = (curve.note, self.required.note)
        rule = ("sines-1959",) if worst.points.equivalent else ()
        return Check(
            topic=EARLY_CRACKS if beyond else self.topic or LIFE,
            zone=self.zone, case=row.first, place=row.place, demand=row.amplitude,
            capacity=self._bears(worst, row.amplitude),
            unit="MPa", required=self.required.value,
            basis=f"{basis}; {self.required.words}",
            sources=tuple(dict.fromkeys([*curve.sources, *rule, *self.required.sources])),
            note="; ".join(dict.fromkeys(note for note in notes if note)),
            error=None if worst.points.error is None else worst.error,
            horizon="service life",
        )  # fmt: skip

    @staticmethod
    def _bears(worst: _Worst, amplitude: float) -> float:
        """The amplitude that is borne with the same mean; any where nothing is asked."""
        if amplitude > 0.0:
            return amplitude * worst.factor
        return worst.points.curve.sure.line.amplitude_at(worst.spectrum.count)

    def _asked(self, spectrum: Spectrum) -> str:
        blocks = [
            f"{_count(block.count)} {block.name}"
            + ("" if block.ratio == 1.0 else f" of {block.ratio:.2f} times the stress")
            + (" (without the factor for consequence)" if block.rare else "")
            for block in spectrum.blocks
            if block.count
        ]
        listed = " and ".join(filter(None, [", ".join(blocks[:-1]), blocks[-1]])) if blocks else "0"
        months = "" if spectrum.months is None else f" in {months_text(spectrum.months)}"
        note = f" (of these {spectrum.note})" if spectrum.note else ""
        return f"{listed}{months}{note}"

    def _lasts(self, row: LifeRow) -> str:
        if row.months is None or row.months_middle is None:
            return {
                "outlived": "held for the cycles asked for",
                "not outlived": "not held for the cycles asked for",
                "beyond published life": "held as far as published tests go",
                "cracks expected early": "cracks are expected early",
            }[row.state]
        return (
            f"nearly every piece lasts {months_text(row.months)}, half of them "
            f"{months_text(row.months_middle)}"
        )

    def _beyond(self, worst: _Worst) -> str:
        months = self._tested(worst)
        when = "" if months is None else f" ({months_text(months)} of use)"
        return (
            f"published tests reach {_count(worst.spectrum.count)} cycles{when}, which it is held "
            f"to; {_count(self.spectrum.count)} are asked for, and no life of this material can be "
            "computed beyond: look for whitening and cracks from then on at every visit, and fix "
            "a date at which to replace it"
        )

    def _gap(self, because: str, worst: _Worst | None = None) -> NotChecked:
        note = "" if worst is None else f"{worst.points.curve.note}; {self.required.note}"
        return NotChecked(
            topic=self.topic or LIFE, zone=self.zone, because=because, horizon="service life",
            from_memory=tuple(dict.fromkeys(memory_parts(note))),
        )  # fmt: skip


def require_finite(values: Array, what: str) -> None:
    """Refuse numbers one of which is not finite, since no comparison would find it.

    Example:
        >>> require_finite(np.array([1.0, np.nan]), "the stress")
        Traceback (most recent call last):
        fea.errors.GateError: the stress is not finite at 1 of 2 points; no life can be judged
    """
    wrong = int(np.count_nonzero(~np.isfinite(values)))
    if wrong:
        raise GateError(
            f"{what} is not finite at {wrong} of {np.size(values)} points; no life can be judged"
        )


def life_rows(rows: Iterable[LifeRow]) -> tuple[LifeRow, ...]:
    """The row of each zone and kind of cycle that bears least, the worst first."""
    least: dict[tuple[str, str], LifeRow] = {}
    for row in sorted(rows, key=lambda row: row.factor / row.required):
        least.setdefault((row.zone, row.cycle), row)
    return tuple(least.values())


def _count(cycles: float) -> str:
    """A number of cycles to three digits.

    Example:
        >>> _count(3403437.4), _count(100000.0), _count(2.34)
        ('3 400 000', '100 000', '2.34')
    """
    if cycles < 100.0:
        return f"{cycles:.3g}"
    return f"{float(f'{cycles:.3g}'):,.0f}".replace(",", " ")


def months_text(months: float) -> str:
    """Months for people, rounded down.

    Example:
        >>> months_text(0.79), months_text(7.96), months_text(36.0), months_text(5000.0)
        ('24 days', '7.9 months', '36 months', 'more than 100 years')
    """
    if months >= LONGEST:
        return f"more than {LONGEST / 12:.0f} years"
    if months < 2.0:
        return f"{np.floor(months * MONTH):.0f} days"
    if months < 10.0:
        return f"{np.floor(10.0 * months + 1e-9) / 10.0:g} months"
    return f"{np.floor(months + 1e-9):.0f} months"
