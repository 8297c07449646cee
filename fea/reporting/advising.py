# SPDX-License-Identifier: MIT
"""What to change first, for people and programs: lines, table, summary."""

from collections.abc import Sequence

from pydantic import Field

from fea.check.check import Check, Horizon
from fea.check.verdict import WHEN
from fea.check.wording import percent_text
from fea.inputfile import Schema
from fea.reporting.evidence import Part
from fea.reporting.table import Table, table
from fea.reporting.words import listed, plain
from fea.study.advice import NEAR, Advice, Effect, Option, Step

TITLE = "What to change first"
NBSP = "\N{NO-BREAK SPACE}"
FELT = 0.01  # share of what is allowed; smaller changes are not told
FEW = 3  # checks told in one cell
HOW = (
    "Estimated, and to first order: each check’s sensitivity to the thickness of each wall, exact "
    "for small changes while the same place governs. A step of a sheet or of plies is not small: "
    "another place or another case may govern after it. So make the change, and judge the device "
    "again (“stanchion check”, or “stanchion compare” for before and after) before it is worn. "
    "Walls that run into each other where a check governs are taken as one and grow together: one "
    "of them alone would make a step in the wall there, which is not estimated.")


class EffectSummary(Schema):
    """How one check answers to one option."""

    horizon: Horizon
    topic: str
    zone: str
    utilisation: float = Field(description="as judged")
    slope: float = Field(
        description="relative change of the demand over that of the thickness, for small changes"
    )
    freed_per_gram: float = Field(
        description="utilisation that each gram added frees, for small changes; below 0 it hurts"
    )
    utilisation_thicker: float | None = Field(description="after `thicker`, estimated")
    utilisation_thinner: float | None = Field(description="after `thinner`, estimated")


class StepSummary(Schema):
    """The next size that exists."""

    now: float = Field(description="in `unit`; mm of the sheet before forming")
    then: float
    unit: str = Field(description="mm or plies")
    added_g: float = Field(description="mass; below 0 where taken off")


class OptionSummary(Schema):
    """Walls or a bar that may be made thicker or thinner; walls named together grow together."""

    zones: tuple[str, ...]
    mass_g: float
    thicker: StepSummary | None = Field(description="null where no next size is known")
    thinner: StepSummary | None
    helps_most: tuple[tuple[str, str, Horizon], ...] = Field(
        description="topic, zone and horizon of the checks of `for_checks` that nothing else helps "
        "more for each gram"
    )
    effects: tuple[EffectSummary, ...] = Field(
        description="on every check that is followed and has an estimate"
    )


class NoEstimateSummary(Schema):
    """A check that is followed and has no estimate."""

    horizon: Horizon
    topic: str
    zone: str
    utilisation: float
    because: str


class AdviceSummary(Schema):
    """What to change first; every number is estimated to first order and is to be judged again."""

    for_checks: tuple[tuple[str, str, Horizon], ...] = Field(
        description="topic, zone and horizon of the governing checks that are not met; where all "
        "are met, of the hardest, and of the hardest that has an estimate"
    )
    followed_from: float = Field(description="utilisation from which a check is followed")
    options: tuple[OptionSummary, ...] = Field(
        description="every wall and bar, those that help most for each gram first"
    )
    no_estimate: tuple[NoEstimateSummary, ...]


def summarise_advice(found: Advice) -> AdviceSummary:
    """The advice for programs."""
    first = {id(option): effects for option, effects in found.first}
    order = [*(option for option, _ in found.first),
             *(each for each in found.options if id(each) not in first)]  # fmt: skip
    return AdviceSummary(
        for_checks=tuple(map(_key, found.targets)),
        followed_from=NEAR,
        options=tuple(_option(each, first.get(id(each), ())) for each in order),
        no_estimate=tuple(
            NoEstimateSummary(horizon=check.horizon, topic=check.topic, zone=check.zone,
                              utilisation=check.utilisation, because=why)
            for check, why in found.missing
        ),
    )  # fmt: skip


def _key(check: Check) -> tuple[str, str, Horizon]:
    return check.topic, check.zone, check.horizon


def _option(option: Option, helped: Sequence[Effect]) -> OptionSummary:
    def effect(one: Effect) -> EffectSummary:
        after = [None if step is None else one.after(step)
                 for step in (option.thicker, option.thinner)]  # fmt: skip
        return EffectSummary(
            horizon=one.check.horizon, topic=one.check.topic, zone=one.check.zone,
            utilisation=one.check.utilisation, slope=one.slope, freed_per_gram=one.per_gram,
            utilisation_thicker=after[0], utilisation_thinner=after[1],
        )

    return OptionSummary(
        zones=option.zones, mass_g=option.grams, thicker=_step(option.thicker),
        thinner=_step(option.thinner), helps_most=tuple(_key(one.check) for one in helped),
        effects=tuple(map(effect, option.effects)),
    )  # fmt: skip


def _step(step: Step | None) -> StepSummary | None:
    if step is None:
        return None
    return StepSummary(now=step.now, then=step.then, unit=step.unit, added_g=step.grams)


def advice_part(found: Advice) -> Part:
    """The section of the page."""
    lines = [HOW, *_unknown_words(found), *_thin_words(found), _followed_words(found)]
    return Part(TITLE, tuple(lines), tables=(advice_table(found),) if found.first else ())


