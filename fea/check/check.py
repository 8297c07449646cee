# SPDX-License-Identifier: MIT
"""The outcome of judging one thing: a `Check`, or `NotChecked` with the reason."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from fea.errors import InputError

Point = tuple[float, float, float]

Horizon = Literal["today", "first fall", "service life"]
"""What a check answers: does the device hold the loads of a day, does it hold the wearer in the
first fall, does it outlive the months that it must last."""

BUCKLING = "buckling"
"""Topic of buckling; demand and capacity are factors on the loads of the case."""

LOCAL_PEAK = "local peak"
"""Topic of what is said of places where stress does not converge; its basis or reason names them
with their areas."""


@dataclass(frozen=True, kw_only=True)
class Check:
    """What is asked of a zone in a load case, against what it can bear.

    Only demand and capacity are stored; factor, utilisation and `met` follow from them.

    Attributes:
        topic: what is judged, such as "yield".
        zone: zone or part of the device.
        case: load case that governs.
        place: (3,) point where the demand is highest, mm, device frame; None when there is none.
        demand: what is asked, in `unit`, 0 or more; the upper end of its error band.
        capacity: what can be borne, in `unit`, above 0.
        unit: of demand and capacity.
        required: factor that capacity / demand must reach.
        basis: in words, how demand, capacity and required factor came about.
        sources: source keys of the numbers used.
        note: reservations, parted by "; "; one on a number from memory ends in how well it is
            remembered, as in "times 0.78 at 37 °C: memory-M".
        flag: what is to be known although it is no requirement; empty where nothing is.
        error: estimated discretisation error that `demand` contains, in `unit`; None where there is
            no estimate (buckling, rotation, pressure), or no such error: bars are exact between
            their nodes, given the forces there.
        horizon: "today", "first fall" or "service life".
        part: wall or bar that is judged, where `zone` names a joint or hole in it; else empty.

    Raises:
        InputError: a number that is not finite or outside its range.

    Example:
        >>> check = Check(topic="yield", zone="upright", case="push-off", place=None, demand=20.0,
        ...               capacity=24.0, unit="MPa", required=1.5, basis="von Mises", sources=())
        >>> check.factor, round(check.utilisation, 6), check.met
        (1.2, 1.25, False)
    """

    topic: str
    zone: str
    case: str
    place: Point | None
    demand: float
    capacity: float
    unit: str
    required: float
    basis: str
    sources: tuple[str, ...]
    note: str = ""
    flag: str = ""
    error: float | None = None
    horizon: Horizon = "today"
    part: str = ""

    def __post_init__(self) -> None:
        where = f"check '{self.topic}' of '{self.zone}' in '{self.case}'"
        if not (math.isfinite(self.demand) and self.demand >= 0.0):
            raise InputError(f"{where}: demand is {self.demand}; it must be finite and at least 0")
        if self.error is not None and not 0.0 <= self.error <= self.demand:
            raise InputError(
                f"{where}: error is {self.error}; it is a part of the demand, {self.demand}"
            )
        for name in ("capacity", "required"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise InputError(f"{where}: {name} is {value}; it must be finite and above 0")
        if self.place is not None:
            place = tuple(float(coordinate) for coordinate in self.place)
            if len(place) != 3 or not all(map(math.isfinite, place)):
                raise InputError(f"{where}: place is {self.place}; give three finite coordinates")
            object.__setattr__(self, "place", place)

    @property
    def remarks(self) -> str:
        """Reservations and flag in one line."""
        return "; ".join(filter(None, [self.note, f"flagged: {self.flag}" if self.flag else ""]))

    @property
    def computed(self) -> float:
        """The demand without its error."""
        return self.demand - (self.error or 0.0)

    @property
    def factor(self) -> float:
        """Capacity over demand; infinite where nothing is asked."""
        return self.capacity / self.demand if self.demand > 0.0 else math.inf

    @property
    def utilisation(self) -> float:
        """Share of what is allowed that is used; the check is met up to 1."""
        return self.demand * self.required / self.capacity

    @property
    def from_memory(self) -> tuple[str, ...]:
        """The reservations of `note` on numbers from memory."""
        return memory_parts(self.note)

    @property
    def met(self) -> bool:
        """True when the factor reaches the required one."""
        return self.utilisation <= 1.0


@dataclass(frozen=True, kw_only=True)
class NotChecked:
    """Something that ought to be judged and could not be; never a pass.

    Attributes:
        topic: what could not be judged.
        zone: zone or part of the device.
        because: the reason, and what would cure it.
        horizon: the question that stays open for it; None leaves every one open.
        from_memory: numbers from memory on which the numbers of the reason rest.
    """

    topic: str
    zone: str
    because: str
    horizon: Horizon | None = None
    from_memory: tuple[str, ...] = ()


Finding = Check | NotChecked


def memory_parts(note: str) -> tuple[str, ...]:
    """The reservations of a note that are on numbers from memory.

    Example:
        >>> memory_parts("yield: read; times 0.78 at 37 °C: memory-M")
        ('times 0.78 at 37 °C: memory-M',)
    """
    return tuple(part for part in note.split("; ") if "memory-" in part)


def longest_start(text: str, names: Iterable[str]) -> str | None:
    """The longest of some names that a text begins with, as of a case what it was made from.

    Example:
        >>> longest_start("push-off, late (toes free)", ["push-off", "push-off, late"])
        'push-off, late'
    """
    return max((name for name in names if text.startswith(name)), key=len, default=None)


def governing(findings: Iterable[Finding]) -> tuple[tuple[Check, ...], tuple[NotChecked, ...]]:
    """The worst check of every topic and zone, and every different reason for not checking.

    Args:
        findings: checks of any number of load cases.

    Returns:
        Checks with the highest utilisation of their topic, zone and horizon, the worst first; and
        the not-checked ones in the order they came, without repetition.
    """
    worst: dict[tuple[str, str, Horizon], Check] = {}
    missing: dict[NotChecked, None] = {}
    for finding in findings:
        if isinstance(finding, NotChecked):
            missing[finding] = None
            continue
        key = (finding.topic, finding.zone, finding.horizon)
        if key not in worst or finding.utilisation > worst[key].utilisation:
            worst[key] = finding
    checks = sorted(worst.values(), key=lambda check: -check.utilisation)
    return tuple(checks), tuple(missing)
