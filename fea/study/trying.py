# SPDX-License-Identifier: MIT
"""One layout of sizes judged in full, with the slopes of its checks where they are known.

Checks without an adjoint are guessed to answer like the hardest one of their wall that has one. The
search learns from trial to trial how they do, and no layout passes that they do not.
"""

import math
import re
import time
from collections.abc import Callable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment, assess
from fea.check.check import Check
from fea.device.device import Device
from fea.errors import StanchionError
from fea.study.gradient import Gradients, gradient
from fea.study.layout import Key, Layout, Trial
from fea.study.parameter import Design
from fea.study.stock import Choice

Array = NDArray[np.float64]

_STEERS = 0.3  # share used from which a check is worth a sensitivity
_OWN = -1.0  # slope of a check by its own wall, guessed where none is known; the search corrects it


def judged(
    design: Design, how: Mapping[str, object], last: Assessment | None
) -> Assessment:
    return assess(
        design.device_as_changed(), design.wearer, loads=design.loads,
        start=() if last is None else last.run.worn, **how,  # type: ignore[arg-type]
    )  # fmt: skip


class Trying:
    """Judges layouts in full, and keeps the lightest that holds."""

    def __init__(
        self, design: Design, parts: tuple[Choice, ...], how: Mapping[str, object],
        before: Assessment, progress: Callable[[str], None], most: int,
    ):
        self._design, self._parts, self._how, self._say = design, parts, how, progress
        self._most, self._started = most, time.monotonic()
        self._usual = frozenset(_open(before))
        self._last: tuple[Layout | None, Assessment] = (None, before)
        if all(part.now is not None for part in parts):  # the device as given is a layout
            self._last = (tuple(part.nearest for part in parts), before)
        self.kept: Assessment | None = None
        self._count = 0 if self._last[0] is None else 1

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
            self._say(f"layout {self._count}{self._ahead()}: {words}")
            values = {
                path: part.values[number]
                for part, number in zip(self._parts, layout, strict=True)
                for path in part.paths
            }
            result = judged(self._design.changed(values), self._how, self._last[1])
            self._last = (layout, result)
        return self._last[1]

    def _ahead(self) -> str:
        """How many layouts may follow, how long they may take, and what holds so far."""
        words = f" of at most {self._most}"
        if self._count > 2:
            each = (time.monotonic() - self._started) / (self._count - 1)
            left = each * (self._most - self._count + 1)
            words += f", {math.ceil(left / 60.0)} min left at most"
        if self.kept is not None:
            words += f", {1e3 * self.kept.device_mass_kg:.0f} g so far"
        return words

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
            slopes.setdefault(_key(check), self._guess(check, found, slopes))
        return slopes

    def _guess(self, check: Check, found: Gradients, known: Mapping[Key, Array]) -> Array:
        """As the hardest check of the same wall or bar answers that has an adjoint, if any."""
        for one in found.gradients:
            if one.check.zone == check.zone:
                return known[_key(one.check)]
        own = [check.zone in part.zones for part in self._parts]
        return _OWN * np.array(own, dtype=float)

    def _masses(self, found: Gradients, layout: Layout) -> Array:
        return np.array([
            sum(share * found.masses[zone] for zone, share in self._shares(found.result, part))
            for part in self._parts
        ])  # fmt: skip

    @staticmethod
    def _shares(result: Assessment, part: Choice) -> Iterator[tuple[str, float]]:
        """Zones of a part, and about which share of their wall grows with it.

        A wider strip is taken to help, and to weigh, as much as a thicker one of the same area.
        """
        device = result.device
        for zone in part.zones:
            if zone in device.bars:
                yield zone, 1.0
                continue
            if part.is_bonded and zone in device.walls:
                yield zone, _bonded_share(device, zone)
                continue
            for name in device.parts(zone):
                yield name, 1.0 - _bonded_share(device, name)


def _bonded_share(device: Device, zone: str) -> float:
    """Share of a wall that is bonded on, by thickness; 0 of a plain one."""
    wall = device.walls[zone]
    if wall.layup is None or not wall.layers:
        return 0.0
    sizes = np.asarray(wall.layup.thicknesses, dtype=float)
    base = device.walls.get(re.sub(r", \d+$", "", zone.partition(" on ")[2]))
    if base is not None and not base.layers:
        return max(0.0, 1.0 - float(np.mean(base.thickness) / sizes.sum()))
    bonded = [each.name != wall.material.name for each in wall.layers]
    return float(sizes[bonded].sum() / sizes.sum())


def _key(check: Check) -> Key:
    return check.topic, check.zone, check.horizon


def _open(result: Assessment) -> Iterator[str]:
    """What could not be judged, in words that do not change with its numbers."""
    return (f"{each.topic} of {each.zone}" for each in result.not_checked)