def advice_table(found: Advice) -> Table:
    """What helps most for each gram, the best first."""
    rows = [
        (listed([plain(zone) for zone in option.zones]), step_words(option.thicker),
         "–" if option.thicker is None else f"{option.thicker.grams:.0f}{NBSP}g",
         f"{100.0 * effects[0].per_gram:.2f} % points",
         _effects_words(effects, option.thicker), _others_words(option, effects))
        for option, effects in found.first
    ]
    aim = ("the requirements that are not met" if not all(c.met for c in found.targets)
           else "what is nearest to its limit, for all that was judged is met")
    return table(f"What helps {aim}, the most for each gram first. Shares are of what is allowed, "
                 "now and about then.",
                 ["thicker", "next size", ">adds", ">frees per gram",
                  "nothing helps these more", "and it changes"], rows)


def step_words(step: Step | None) -> str:
    """A step in words.

    Example:
        >>> step_words(Step(6.0, 8.0, "mm", 8 / 6, 18.0)).split(), step_words(None)
        (['6', '→', '8', 'mm'], 'no size known')
    """
    if step is None:
        return "no size known"
    return f"{step.now:g} → {step.then:g} {step.unit}".replace(" ", NBSP)


def check_words(check: Check) -> str:
    """A check in a few words."""
    when = f" {WHEN[check.horizon]}" if check.horizon == "first fall" else ""
    return f"{check.topic} of the {plain(check.zone)}{when}"


def _effect_words(one: Effect, step: Step | None) -> str:
    check, now = one.check, percent_text(one.check.utilisation)
    fall = ", fall" if check.horizon == "first fall" else ""
    shares = f"now {now}"
    if step is not None:
        shares = f"{now.removesuffix(' %')} → {100.0 * one.after(step):.0f} %"
    return f"{check.topic} of {plain(check.zone)}{fall}: {shares.replace(' ', NBSP)}"


def _effects_words(effects: Sequence[Effect], step: Step | None) -> str:
    words = [_effect_words(one, step) for one in effects[:FEW]]
    more = len(effects) - len(words)
    return "; ".join(words) + (f"; and {more} more" if more else "")


def _others_words(option: Option, helped: Sequence[Effect]) -> str:
    """What else a step does: first what it makes worse, then what else that is not met it helps."""
    step = option.thicker
    if step is None:
        return "not estimated"
    told = set(map(id, helped))
    rest = [(one.after(step) - one.check.utilisation, one) for one in option.effects
            if id(one) not in told]  # fmt: skip
    worse = sorted((each for each in rest if each[0] >= FELT), key=lambda each: -each[0])
    better = sorted((each for each in rest if each[0] <= -FELT and not each[1].check.met),
                    key=lambda each: each[0])  # fmt: skip
    words = []
    if worse:
        words.append("worse: " + _effects_words([one for _, one in worse], step))
    if better:
        words.append("better: " + _effects_words([one for _, one in better], step))
    return ". ".join(words) or "little else that has an estimate"


def _unknown_words(found: Advice) -> list[str]:
    """Requirements that are not met, or the nearest, without help or estimate."""
    lines = []
    whys: dict[str, list[Check]] = {}
    for check, why in found.unknown:
        whys.setdefault(why, []).append(check)
    for why, checks in whys.items():
        names = [f"{check_words(one)} ({percent_text(one.utilisation)})" for one in checks[:FEW]]
        if more := len(checks) - len(names):
            names.append(f"{more} more")
        lines.append(f"No estimate for {listed(names)}: {why}.")
    idle = [one for one in found.targets if found.best(one) is None
            and all(one is not check for check, _ in found.unknown)]  # fmt: skip
    if idle:
        whom = listed([check_words(one) for one in idle])
        lines.append(f"No wall or bar is known to help {whom} by getting thicker: change the "
                     "shape or the material.")
    return lines


def _thin_words(found: Advice) -> list[str]:
    """Where a wall may be thinner for the least loss."""
    if not found.spare:
        return []
    option = found.spare[0]
    step = option.thinner
    assert step is not None
    loses = [one for one in option.effects if one.after(step) - one.check.utilisation >= FELT]
    loses.sort(key=lambda one: one.check.utilisation - one.after(step))
    beyond = [one for one in loses if one.after(step) > 1.0]
    if beyond:
        told = ("although that takes beyond what is allowed, or further beyond it: "
                + _effects_words(beyond, step))
    elif loses:
        told = f"which every check with an estimate bears: {_effects_words(loses, step)}"
    else:
        told = "and no check with an estimate gets worse by as much as 1 % point"
    name = listed([plain(zone) for zone in option.zones])
    return [f"Material comes off for the least loss at the {name}: {step_words(step)}, "
            f"{-step.grams:.0f} g less, {told}."]


def _followed_words(found: Advice) -> str:
    """What none of the estimates speaks of."""
    topics = sorted({check.topic for check, _ in found.missing})
    without = f", and of these {listed(topics)} without an estimate" if topics else ""
    return (f"Followed are the checks that use {percent_text(NEAR)} of what is allowed or more"
            f"{without}. No change here is known to be harmless to the others.")
