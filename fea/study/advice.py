# SPDX-License-Identifier: MIT
"""What to change first: which walls help most for each gram, and where one may be thinner.

Every number is an estimate to first order in the logarithms of thickness and demand, from the
sensitivities of `fea.study.gradient`: exact for small changes while the same place governs, and
steps of a sheet or ply are not small. What is advised is to be judged again.

Where a stress is read from several walls that run into each other smoothly, a step of one of them
alone would part them and make a new edge. So such walls are taken as one, and grow together.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from fea.assessment import Assessment
from fea.check.check import Check, Horizon
from fea.check.wording import percent_text
from fea.device.device import Bar, Device, Wall
from fea.study.gradient import Gradients, gradient
from fea.study.stock import Stock, StockTable, read_stock
from fea.tables import text_table

Key = tuple[str, str, Horizon]
"""Topic, zone and horizon of a check: what governs of these stands once in an assessment."""

NEAR = 0.7
"""Share used from which a check is followed. One that uses less is not: most steps leave it met."""
_ALIKE = 1e-6  # of a thickness


@dataclass(frozen=True)
class Step:
    """The next size that exists.

    Attributes:
        now, then: mm before forming, depth of a bar, or number of plies.
        unit: "mm" or "plies".
        times: by which walls or bars get thicker.
        grams: that this adds; below 0 where it takes off.
    """

    now: float
    then: float
    unit: str
    times: float
    grams: float


@dataclass(frozen=True, eq=False)
class Effect:
    """How one check answers to one option.

    Attributes:
        check: of the assessment.
        slope: relative change of its demand over that of the thickness.
        per_gram: share of what is allowed that each gram added frees; below 0 where it hurts.
    """

    check: Check
    slope: float
    per_gram: float

    def after(self, step: Step) -> float:
        """Share of what is allowed that is used after a step, estimated."""
        return self.check.utilisation * step.times**self.slope


@dataclass(frozen=True, eq=False)
class Option:
    """Walls or a bar that may be made thicker or thinner.

    Attributes:
        zones: that grow together.
        grams: what they weigh.
        thicker, thinner: next sizes; None where none is known, as of a wall measured cell by cell.
        effects: on the checks that are followed, as far as they can be estimated.
    """

    zones: tuple[str, ...]
    grams: float
    thicker: Step | None
    thinner: Step | None
    effects: tuple[Effect, ...]

    def on(self, check: Check) -> Effect | None:
        """The effect on one check; None where it cannot be estimated."""
        return next((each for each in self.effects if each.check is check), None)

    def beyond(self, step: Step) -> float:
        """The most by which a step takes a check further beyond what is allowed; 0 for none."""
        rises = (each.after(step) - max(1.0, each.check.utilisation) for each in self.effects)
        return max(0.0, *rises) if self.effects else math.inf


@dataclass(frozen=True, eq=False)
class Advice:
    """What to change first.

    Attributes:
        result: the assessment.
        targets: the governing checks that are not met; where all are met, the hardest one, and the
            hardest that can be estimated.
        options: walls and bars, each once.
        missing: checks that are followed, used by `NEAR` or more, and have no estimate, with why.
    """

    result: Assessment
    targets: tuple[Check, ...]
    options: tuple[Option, ...]
    missing: tuple[tuple[Check, str], ...]

    @property
    def unknown(self) -> tuple[tuple[Check, str], ...]:
        """Targets without an estimate, and why."""
        aimed = set(map(id, self.targets))
        return tuple((check, why) for check, why in self.missing if id(check) in aimed)

    def best(self, check: Check) -> Option | None:
        """What helps a check most for each gram; None where nothing is known to help."""
        found = [(effect.per_gram, option) for option in self.options
                 if (effect := option.on(check)) is not None and effect.per_gram > 0.0]  # fmt: skip
        return max(found, key=lambda each: each[0], default=(0.0, None))[1]

    @cached_property
    def first(self) -> tuple[tuple[Option, tuple[Effect, ...]], ...]:
        """What helps some target most for each gram, with its effects on those: the best first."""
        found: dict[int, tuple[Option, list[Effect]]] = {}
        for check in self.targets:
            option = self.best(check)
            if option is not None:
                effect = option.on(check)
                assert effect is not None
                found.setdefault(id(option), (option, []))[1].append(effect)
        rows = [(option, tuple(sorted(effects, key=lambda each: -each.per_gram)))
                for option, effects in found.values()]  # fmt: skip
        return tuple(sorted(rows, key=lambda row: -row[1][0].per_gram))

    @cached_property
    def spare(self) -> tuple[Option, ...]:
        """Where a wall may be one size thinner, the least loss for each gram taken off first.

        Not where something of its own is not met and has no estimate.
        """
        blind = {check.part or check.zone for check, _ in self.unknown if not check.met}
        able = [each for each in self.options
                if each.thinner and each.effects and blind.isdisjoint(each.zones)]  # fmt: skip

        def loss(option: Option) -> tuple[float, float]:
            assert option.thinner is not None
            most = max(each.after(option.thinner) for each in option.effects)
            return option.beyond(option.thinner) / -option.thinner.grams, most

        return tuple(sorted(able, key=loss))

    @property
    def own_slopes(self) -> Mapping[Key, float]:
        """Of each check that is followed, the slope by the thickness of its own wall or bar."""
        return {
            (one.check.topic, one.check.zone, one.check.horizon): one.slope
            for option in self.options
            for one in option.effects
            if (one.check.part or one.check.zone) in option.zones
        }

    def __str__(self) -> str:
        rows = []
        for option, effects in self.first:
            step = option.thicker
            size = "no next size is known" if step is None else (
                f"{step.now:g} to {step.then:g} {step.unit}, {step.grams:+.0f} g")  # fmt: skip
            for one in effects:
                rows.append((
                    ", ".join(option.zones), size,
                    f"{one.check.topic}, {one.check.zone}, {one.check.horizon}",
                    percent_text(one.check.utilisation),
                    "" if step is None else percent_text(one.after(step)),
                ))  # fmt: skip
        head = ("thicker here first", "size", "check", "used of what is allowed", "then, estimated")
        text = text_table(head, rows) if rows else "Nothing is known to help."
        for check, why in self.unknown:
            text += f"\nNot estimated: {check.topic}, {check.zone}, {check.horizon}: {why}"
        return f"{text}\nTo first order only: make the change, and judge the device again."


def advice(
    result: Assessment,
    *,
    stock: Stock | None = None,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Advice:
    """What to change first.

    Args:
        result: the assessment; its structures are used again.
        stock: sheets and plies that exist; None for the shipped list.
        solver: as for `assess`.
        progress: called with a few words as the work goes on.

    Returns:
        Options of all walls and bars, and which of them help most. A check whose sensitivity
        cannot be had is named as missing.

    Example:
        >>> import fea
        >>> child = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> found = fea.advice(fea.assess(bare, child, step=None, fall=None, size=20.0))
        >>> option, effects = found.first[0]
        >>> effects[0].after(option.thicker) < effects[0].check.utilisation
        True
    """
    failed = tuple(each for each in result.checks if not each.met)
    followed = [each for each in result.checks if each.utilisation >= NEAR or each in failed]
    followed = followed or list(result.checks[:1])
    found = gradient(result, followed, solver=solver, progress=progress)
    options = _options(found, read_stock() if stock is None else stock)
    targets = failed or _nearest(result, found)
    return Advice(result, targets, options, found.missing)


def _nearest(result: Assessment, found: Gradients) -> tuple[Check, ...]:
    """The hardest check, and the hardest that has a sensitivity."""
    known = [one.check for one in found.gradients]
    return tuple({id(each): each for each in (*result.checks[:1], *known[:1])}.values())


def _options(found: Gradients, stock: Stock) -> tuple[Option, ...]:
    options = []
    for zones in found.patches:
        grams = 1e3 * sum(found.masses[zone] for zone in zones)
        effects = []
        for one in found.gradients if grams > 0.0 else ():
            slope = sum(found.exponent(one, zone) for zone in zones)
            effects.append(Effect(one.check, slope, -one.check.utilisation * slope / grams))
        thicker, thinner = (
            _step(found.result.device, zones, grams, stock, way) for way in (1, -1)
        )
        options.append(Option(zones, grams, thicker, thinner, tuple(effects)))
    return tuple(options)


def _step(
    device: Device, zones: Sequence[str], grams: float, stock: Stock, way: int
) -> Step | None:
    """The next size up or down that exists for all of some zones; None where none does."""
    parts = [device.walls.get(zone) or device.bars[zone] for zone in zones]
    sizes = [_size(part) for part in parts]
    size, table = sizes[0], stock.of(parts[0].material.kind)
    if size is None or table is None or {part.material.name for part in parts} != {
        parts[0].material.name
    }:
        return None
    if any(each is None or abs(each - size) > _ALIKE * size for each in sizes):
        return None
    then = _next(table, size, way)
    if then is None:
        return None
    unit = "mm" if table.plies is None else "plies"
    times = then / size
    return Step(size, then, unit, times, (times - 1.0) * grams)


def _size(part: Wall | Bar) -> float | None:
    """Sheet before forming or depth of a bar, mm, or number of plies; None where there is none."""
    if isinstance(part, Bar):
        return part.depth
    if part.layers:  # base wall and what is bonded on come in sizes of their own
        return None
    if part.layup is not None:
        alike = len(set(part.layup.thicknesses)) == 1
        return float(len(part.layup.plies)) if alike else None
    if isinstance(part.thickness, float | int):
        return part.thickness / part.thinning
    return None


def _next(table: StockTable, size: float, way: int) -> float | None:
    if table.plies is not None:
        then = size + way * table.plies.step
        return then if table.plies.least <= then <= table.plies.most else None
    others = [each for each in table.thickness_mm if way * (each - size) > _ALIKE * size]
    return min(others, key=lambda each: abs(each - size), default=None)
