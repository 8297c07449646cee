# SPDX-License-Identifier: MIT
"""The chance that a requirement fails, given how body weight, loads, walls and materials scatter.

Each quantity is lognormal about the number that the assessment used. First order: the logarithm of
a factor is linear in those of the quantities, by sensitivities, so the factor is lognormal too.
Body weight, loads and strength enter as plain factors, exactly; walls and moduli are only linear
near the numbers used. The sampling check solves the device again with walls and moduli drawn evenly
over their scatter, and counts the rest of the scatter in closed form (`fea.study.sampling`). Walls
that run into each other where a check governs vary as one, as in `Gradients.patches`.

Nothing but scatter is in these chances: neither the doubts of the model, which the required factor
is for, nor slips. Strength scatters about the number that the check counted on, often a low end.

What has no sensitivity has no chance here: it is named as not estimated, never as safe.

Source: shigley-2011 (interference of lognormal stress and strength).
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.check import Check, Horizon
from fea.check.verdict import grouped
from fea.check.wording import factor_texts
from fea.errors import InputError, SolveError
from fea.study.asking import Asking, NoResponseError
from fea.study.gradient import Gradient, gradient, total_rates
from fea.study.sampling import STIFF, Groups, Sampled, Varied, sample, varied_of
from fea.study.scatter import Scatter, below, read_scatter
from fea.study.thickening import Grow
from fea.tables import text_table

Array = NDArray[np.float64]

FEWEST = 8
"""Samples from which a confidence interval says anything."""
NOT_ESTIMATED = "not estimated"
_SHOWN = 12  # checks in the table


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
        unsampled: why it could not be sampled, where it was to be.
    """

    check: Check
    breaks: float
    misses: float
    deviation: float
    shares: Mapping[str, float]
    sampled: Sampled | None = None
    unsampled: str = ""


@dataclass(frozen=True)
class AnyChance:
    """Least and greatest chance that any of some checks fails.

    The least if they all hang together, the greatest if they exclude each other.

    Attributes:
        breaks: that a factor falls below 1;  misses: below the required one.
        count: of checks.
    """

    breaks: tuple[float, float]
    misses: tuple[float, float]
    count: int


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

    def any_of(self, horizon: Horizon) -> AnyChance | None:
        """The chance that any of these checks of one question fails; None where none is known.

        Questions stay apart: a chance in a first fall is one for the case that it comes. What is
        missing is in none of them.
        """
        own = [one for one in self.chances if one.check.horizon == horizon]
        if not own:
            return None
        breaks, misses = [one.breaks for one in own], [one.misses for one in own]
        return AnyChance(_bounds(breaks), _bounds(misses), len(own))

    def __str__(self) -> str:
        rows = [
            (
                f"{one.check.topic}, {one.check.zone}, {one.check.horizon}",
                " of ".join(factor_texts(one.check.factor, one.check.required)),
                chance_text(one.breaks),
                chance_text(one.misses),
                sampled_text(one),
                most_by(one),
            )
            for one in self.chances[:_SHOWN]
        ]
        head = ("check", "factor of required", "below 1", "below required",
                "below required, sampled (95 %)", "scatters most by")  # fmt: skip
        text = text_table(head, rows) if rows else "No check has a chance that could be computed."
        if more := len(self.chances) - len(rows):
            text += f"\nand {more} less likely"
        if self.missing:
            topics = ", ".join(dict.fromkeys(check.topic for check, _ in self.missing))
            text += f"\n{NOT_ESTIMATED.capitalize()}, {len(self.missing)} checks of: {topics}."
        if gaps := len(grouped(self.result.not_checked)):
            text += f"\n{NOT_ESTIMATED.capitalize()} either: {gaps} that could not be checked."
        return text


def _bounds(chances: Sequence[float]) -> tuple[float, float]:
    return max(chances), min(1.0, math.fsum(chances))


def chance_text(value: float) -> str:
    """A chance as people read it.

    Example:
        >>> chance_text(0.25), chance_text(0.00042), chance_text(1e-9), chance_text(0.998)
        ('25 %', '1 in 2400', 'less than 1 in a million', 'more than 99 %')
    """
    if value > 0.99:
        return "more than 99 %"
    if value >= 0.01:
        return f"{100.0 * value:.2g} %"
    if value < 1e-6:
        return "less than 1 in a million"
    return f"1 in {float(f'{1.0 / value:.2g}'):.0f}"


def sampled_text(one: Chance) -> str:
    """What sampling says of a chance, with its confidence interval."""
    if one.sampled is None:
        return f"not sampled: {one.unsampled}" if one.unsampled else "not sampled"
    low, high = one.sampled.misses_band
    return f"{chance_text(one.sampled.misses)} ({chance_text(low)} to {chance_text(high)})"


