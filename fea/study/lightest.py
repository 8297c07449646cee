# SPDX-License-Identifier: MIT
"""The lightest layout of sheets and plies that exist under which a device holds.

Every layout that counts is judged in full, as `fea.assess` judges it: all cases and all checks.
Sensitivities only say where to look (`fea.study.layout`). So what is found holds; that nothing
lighter does is known for one size less of each part by itself, not for every layout there is.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment, assess
from fea.check.check import BUCKLING, Check
from fea.check.requirements import Requirements
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.check.wording import percent_text
from fea.errors import InputError, StanchionError
from fea.shipped import AUTO_STEP
from fea.study.gradient import Gradients, gradient
from fea.study.layout import Key, Layout, Search, Trial, search
from fea.study.parameter import Design, Value
from fea.study.stock import Choice, choices, read_stock, together
from fea.tables import text_table

Array = NDArray[np.float64]

MOST = 40
"""Layouts that are judged, unless more are asked for."""
ACTIVE = 0.9
"""Share used from which a check is called a limit that is reached."""
_STEERS = 0.3  # share used from which a check is worth a sensitivity
_BUCKLES = -2.0  # guessed slope of buckling by its own wall; stress at a buckle goes as t²


@dataclass(frozen=True, eq=False)
class Lightest:
    """The lightest layout that was found to hold.

    Attributes:
        parts: what was chosen for.
        before: the device as given.
        after: the lightest that holds; None where none did.
        search: every trial.
    """

    parts: tuple[Choice, ...]
    before: Assessment
    after: Assessment | None
    search: Search

    @property
    def saving(self) -> float | None:
        """Grams saved against the device as given; None where nothing holds."""
        if self.after is None:
            return None
        return 1e3 * (self.before.device_mass_kg - self.after.device_mass_kg)

    @property
    def values(self) -> Mapping[str, Value]:
        """What the lightest sets, by dotted path; nothing where nothing holds."""
        best = self.search.best
        if best is None:
            return {}
        return {
            path: part.values[number]
            for part, number in zip(self.parts, best.layout, strict=True)
            for path in part.paths
        }

    @property
    def active(self) -> tuple[Check, ...]:
        """Checks of the lightest that use at least `ACTIVE` of what is allowed."""
        if self.after is None:
            return ()
        return tuple(each for each in self.after.checks if each.utilisation >= ACTIVE)

    @property
    def sentence(self) -> str:
        """What was found, in one or two sentences."""
        count = len(self.search.trials)
        if self.after is None:
            return self._none(count)
        assert self.saving is not None
        change = (
            f"{abs(self.saving):.0f} g {'less' if self.saving >= 0.0 else 'more'} than as given"
        )
        given = "" if self.before.verdict != "not met" else ", which does not hold"
        proof = (
            "no part by itself can be one size thinner"
            if self.search.complete
            else "not every part was tried one size thinner: allow more layouts"
        )
        return (
            f"The lightest layout found to hold weighs {1e3 * self.after.device_mass_kg:.0f} g, "
            f"{change}{given}; {count} layouts were judged in full, and {proof}."
        )

    def _none(self, count: int) -> str:
        closest = min(self.search.trials, key=lambda each: each.worst)
        key, why = closest.governing, "none of them could be judged"
        if key is not None:
            why = (
                f"the one that comes nearest uses {percent_text(closest.worst)} of what is allowed "
                f"in {key[0]} of {key[1]} ({key[2]})"
            )
            if closest.worst <= 1.0:
                why = f"the one that comes nearest leaves open: {', '.join(closest.extra)}"
        if self.search.exhausted:
            return f"No layout of these sizes holds: all {count} were judged, and {why}."
        thickest = tuple(len(each.sizes) - 1 for each in self.parts)
        tried = [each for each in self.search.trials if each.layout == thickest]
        most = ", the thickest of all among them" if tried else ""
        return f"No layout of these sizes was found to hold: {count} were judged{most}, and {why}."

    def __str__(self) -> str:
        rows = []
        best = self.search.best
        for number, part in enumerate(self.parts):
            found = "-" if best is None else part.words(best.layout[number])
            now = part.words(part.now) if part.now is not None else f"{part.size_now:g} mm"
            rows.append((part.name, now, found, self._stop(number) if best else "-"))
        head = ("part", "as given", "lightest", "why no thinner")
        text = f"{self.sentence}\n\n{text_table(head, rows)}"
        if self.active:
            limits = [
                (f"{one.topic}, {one.zone}, {one.horizon}", percent_text(one.utilisation))
                for one in self.active
            ]
            text += f"\n\n{text_table(('limit reached', 'used'), limits)}"
        return text

    def _stop(self, number: int) -> str:
        """Why a part of the best layout is no thinner."""
        best = self.search.best
        assert best is not None
        if best.layout[number] == 0:
            return "is the thinnest there is"
        trial = self.search.thinner[number]
        if trial is None:
            return "not tried"
        if trial.failure:
            return trial.failure
        if trial.extra:
            return f"leaves open: {', '.join(trial.extra)}"
        key = trial.governing
        assert key is not None
        return f"{key[0]} of {key[1]} ({key[2]}) at {percent_text(trial.worst)}"


def lightest(
    design: Design,
    *,
    stock: str | Path | None = None,
    one_sheet: bool = False,
    most: int = MOST,
    fall: str | Path | None = "stumble",
    step: str | Path | None = AUTO_STEP,
    size: float | None = None,
    requirements: Requirements | None = None,
    large_from_deg: float | None = ROTATION_LIMIT_DEG,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Lightest:
    """Find the lightest layout of sheets and plies that exist under which a device holds.

    Args:
        design: device, wearer, loads, materials and change in force.
        stock: file of what exists; None for the shipped one.
        one_sheet: parts that are of one size now stay of one size.
        most: layouts that are judged.
        fall, step, size, requirements, large_from_deg, solver: as for `assess`.
        progress: called with a few words as the work goes on.

    Returns:
        The lightest layout, the limits that it reaches, and why each part is no thinner; or that
        none holds.

    Raises:
        InputError: nothing can be chosen, or the device as given cannot be judged.

    Example:
        >>> import fea
        >>> from fea.study.parameter import Design
        >>> design = Design(fea.read_device("ribbed-polypropylene-child"),
        ...                 fea.read_wearer("demo-child"), fea.read_load_set("sitting"))
        >>> found = lightest(design, step=None, fall=None, size=24.0, most=2)
        >>> len(found.search.trials)
        2
    """
    if most < 1:
        raise InputError(f"{most} layouts are too few; allow some")
    how = {
        "fall": fall, "step": step, "size": size, "requirements": requirements,
        "large_from_deg": large_from_deg, "solver": solver,
    }  # fmt: skip
    progress("judging the device as given")
    before = _judged(design, how, None)
    parts = choices(design, before.device, read_stock(stock))
    parts = together(parts) if one_sheet else parts
    progress("looking which sizes can be made")
    parts = tuple(_buildable(part, design, before, size) for part in parts)
    trying = _Trying(design, parts, how, before, progress)
    found = search(
        [part.sizes for part in parts], trying, tuple(part.nearest for part in parts), most=most
    )
    return Lightest(parts, before, trying.kept, found)


def _judged(
    design: Design, how: Mapping[str, object], last: Assessment | None
) -> Assessment:
    return assess(
        design.device_as_changed(), design.wearer, loads=design.loads,
        start=() if last is None else last.run.worn, **how,  # type: ignore[arg-type]
    )  # fmt: skip


def _buildable(part: Choice, design: Design, given: Assessment, size: float | None) -> Choice:
    """The part without its thickest values, as far as they cannot be built beside the others."""
    count = len(part.values)
    while count > 1 and part.sizes[count - 1] > part.size_now:
        value = part.values[count - 1]
        try:
            other = design.changed(dict.fromkeys(part.paths, value))
            other.device_as_changed().fit(given.limb, size)
            break
        except StanchionError:
            count -= 1
    return replace(part, values=part.values[:count], sizes=part.sizes[:count])


class _Trying:
    """Judges layouts in full, and keeps the lightest that holds."""

    def __init__(
        self, design: Design, parts: tuple[Choice, ...], how: Mapping[str, object],
        before: Assessment, progress: Callable[[str], None],
    ):
        self._design, self._parts, self._how, self._say = design, parts, how, progress
        self._usual = frozenset(_open(before))
        self._last: tuple[Layout | None, Assessment] = (None, before)
        if all(part.now is not None for part in parts):  # the device as given is a layout
            self._last = (tuple(part.nearest for part in parts), before)
        self.kept: Assessment | None = None
        self._count = 0

    def __call__(self, layout: Layout, slopes: bool) -> Trial:
        try:
            result = self._result(layout)
        except StanchionError as error:
            return Trial(layout, failure=" ".join(str(error).split()))
        found = self._gradients(result) if slopes else None
        trial = Trial(
            layout,
            result.device_mass_kg,
            {_key(check): check.utilisation for check in result.checks},
            {} if found is None else self._slopes(found),
            self._masses(gradient(result, ()), layout),
            extra=tuple(sorted(set(_open(result)) - self._usual)),
        )
        if trial.holds and (
            self.kept is None or result.device_mass_kg < self.kept.device_mass_kg
        ):
            self.kept = result
        return trial

    def _result(self, layout: Layout) -> Assessment:
        if self._last[0] != layout:
            self._count += 1
            words = ", ".join(
                f"{part.name} {part.words(number)}"
                for part, number in zip(self._parts, layout, strict=True)
            )
            self._say(f"layout {self._count}: {words}")
            values = {
                path: part.values[number]
                for part, number in zip(self._parts, layout, strict=True)
                for path in part.paths
            }
            result = _judged(self._design.changed(values), self._how, self._last[1])
            self._last = (layout, result)
        return self._last[1]

    def _gradients(self, result: Assessment) -> Gradients:
        self._say("sensitivities of the checks")
        return gradient(result, [one for one in result.checks if one.utilisation >= _STEERS])

    def _slopes(self, found: Gradients) -> dict[Key, Array]:
        slopes = {
            _key(one.check): np.array([
                sum(share * found.exponent(one, zone)
                    for zone, share in self._shares(found.result, part))
                for part in self._parts
            ])
            for one in found.gradients
        }  # fmt: skip
        for check in found.result.checks:
            if check.topic == BUCKLING:
                own = [check.zone in part.zones for part in self._parts]
                slopes[_key(check)] = _BUCKLES * np.array(own, dtype=float)
        return slopes

    def _masses(self, found: Gradients, layout: Layout) -> Array:
        return np.array([
            sum(share * found.masses[zone] for zone, share in self._shares(found.result, part))
            for part in self._parts
        ])  # fmt: skip

    @staticmethod
    def _shares(result: Assessment, part: Choice) -> Iterator[tuple[str, float]]:
        """Zones of a part, and the share of their wall that grows with it."""
        device = result.device
        for zone in part.zones:
            if zone in device.bars:
                yield zone, 1.0
            elif zone in device.walls:
                whole = float(np.mean(np.asarray(device.walls[zone].thickness)))
                bonded = part.paths[0].startswith("overlay.")
                yield zone, min(1.0, part.size_now / whole) if bonded else 1.0


def _key(check: Check) -> Key:
    return check.topic, check.zone, check.horizon


def _open(result: Assessment) -> Iterator[str]:
    """What could not be judged, in words that do not change with its numbers."""
    return (f"{each.topic} of {each.zone}" for each in result.not_checked)
