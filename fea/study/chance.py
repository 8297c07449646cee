# SPDX-License-Identifier: MIT
"""The chance that a requirement fails, given how body weight, loads, walls and materials scatter.

Each quantity is lognormal about the number that the assessment used. First order: the logarithm of
a factor is linear in those of the quantities, by sensitivities, so the factor is lognormal too.
Body weight, loads and strength enter as plain factors, exactly; walls and moduli are only linear
near the numbers used. The sampling check solves the device again with walls and moduli drawn evenly
over their scatter (Latin hypercube), and counts the rest of the scatter in closed form.

Nothing but scatter is in these chances: neither the doubts of the model, which the required factor
is for, nor slips. Strength scatters about the number that the check counted on, often a low end.

Source: shigley-2011 (interference of lognormal stress and strength), mckay-1979 (Latin hypercube).
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc, t

from fea.assessment import Assessment
from fea.check.check import BUCKLING, Check
from fea.check.judgement import judge
from fea.check.stiffness import TOPIC as ROTATION
from fea.device.device import Device
from fea.errors import InputError, StanchionError
from fea.solver.solution import Solution
from fea.structure.sections import Section
from fea.study.asking import Asking, NoResponseError
from fea.study.gradient import total_rates
from fea.study.thickening import Grow, stiffened, thickened
from fea.tables import text_table

Array = NDArray[np.float64]

CONFIDENCE = 0.95
FEWEST = 8
"""Samples from which a confidence interval says anything."""
_SHOWN = 12  # checks in the table
_STIFF = (ROTATION, BUCKLING)  # topics in which strength takes no part


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """Coefficients of variation: standard deviation over mean.

    Attributes:
        body_weight: of the wearer, as between visits.
        load: of the loads, as between steps.
        wall: of each wall and bar by itself, after forming.
        modulus: of each material by itself.
        strength: of each material.

    Raises:
        InputError: a number that is not finite, below 0, or above 1, which no factor stands for.
    """

    body_weight: float
    load: float
    wall: float
    modulus: float
    strength: float

    def __post_init__(self) -> None:
        for entry in fields(self):
            value = getattr(self, entry.name)
            if not (math.isfinite(value) and 0.0 <= value <= 1.0):
                raise InputError(
                    f"scatter of {entry.name} is {value}; give standard deviation over mean, "
                    "between 0 and 1, as in 0.1"
                )

    def log(self, name: str) -> float:
        """Standard deviation of the logarithm of a quantity."""
        return math.sqrt(math.log1p(getattr(self, name) ** 2))


@dataclass(frozen=True)
class Sampled:
    """What sampling says of the chance that a check's factor falls below 1 and below the required.

    Attributes:
        breaks, misses: chances.
        breaks_band, misses_band: confidence intervals of 95 %.
        count: samples.
    """

    breaks: float
    misses: float
    breaks_band: tuple[float, float]
    misses_band: tuple[float, float]
    count: int


@dataclass(frozen=True, eq=False)
class Chance:
    """The chance that one check fails.

    Attributes:
        check: of the assessment.
        breaks: chance that capacity falls below demand, to first order.
        misses: chance that the factor falls below the required one, to first order.
        deviation: of the logarithm of the factor.
        shares: quantity to its share of the variance.
        sampled: the sampling check; None where it was not asked for.
    """

    check: Check
    breaks: float
    misses: float
    deviation: float
    shares: Mapping[str, float]
    sampled: Sampled | None = None


@dataclass(frozen=True, eq=False)
class Chances:
    """Chances of failure of an assessment.

    Attributes:
        result, scatter: what they are of.
        chances: the likeliest to miss what is required first.
        missing: other checks, and why they have none; their chance is not known, not nil.
    """

    result: Assessment
    scatter: Scatter
    chances: tuple[Chance, ...]
    missing: tuple[tuple[Check, str], ...]

    @property
    def any_breaks(self) -> tuple[float, float]:
        """Least and greatest chance that any of these checks' factors falls below 1.

        The least if they all hang together, the greatest if they exclude each other.
        """
        every = [one.breaks for one in self.chances]
        return max(every, default=0.0), min(1.0, math.fsum(every))

    def __str__(self) -> str:
        rows = [
            (
                f"{one.check.topic}, {one.check.zone}, {one.check.horizon}",
                f"{one.check.factor:.2f} of {one.check.required:.2f}",
                chance_text(one.breaks),
                chance_text(one.misses),
                "-" if one.sampled is None else _band_text(one.sampled),
                max(one.shares, key=one.shares.__getitem__),
            )
            for one in self.chances[:_SHOWN]
        ]
        head = ("check", "factor of required", "below 1", "below required",
                "below required, sampled", "scatters most by")  # fmt: skip
        text = text_table(head, rows) if rows else "No check has a chance that could be computed."
        if self.missing:
            topics = ", ".join(dict.fromkeys(check.topic for check, _ in self.missing))
            text += f"\nNot known, {len(self.missing)} checks of: {topics}."
        return text


def chance_text(value: float) -> str:
    """A chance as people read it.

    Example:
        >>> chance_text(0.25), chance_text(0.00042), chance_text(1e-9)
        ('25 %', '1 in 2400', 'less than 1 in a million')
    """
    if value >= 0.01:
        return f"{100.0 * value:.2g} %"
    if value < 1e-6:
        return "less than 1 in a million"
    return f"1 in {float(f'{1.0 / value:.2g}'):.0f}"


def _band_text(sampled: Sampled) -> str:
    low, high = sampled.misses_band
    return f"{100.0 * sampled.misses:.2g} % ({100.0 * low:.2g} to {100.0 * high:.2g} %)"


def below(limit: float, factor: float, deviation: float) -> float:
    """Chance that a lognormal factor is below a limit.

    Args:
        limit: above 0.
        factor: its median, above 0.
        deviation: standard deviation of its logarithm; 0 leaves no scatter.

    Source: shigley-2011.

    Example:
        >>> round(below(1.0, 1.2, 0.1), 4)      # normal: ln 1.2 / 0.1 = 1.823 deviations
        0.0341
    """
    if not deviation > 0.0:
        return float(factor < limit)
    return float(norm.cdf((math.log(limit) - math.log(factor)) / deviation))


def chance(
    result: Assessment,
    scatter: Scatter,
    *,
    samples: int = 0,
    hardest: int = 3,
    seed: int = 1,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Chances:
    """The chance that each check fails.

    Args:
        result: the assessment.
        scatter: of what it was made from.
        samples: of the sampling check, 0 for none; each solves one case anew.
        hardest: how many checks are sampled, the likeliest to fail first.
        seed: of the samples.
        solver: as for `assess`.
        progress: called with a few words as the work goes on.

    Returns:
        Chances of the checks that have a sensitivity, see `fea.gradient`; the others are named.

    Raises:
        InputError: too few samples.
        SolveError: the equations have no answer that can be trusted.

    Example:
        >>> import fea
        >>> child = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> result = fea.assess(bare, child, step=None, fall=None, size=20.0)
        >>> some = Scatter(body_weight=0.05, load=0.1, wall=0.1, modulus=0.1, strength=0.05)
        >>> found = chance(result, some)
        >>> all(one.breaks <= one.misses for one in found.chances)
        True
    """
    if 0 < samples < FEWEST:
        raise InputError(f"{samples} samples say nothing; take at least {FEWEST}, or 0 for none")
    asking, found, missing = Asking(result, solver), [], []
    for check in result.checks:
        progress(f"chance of {check.topic} of the {check.zone}")
        try:
            found.append(_first_order(asking, check, scatter))
        except NoResponseError as reason:
            missing.append((check, str(reason)))
    found.sort(key=lambda one: (-one.misses, -one.check.utilisation))
    if samples:
        for number, one in enumerate(found[:hardest]):
            try:
                sampled = _sample(asking, one.check, scatter, samples, seed, progress)
                found[number] = replace(one, sampled=sampled)
            except NoResponseError as reason:
                missing.append((one.check, f"not sampled: {reason}"))
    return Chances(result, scatter, tuple(found), tuple(missing))


def _first_order(asking: Asking, check: Check, scatter: Scatter) -> Chance:
    """By the variance of the logarithm of the factor."""
    parts = {
        "body weight": scatter.log("body_weight") ** 2,
        "load": scatter.log("load") ** 2,
        "wall": 0.0,
        "modulus": 0.0,
        "strength": 0.0 if check.topic in _STIFF else scatter.log("strength") ** 2,
    }
    for name, grow, groups in _varied(asking.result.device):
        exponents = _exponents(asking, check, grow, groups)
        parts[name] = scatter.log(name) ** 2 * float(exponents @ exponents)
    variance = math.fsum(parts.values())
    deviation = math.sqrt(variance)
    shares = {name: part / variance if variance else 0.0 for name, part in parts.items()}
    return Chance(
        check, below(1.0, check.factor, deviation),
        below(check.required, check.factor, deviation), deviation, shares,
    )  # fmt: skip


Groups = Sequence[tuple[str, ...]]
"""Zones that vary as one."""


def _varied(device: Device) -> Iterator[tuple[str, Grow, Groups]]:
    """What is varied by solving anew: each wall by itself, each material by itself."""
    zones = (*device.walls, *device.bars)
    yield "wall", thickened, [(zone,) for zone in zones]
    materials: dict[str, list[str]] = {}
    for zone in zones:
        part = device.walls.get(zone) or device.bars[zone]
        materials.setdefault(part.material.name, []).append(zone)
    yield "modulus", stiffened, [tuple(group) for group in materials.values()]


def _exponents(asking: Asking, check: Check, grow: Grow, groups: Groups) -> Array:
    """Relative change of the demand over that of each group."""
    response = asking.response(check, grow)
    thickening = asking.thickening(response.solution.system, grow)
    triangles, lines = total_rates(response, thickening)
    mesh, found = asking.result.device.mesh, []
    for group in groups:
        rate = 0.0
        for zone in group:
            kind, numbers = mesh.zone(zone)
            rate += float((triangles if kind == "triangle" else lines)[numbers].sum())
        found.append(rate / response.value)
    return np.array(found)


def _sample(
    asking: Asking, check: Check, scatter: Scatter, count: int, seed: int,
    progress: Callable[[str], None],
) -> Sampled:
    """Solve the case of a check anew for walls and moduli that scatter."""
    if check.topic == BUCKLING:
        raise NoResponseError("only its first order is known")
    device, solution = asking.result.device, asking.response(check).solution
    varied = list(_varied(device))
    size = sum(len(groups) for _, _, groups in varied)
    drawn = norm.ppf(qmc.LatinHypercube(size, rng=np.random.default_rng(seed)).random(count))
    rest = math.sqrt(
        scatter.log("body_weight") ** 2 + scatter.log("load") ** 2
        + (0.0 if check.topic in _STIFF else scatter.log("strength") ** 2)
    )  # fmt: skip
    breaks, misses = np.empty(count), np.empty(count)
    for number, row in enumerate(drawn):
        progress(f"sample {number + 1} of {count}: {check.topic} of the {check.zone}")
        times = _times(varied, scatter, row)
        demand = _demand(asking, check, solution, times)
        factor = check.capacity / demand
        breaks[number] = below(1.0, factor, rest)
        misses[number] = below(check.required, factor, rest)
    return Sampled(
        float(breaks.mean()), float(misses.mean()), _band(breaks), _band(misses), count
    )


Times = Mapping[str, list[tuple[Grow, float]]]
"""Zone to what grows of it, and by how much."""


def _times(
    varied: Sequence[tuple[str, Grow, Groups]], scatter: Scatter, row: Array
) -> Times:
    found: dict[str, list[tuple[Grow, float]]] = {}
    column = 0
    for name, grow, groups in varied:
        for group in groups:
            times = math.exp(scatter.log(name) * float(row[column]))
            column += 1
            for zone in group:
                found.setdefault(zone, []).append((grow, times))
    return found


def _demand(asking: Asking, check: Check, solution: Solution, times: Times) -> float:
    """The demand of a check with other walls and moduli."""
    sections: dict[str, Section] = {}
    device = asking.result.device
    for zone, steps in times.items():
        section = solution.system.structure.sections[zone]
        for grow, by in steps:
            section = grow(section, by)
            if grow is thickened and zone in device.bars:
                bar = device.bars[zone]
                deeper = replace(bar, depth=by * bar.depth)
                device = replace(device, bars={**device.bars, zone: deeper})
        sections[zone] = section
    try:
        again = asking.solved_with(check, sections)
    except StanchionError as error:
        raise NoResponseError(f"a sample could not be solved: {error}") from None
    if check.topic == ROTATION:
        return asking.rotation(again)
    asked = [
        one.demand
        for one in judge(device, {check.case: again}, asking.factors(check)).findings
        if isinstance(one, Check) and (one.topic, one.zone) == (check.topic, check.zone)
    ]
    if not asked:
        raise NoResponseError("it is not checked for some samples")
    return max(asked)


def _band(values: Array) -> tuple[float, float]:
    """Confidence interval of a mean of chances; draws that are spread evenly only make it wide."""
    count = len(values)
    half = float(t.ppf(0.5 + 0.5 * CONFIDENCE, count - 1) * values.std(ddof=1) / math.sqrt(count))
    return max(0.0, float(values.mean()) - half), min(1.0, float(values.mean()) + half)
