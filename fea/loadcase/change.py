# SPDX-License-Identifier: MIT
"""One number of a load set changed by hand: what it is called, and what it may become.

A change names a number, in every case that has it or in one case, and its new value or a factor:

    fz_bw = 1.5                                      every case
    end of the plate, flat, driving.cop = 0.9        one case; quotes round its name are allowed
    fx_bw* = 1.2                                     1.2 times what it was
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from types import MappingProxyType

from fea.errors import LoadError

Value = float | str


@dataclass(frozen=True)
class Range:
    """From the lowest to the highest value that a number may have, and why no further.

    Attributes:
        low, high: both allowed, but for `above`, which leaves the lowest out.
        why: in words, for whoever gave another value.

    Example:
        >>> Range(0.0, 6.0, "the ground only presses", above=True).allows(0.0)
        False
        >>> str(Range(-1.0, 1.0, "a sole slips sooner"))
        'from -1 to 1: a sole slips sooner'
    """

    low: float
    high: float
    why: str
    above: bool = False

    def allows(self, value: float) -> bool:
        """Whether a number lies in the range; no number that is not finite does."""
        return self.low <= value <= self.high and not (self.above and value == self.low)

    def __str__(self) -> str:
        first = "above" if self.above else "from"
        to = "and up to" if self.above else "to"
        return f"{first} {self.low:g} {to} {self.high:g}: {self.why}"


_FOOT = "0 is the heel's edge and 1 the tip of the toes, in foot lengths"
RANGES: Mapping[str, Range] = MappingProxyType({
    "fz_bw": Range(0.0, 6.0, "in body weights; the ground only presses, and landing on one leg "
                   "stays below", above=True),
    "fx_bw": Range(-1.0, 1.0, "in body weights; walking gives some 0.3, and a sole slips sooner"),
    "fy_bw": Range(-0.6, 0.6, "in body weights; walking gives some 0.1, and a sharp turn 0.3"),
    "cop": Range(-0.1, 1.2, f"{_FOOT}, and no sole reaches much further"),
    "moment_nm_per_kg": Range(-2.0, 5.0, "walking gives some 1.6, and running 3"),
    "pitch_deg": Range(-30.0, 75.0, "toes up is negative; a heel strikes with the toes up by some "
                       "20 degrees, and a foot leaves the floor heel-up by some 60"),
    "cop_medial_mm": Range(-60.0, 60.0, "no sole is wider"),
    "patch_half_length": Range(0.0, 0.3, "a longer patch is the whole foot", above=True),
    "shank_angle_deg": Range(-40.0, 60.0, "no shank that bears weight leans further from upright"),
    "free_moment_nm_per_kg": Range(-2.0, 2.0, "a sole turns on the floor sooner"),
    "angle_deg": Range(0.0, 60.0, "toes bend no further", above=True),
    "held_to": Range(0.1, 1.2, _FOOT),
    "turned_from": Range(0.1, 1.2, _FOOT),
})
"""What a file may give, and a change may make. Source: practice; published gait lies well inside
(schwartz-2008), and so do the loads borrowed from standards."""

_PUSHED = "in body weights; no push on a device while it is worn is harder"
PUSH_RANGES: Mapping[str, Range] = MappingProxyType({
    **RANGES, **{name: Range(-3.0, 3.0, _PUSHED) for name in ("fx_bw", "fy_bw", "fz_bw")},
})
"""The same of a push on the device, which no ground makes. Source: assumed."""

WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "cop": ("heel-edge", "plate-end", "unload-knee"),
    "shank_angle_deg": ("device",),
    "beyond_plate": ("refuse", "plate-end"),
})
"""Words that stand where a number could."""

EXCLUDES = MappingProxyType({"cop": "moment_nm_per_kg", "moment_nm_per_kg": "cop"})
"""Numbers of which a case gives one or the other."""


@dataclass(frozen=True)
class Change:
    """A change as it was asked for.

    Attributes:
        key: name of the number;  case: name of the case, None for every case that has it.
        times: whether the old value is multiplied.
        value: the new one, or the factor.
    """

    key: str
    case: str | None
    times: bool
    value: Value

    @classmethod
    def of(cls, name: str, value: Value) -> "Change":
        """From the left and the right of ``name = value``.

        Example:
            >>> Change.of('"toes, bent".angle_deg*', 1.2)
            Change(key='angle_deg', case='toes, bent', times=True, value=1.2)
        """
        left = name.strip()
        case, _, key = left.removesuffix("*").strip().rpartition(".")
        return cls(key.strip(), case.strip(" \"'") or None, left.endswith("*"), value)

    def __str__(self) -> str:
        where = "in every case" if self.case is None else f"in '{self.case}'"
        how = "times" if self.times else "="
        value = f"{self.value:g}" if isinstance(self.value, float) else self.value
        return f"{self.key} {how} {value} {where}"

    def applies_to(self, case: object) -> bool:
        """Whether a case has the number, and something to multiply where it is multiplied."""
        known = hasattr(case, self.key)
        return known and not (self.times and getattr(case, self.key) is None)

    def new_value(self, case: str, old: object, ranges: Mapping[str, Range] = RANGES) -> Value:
        """What the number becomes in one case, whose numbers lie in ``ranges``.

        Raises:
            LoadError: it is out of range, or not to be multiplied.
        """
        where = f"'{self.key}' of '{case}'"
        value = self.value
        if isinstance(value, str):
            known = WORDS.get(self.key, ())
            if value not in known or self.times:
                allowed = f"a number, or one of {', '.join(known)}" if known else "a number"
                raise LoadError(f"{where} cannot be '{value}'; give {allowed}")
            return value
        if self.key not in RANGES:
            raise LoadError(f"{where} is no number; use one of {', '.join(WORDS[self.key])}")
        if self.times:
            if not isinstance(old, (int, float)):
                raise LoadError(f"{where} is '{old}', which cannot be multiplied; set it")
            value *= old
        if not ranges[self.key].allows(value):
            raise LoadError(f"{where} would be {value:g}; it must lie {ranges[self.key]}")
        return float(value)


def parse_changes(texts: Sequence[str]) -> dict[str, Value]:
    """Changes written as ``name=value`` or ``name*=factor``, as `LoadSet.changed` takes them.

    Raises:
        LoadError: a text that is no such thing, or the same name twice.

    Example:
        >>> parse_changes(["fz_bw=1.5", "push-off.cop=plate-end", "fx_bw*=1.2"])
        {'fz_bw': 1.5, 'push-off.cop': 'plate-end', 'fx_bw*': 1.2}
    """
    found: dict[str, Value] = {}
    for text in texts:
        name, sign, value = (part.strip() for part in text.rpartition("="))
        if not (name and sign and value):
            raise LoadError(
                f"'{text}' changes no load; write NAME=VALUE, as in fz_bw=1.5, or with the name "
                "of a case before it, as in 'heel strike, toes up.fz_bw=1.5', or fz_bw*=1.2 to "
                "multiply"
            )
        if name in found:
            raise LoadError(f"'{name}' is changed twice; give one of the two")
        try:
            found[name] = float(value)
        except ValueError:
            found[name] = value
    return found


def require_known(change: Change, load_set: str, cases: Collection[object]) -> None:
    """Refuse a change of a number or a case that a load set has not."""
    if change.key not in {*RANGES, *WORDS}:
        known = [key for key in (*RANGES, "beyond_plate") if any(hasattr(c, key) for c in cases)]
        known.sort(key=lambda key: -SequenceMatcher(None, change.key, key).ratio())
        raise LoadError(
            f"load set '{load_set}' has no number '{change.key}'; it has {', '.join(known)}"
        )
    names = [getattr(case, "name", "") for case in cases]
    if change.case is not None and change.case not in names:
        listed = "; ".join(names)
        raise LoadError(f"load set '{load_set}' has no case '{change.case}'; it has {listed}")
    concerned = [c for c in cases if change.case in (None, getattr(c, "name", ""))]
    if not any(change.applies_to(case) for case in concerned):
        where = "none of its cases has" if change.case is None else f"'{change.case}' has not"
        raise LoadError(f"load set '{load_set}': {where} a number '{change.key}' to change")
