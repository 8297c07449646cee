# SPDX-License-Identifier: MIT
"""What the purpose of a load set asks of a device, and what it leaves out.

Sets borrowed from a standard carry its factors of safety in their loads. So the partial factors for
the consequence of failing and for brittleness, which serve the same end, are 1 under them: each
effect once. In a first fall the load is rare and short, and stands for the consequence itself; no
creep, and nothing must break, though it may bend. What is compared with stays the strength that may
be counted on, and the doubts about the model stay.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

from fea.check.check import NotChecked
from fea.check.factors import BREAK, YIELD, Factors, PartialFactor
from fea.loadcase.instant import LoadSet, Purpose
from fea.material.library import Kind
from fea.shipped import shipped_names

CYCLES = "cycles of the load set"
"""Topic of what a borrowed set asks to be outlived."""

_NO_DAILY_LOADS = ("typical-step", "example-", "borrowed-")
_IN_THE_LOAD = "contained in the load, which is above what the wearer puts on the device"
_CONTAINED: Mapping[Purpose | Literal["fall"], tuple[str, ...]] = {
    "proof": ("consequence", "brittleness"),
    "ultimate": ("consequence", "brittleness"),
    "cyclic": ("consequence", "brittleness"),
    "fall": ("consequence", "creep"),
}
"""Partial factors that the loads of a purpose contain. Source: iso-10328 for borrowed sets;
en-1990, accidental situations, for a fall."""


def factors_for(factors: Factors, purpose: Purpose | Literal["fall"]) -> Factors:
    """The partial factors under loads of a purpose.

    Args:
        factors: as for a load set that a verdict rests on.
        purpose: of the load set, or "fall" for the first fall.

    Returns:
        The same for "verdict" and "step". For the others, what their loads contain is 1: under
        "proof", "ultimate" and "cyclic" the factors for consequence and brittleness, in a fall
        those for consequence and creep. For "ultimate" and a fall, walls and bars of one material
        are held against the strength at which they break.

    Example:
        >>> from fea.check.factors import read_factors
        >>> proof = factors_for(read_factors(), "proof")
        >>> proof.required("metal").words, proof.topic
        ('required factor: model 1.15', 'yield')
    """
    if purpose not in _CONTAINED:
        return factors
    table: dict[str, Mapping[Kind, PartialFactor]] = dict(factors.table)
    for effect in _CONTAINED[purpose]:
        rows = {kind: _in_the_load(part) for kind, part in factors.table[effect].items()}
        table[effect] = MappingProxyType(rows)
    against = YIELD if purpose in ("proof", "cyclic") else BREAK
    return replace(factors, table=MappingProxyType(table), against=against)


def judges_strength(purpose: Purpose) -> bool:
    """Whether a set of this purpose says something of one load, not of many.

    Example:
        >>> judges_strength("proof"), judges_strength("cyclic")
        (True, False)
    """
    return purpose != "cyclic"


def is_of_a_day(purpose: Purpose) -> bool:
    """Whether a set holds loads that a wearer puts on the device, not those of a test.

    Example:
        >>> is_of_a_day("verdict"), is_of_a_day("proof")
        (True, False)
    """
    return purpose in ("verdict", "step")


def purpose_words(load_set: LoadSet) -> tuple[str, ...]:
    """How a device is judged under a borrowed set; nothing for a set that a verdict rests on."""
    match load_set.purpose:
        case "proof":
            first = "Proof load: nothing may yield, and no ply may fail."
        case "ultimate":
            first = (
                "Ultimate load: nothing may break. Stress is computed as if the material stayed "
                "elastic and is held against its tensile strength, or against 1.5 times its yield "
                "strength where that is less, since a section in bending folds there; for a "
                "laminate the first ply that fails counts as a break."
            )
        case "cyclic":
            first = (
                f"Cyclic load: {load_set.cycles:.0f} cycles must be outlived at each place where "
                "the set pushes, between its least and its full force. Its cases are judged "
                "neither for strength nor for buckling."
            )
        case _:
            return ()
    return (
        f"{first} The factors for the consequence of failing and for brittleness are 1: the "
        "borrowed load contains them. "
        "This is a calculation under a borrowed load, no test to a standard.",
    )


def fall_words(fall_set: LoadSet | None) -> tuple[str, ...]:
    """How a device is judged in a first fall; nothing where it is not.

    Example:
        >>> fall_words(None)
        ()
    """
    if fall_set is None:
        return ()
    return (
        f"First fall ({fall_set.title}): a rare, short load. The device may bend but must not "
        "break: stress, computed as if the material stayed elastic, is held against the tensile "
        "strength, or 1.5 times the yield strength where that is less. The load stands for its "
        "consequence, and nothing creeps in so short a time.",
    )


def purpose_gaps(load_set: LoadSet, fall_set: LoadSet | None = None) -> list[NotChecked]:
    """What a set of this purpose asks for and nobody has judged, beside a first fall."""
    judged = [each.name for each in (load_set, fall_set) if each is not None]
    others = _others(load_set, judged)
    return [*_changed(load_set), *_doubted(load_set), *_unjudged(load_set), *others]


def _doubted(load_set: LoadSet) -> list[NotChecked]:
    """A measured gait whose own curves cannot be right for a walk without an aid."""
    doubts = () if load_set.measured_on is None else load_set.measured_on.doubts
    return [NotChecked(topic="measured gait", zone="device", because=doubt) for doubt in doubts]


def _others(load_set: LoadSet, judged: Sequence[str]) -> list[NotChecked]:
    """Loads of every day that the judged sets do not hold."""
    names = [
        name
        for name in shipped_names("loadcases")
        if name not in judged and not name.startswith(_NO_DAILY_LOADS)
    ]
    because = (
        f"judged under '{load_set.name}' only; {', '.join(names)} may load the device harder: "
        "judge it under each that this wearer will meet (--cases NAME)"
    )
    return [NotChecked(topic="other loads", zone="device", because=because)]


def _changed(load_set: LoadSet) -> list[NotChecked]:
    if not load_set.changes:
        return []
    because = (
        f"load set '{load_set.name}' was changed by hand ({'; '.join(load_set.changes)}), so what "
        "is said here holds for the changed loads; judge the set as it was, too"
    )
    return [NotChecked(topic="changed loads", zone="device", because=because)]


def _unjudged(load_set: LoadSet) -> list[NotChecked]:
    if load_set.purpose == "ultimate":
        because = (
            "loads differ for material that breaks with and without yielding; the title of load "
            f"set '{load_set.name}' says for which it stands, and whether the device is made of it "
            "was not looked at"
        )
        return [NotChecked(topic="manner of breaking", zone="device", because=because)]
    if load_set.purpose == "step":
        because = (
            f"load set '{load_set.name}' is one step without scatter: some of the many steps of a "
            "day load the device harder; judge on an envelope, or on measured gait whose header "
            "gives the scatter"
        )
        return [NotChecked(topic="scatter of steps", zone="device", because=because)]
    return []


def _in_the_load(part: PartialFactor) -> PartialFactor:
    return replace(part, value=1.0, applies="elsewhere", note=_IN_THE_LOAD)