def most_by(one: Chance) -> str:
    """The quantity with the greatest share of the variance."""
    return max(one.shares, key=one.shares.__getitem__) if one.deviation > 0.0 else "nothing"


def chance(
    result: Assessment,
    scatter: Scatter | None = None,
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
        scatter: of what it was made from, such as the first of the two that `fea.read_scatter`
            returns for a file of your own; None for the shipped one.
        samples: of the sampling check, 0 for none; each solves one case anew.
        hardest: how many checks are sampled, the likeliest to fail first.
        seed: of the samples, 0 or more.
        solver: as for `assess`.
        progress: called with a few words as the work goes on.

    Returns:
        Chances of the checks that have a sensitivity, see `fea.gradient`; the others are named.

    Raises:
        InputError: too few samples, numbers below 0, or a scatter that is none.

    Example:
        >>> import fea
        >>> child = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> result = fea.assess(bare, child, step=None, fall=None, size=20.0)
        >>> found = fea.chance(result)
        >>> found.scatter == fea.read_scatter()[0]
        True
        >>> all(one.breaks <= one.misses for one in found.chances)
        True
    """
    check_sampling(samples, hardest, seed)
    scatter = read_scatter()[0] if scatter is None else scatter
    if not isinstance(scatter, Scatter):
        raise InputError(f"scatter is a {type(scatter).__name__}; give a fea.Scatter, such as the "
                         "first of the two that fea.read_scatter returns")  # fmt: skip
    asking = Asking(result, solver)
    slopes = gradient(result, solver=solver, asking=asking, progress=progress)
    varied = list(varied_of(result.device, slopes.patches))
    found, missing = [], list(slopes.missing)
    for one in slopes.gradients:
        progress(f"chance of {one.check.topic} of the {one.check.zone}")
        try:
            found.append(_first_order(asking, one, scatter, varied))
        except (NoResponseError, SolveError) as reason:
            missing.append((one.check, str(reason)))
    found.sort(key=lambda one: (-one.misses, -one.check.utilisation))
    left = hardest if samples else 0
    for number, each in enumerate(found):
        if not left:
            break
        try:
            sampled = sample(asking, each.check, scatter, varied, samples, seed, progress)
            found[number] = replace(each, sampled=sampled)
            left -= 1
        except NoResponseError as reason:
            found[number] = replace(each, unsampled=str(reason))
    return Chances(result, scatter, tuple(found), tuple(missing))


def check_sampling(samples: int, hardest: int, seed: int) -> None:
    """Refuse numbers that no sampling can be made of, before the work for one is done.

    Raises:
        InputError: too few samples, or numbers below 0.
    """
    if samples < 0 or 0 < samples < FEWEST:
        raise InputError(f"{samples} samples say nothing; take at least {FEWEST}, or 0 for none")
    if hardest < 1:
        raise InputError(f"{hardest} checks to sample; take at least 1, or 0 samples for none")
    if seed < 0:
        raise InputError(f"seed {seed} is below 0; give a whole number of 0 or more")


def _first_order(
    asking: Asking, gradient: Gradient, scatter: Scatter, varied: Sequence[Varied]
) -> Chance:
    """By the variance of the logarithm of the factor."""
    check = gradient.check
    parts = {
        "body weight": scatter.log("body_weight") ** 2,
        "load": scatter.log("load") ** 2,
        "wall": 0.0,
        "modulus": 0.0,
        "strength": 0.0 if check.topic in STIFF else scatter.log("strength") ** 2,
    }
    for name, grow, groups in varied:
        rates = (gradient.triangles, gradient.lines)
        if name != "wall":
            rates = _rates(asking, check, grow)
        exponents = _exponents(asking, rates, groups)
        parts[name] = scatter.log(name) ** 2 * float(exponents @ exponents)
    variance = math.fsum(parts.values())
    deviation = math.sqrt(variance)
    shares = {name: part / variance if variance else 0.0 for name, part in parts.items()}
    return Chance(
        check, below(1.0, check.factor, deviation),
        below(check.required, check.factor, deviation), deviation, shares,
    )  # fmt: skip


def _rates(asking: Asking, check: Check, grow: Grow) -> tuple[Array, Array]:
    """Relative change of the demand over that of each triangle and line."""
    response = asking.response(check, grow)
    triangles, lines = total_rates(response, asking.thickening(response.solution.system, grow))
    return triangles / response.value, lines / response.value


def _exponents(asking: Asking, rates: tuple[Array, Array], groups: Groups) -> Array:
    """Relative change of the demand over that of each group."""
    mesh, found = asking.result.device.mesh, []
    for group in groups:
        total = 0.0
        for zone in group:
            kind, numbers = mesh.zone(zone)
            total += float(rates[0 if kind == "triangle" else 1][numbers].sum())
        found.append(total)
    return np.array(found)
