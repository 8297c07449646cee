# SPDX-License-Identifier: MIT
"""How much may the wearer weigh? The largest body mass at which every check is met.

Loads grow with body mass; limb and device stay those of the wearer who was judged. So the answer is
about this wearer carrying more or less, and about no other person: a heavier one has another limb,
and a parametric device would be fitted to it anew.

Each trial solves and judges the whole load set again, on the structures of the assessment. Where
every load grows alike, a single trial tells the answer and two more prove it; a plate that is bent
by an angle, not by a force, takes a few more.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fea.assessment import Assessment, find
from fea.check.check import Check, NotChecked, governing
from fea.check.memory import without_memory
from fea.check.purpose import judges_strength
from fea.check.verdict import open_count
from fea.check.wording import factor_texts, percent_text
from fea.errors import GateError, InputError
from fea.judging import Acting
from fea.loadcase.instant import LoadSet

STEP = 0.5
"""kg to which the mass is found."""
LIGHTEST, HEAVIEST = 2.0, 250.0
"""kg between which it is looked for: beyond them no answer helps anybody."""
TRIALS = 8
"""Most masses that are tried beside the wearer's own."""


_NO_LIFE = NotChecked(
    topic="life at another body mass",
    zone="device",
    because="the largest body mass is that of the loads of a day and of the first fall; judge the "
    "service life by itself, for a wearer of that mass",
    horizon="service life",
)


@dataclass(frozen=True)
class Trial:
    """A load set judged at one body mass.

    Attributes:
        mass_kg: body mass.
        checks: governing checks, the worst first;  not_checked: what could not be judged.
        refused: why a solve at this mass gave no number that can be trusted; "" mostly.
    """

    mass_kg: float
    checks: tuple[Check, ...]
    not_checked: tuple[NotChecked, ...]
    refused: str = ""

    @property
    def utilisation(self) -> float:
        """Of the worst check; infinite where a solve was refused."""
        return math.inf if self.refused else self.checks[0].utilisation

    @property
    def met(self) -> bool:
        """Whether every check that could be made is met."""
        return not self.refused and all(check.met for check in self.checks)


@dataclass(frozen=True)
class LargestMass:
    """The largest body mass at which every check of a load set is met.

    Attributes:
        load_set: title of the set.
        own_mass_kg: of the wearer who was judged.
        lower: the heaviest trial at which every check is met; None where none is, however light.
        upper: the lightest trial at which one is not; None where all are met, however heavy.
        trials: every mass that was tried, in that order.
    """

    load_set: str
    own_mass_kg: float
    lower: Trial | None
    upper: Trial | None
    trials: tuple[Trial, ...]

    @property
    def mass_kg(self) -> float | None:
        """The answer, kg; None where no mass is light enough."""
        return None if self.lower is None else self.lower.mass_kg

    @property
    def not_checked(self) -> tuple[NotChecked, ...]:
        """What the answer leaves open."""
        trial = self.lower or self.upper
        return () if trial is None else trial.not_checked

    @property
    def sentence(self) -> str:
        """The answer in plain words, for this load set alone; never that the device holds."""
        under = f"Under this load set only ({self.load_set})"
        count = open_count(self.not_checked)
        things = "1 thing was" if count == 1 else f"{count} things were"
        proof = "not checked, so this is no proof that the device holds"
        open_things = f"; {things} {proof}" if count else ""
        if self.lower is None:
            assert self.upper is not None
            return (
                f"{under}, every check is met at no body mass down to {self.upper.mass_kg:g} kg: "
                f"{_governs(self.upper)}{open_things}."
            )
        reach = f"{under}, every check that was made is met up to a body mass of "
        reach += f"{self.lower.mass_kg:g} kg"
        if self.upper is None:
            limit = f"the heaviest that was tried; there {_governs(self.lower)}"
        else:
            limit = f"at {self.upper.mass_kg:g} kg {_governs(self.upper)}"
        return f"{reach}; {limit}{open_things}."

    def __str__(self) -> str:
        return (
            f"Largest body mass, loads: {self.load_set}\n  {self.sentence}\n"
            f"  The wearer judged weighs {self.own_mass_kg:g} kg; loads grow with body mass, limb "
            "and device stay the wearer's own."
        )


def largest_mass(
    result: Assessment,
    *,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> LargestMass:
    """The largest body mass at which every check of a day and of the first fall is met.

    Args:
        result: the assessment; it is the first trial, and its structures serve the others.
        solver: as for `assess`.
        progress: called with a few words before each trial.

    Returns:
        The mass to `STEP`, with what governs beyond it and what was never checked.

    Raises:
        InputError: strength is not judged, so that no mass can be told.
        SolveError: the equations have no answer that can be trusted.

    Source: derived (bisection, led by the share used, which grows with body mass or stays).

    Example:
        >>> import fea
        >>> child = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> ribbed = fea.read_device("ribbed-polypropylene-child")
        >>> judged = fea.assess(
        ...     ribbed, child, loads="sitting", fall=None, step=None, size=16.0)
        >>> largest_mass(judged).mass_kg > 35.0
        True
    """
    checks = tuple(check for check in result.checks if check.horizon != "service life")
    if not (checks and judges_strength(result.load_set.purpose)):
        raise InputError(
            f"load set '{result.load_set.name}' is not judged for strength, or nothing could be "
            "checked, so no largest body mass can be told; choose another load set, or mend what "
            "was not checked"
        )
    open_things = (*result.not_checked, _NO_LIFE)
    trials = [Trial(result.wearer.mass_kg, checks, open_things)]
    while len(trials) <= TRIALS:
        mass = next_mass(trials)
        if mass is None:
            break
        progress(f"judging at a body mass of {mass:g} kg")
        trials.append(_trial(result, mass, solver))
    lower, upper = bracket(trials)
    return LargestMass(result.load_set.title, result.wearer.mass_kg, lower, upper, tuple(trials))


def bracket(trials: Sequence[Trial]) -> tuple[Trial | None, Trial | None]:
    """The lightest trial that is not met, after the heaviest lighter one that is.

    A device that is met at a mass above one at which it is not does not hold there: the lighter
    failure counts.
    """
    failed = [trial for trial in trials if not trial.met]
    upper = min(failed, key=lambda trial: trial.mass_kg, default=None)
    kept = [t for t in trials if t.met and (upper is None or t.mass_kg < upper.mass_kg)]
    return max(kept, key=lambda trial: trial.mass_kg, default=None), upper


def next_mass(trials: Sequence[Trial]) -> float | None:
    """The mass to try next, kg, a multiple of `STEP`; None where nothing is left to try.

    It is where the worst check of the last trial would just be met if its share grew with body
    mass, kept between the heaviest mass that is met and the lightest that is not.
    """
    lower, upper = bracket(trials)
    least = LIGHTEST if lower is None else STEP * (math.floor(lower.mass_kg / STEP + 1e-9) + 1)
    most = HEAVIEST if upper is None else STEP * (math.ceil(upper.mass_kg / STEP - 1e-9) - 1)
    if most < least:
        return None
    return min(max(STEP * math.floor(_guess(trials) / STEP + 1e-9), least), most)


def _guess(trials: Sequence[Trial]) -> float:
    last = trials[-1]
    if math.isinf(last.utilisation):
        return 0.5 * last.mass_kg
    idle = [t for t in trials[:-1] if math.isclose(t.utilisation, last.utilisation, rel_tol=1e-6)]
    if idle or last.utilisation == 0.0:  # the share does not follow the mass
        return HEAVIEST if last.met else LIGHTEST
    return last.mass_kg / last.utilisation


def _trial(result: Assessment, mass: float, solver: str) -> Trial:
    """The load set of an assessment judged at another body mass."""
    worn, limb, wearer = result.run.worn, result.limb, result.wearer
    def acting(load_set: LoadSet) -> Acting:
        on = Acting.on(load_set, wearer=wearer, limb=limb, device=result.device)
        return on.times(mass / wearer.mass_kg)

    day, rare = acting(result.load_set), result.fall_set
    fall = None if rare is None else acting(rare)
    try:
        found = find(worn, limb, day, result.requirements.factors, fall=fall, solver=solver,
                     large_from_deg=result.run.large_from_deg)  # fmt: skip
    except GateError as error:
        return Trial(mass, (), (), str(error))
    findings = found.findings
    if not result.requirements.allow_memory:
        findings = without_memory(findings, result.device)
    return Trial(mass, *governing((*findings, _NO_LIFE)))


def _governs(trial: Trial) -> str:
    """What governs a trial, in words."""
    if trial.refused:
        return f"no number can be trusted ({trial.refused})"
    worst = trial.checks[0]
    place = "" if worst.place is None else " at ({:.0f}, {:.0f}, {:.0f}) mm".format(*worst.place)
    factor, required = factor_texts(worst.factor, worst.required)
    return (
        f"{worst.topic} of the {worst.zone}{place} is at {percent_text(worst.utilisation)} of what "
        f"is allowed, factor {factor} where {required} is required ({worst.case})"
    )
