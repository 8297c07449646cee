# SPDX-License-Identifier: MIT
"""The values of a load set: what acts in each case, before any wearer or device.

Three kinds of case, told apart by type: an instant of stance, a push on the device, and a bend that
is forced on its plate.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, TypeVar

from fea.loadcase.change import (
    EXCLUDES,
    PUSH_RANGES,
    RANGES,
    Change,
    Value,
    require_known,
)
from fea.wearer import Wearer

Status = Literal["read", "derived", "memory-H", "memory-M", "memory-L", "practice", "assumed"]
Cop = float | Literal["heel-edge", "plate-end", "unload-knee"]
Purpose = Literal["verdict", "step", "proof", "ultimate", "cyclic"]


@dataclass(frozen=True)
class Provenance:
    """Where a number comes from.

    Attributes:
        source: source key, or a citation written out.
        status: "read" in the source, "derived" from read numbers, from memory with high, medium or
            low confidence, "practice" (common practice, no source) or "assumed".
        note: how it was derived, or what it leaves out.
    """

    source: str
    status: Status
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class StanceInstant:
    """One instant of stance, in multiples of body weight and foot length.

    Forces stand in the FLOOR frame (x forward, z up, on the foot); the centre of pressure stands on
    the sole, in the DEVICE frame. The two frames differ by `pitch_deg`.

    Attributes:
        name: what happens, in words; unique in its set.
        percent: % of the gait cycle, from foot contact; None where the instant has no single time.
        fz_bw, fx_bw: vertical and forward force on the foot, body weights.
        fy_bw: medial force on the foot, body weights.
        cop: centre of pressure ahead of the heel edge, foot lengths; or "heel-edge" or
            "plate-end", half a load patch inside that end of the plate; or "unload-knee", where
            nothing is left to flex the knee at this shank angle; None if the moment is given.
        moment_nm_per_kg: external dorsiflexing moment about the ankle axis, N·m per kg body mass;
            None if `cop` is given.
        pitch_deg: how far the foot is turned heel-up from flat, degrees.
        cop_medial_mm: centre of pressure medial of the foot's middle line, mm.
        patch_half_length: half the length of the load patch, foot lengths.
        shank_angle_deg: forward lean of the shank from vertical, degrees; "device" takes the angle
            in which shoe and device hold it, plus the pitch; None where it is not known.
        free_moment_nm_per_kg: external moment about the vertical at the centre of pressure, N·m
            per kg body mass; positive turns the toes inward.
        beyond_plate: "refuse" a centre of pressure beyond the plate, or move it to "plate-end".
        provenance: name of a number above to where it comes from.
    """

    name: str
    percent: float | None
    fz_bw: float
    fx_bw: float
    fy_bw: float = 0.0
    cop: Cop | None = None
    moment_nm_per_kg: float | None = None
    pitch_deg: float = 0.0
    cop_medial_mm: float = 0.0
    patch_half_length: float = 0.06
    shank_angle_deg: float | Literal["device"] | None = None
    free_moment_nm_per_kg: float = 0.0
    beyond_plate: Literal["refuse", "plate-end"] = "refuse"
    provenance: Mapping[str, Provenance] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Push:
    """A push on the device that the ground under the foot does not make.

    Attributes:
        name: what happens, in words; unique in its set.
        zones: zones of the device that take the force.
        fx_bw, fy_bw, fz_bw: forward, medial and upward force on the device, body weights, DEVICE
            frame.
        landmark: landmark of the device that the line of action passes; None spreads the force
            evenly over the zones.
        patch_half_length: half the length of the load patch at the landmark, foot lengths.
        provenance: name of a number above to where it comes from.
    """

    name: str
    zones: tuple[str, ...]
    fx_bw: float = 0.0
    fy_bw: float = 0.0
    fz_bw: float = 0.0
    landmark: str | None = None
    patch_half_length: float = 0.06
    provenance: Mapping[str, Provenance] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class ToeBend:
    """The plate is bent at the ball: held behind it, turned up ahead of it, evenly in between.

    Attributes:
        name: what happens, in words; unique in its set.
        percent: % of the gait cycle; None where the case has no single time.
        angle_deg: how far the front of the plate is turned toes-up, degrees.
        held_to: the plate is held from the heel edge to here, foot lengths ahead of the heel edge.
        turned_from: from here on it is turned as a rigid body, foot lengths ahead of the heel edge.
        fz_bw: the ground presses no harder on the front of the plate, body weights; a stiff plate
            bends only until this force at its end is used up.
        provenance: name of a number above to where it comes from.
    """

    name: str
    angle_deg: float
    held_to: float
    turned_from: float
    fz_bw: float
    percent: float | None = None
    provenance: Mapping[str, Provenance] = field(default_factory=dict)


Case = TypeVar("Case", StanceInstant, Push, ToeBend)


@dataclass(frozen=True, kw_only=True)
class CyclesPerDay:
    """Strides of one leg a day, for people like the wearer."""

    child: float
    adult: float
    provenance: Mapping[str, Provenance] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class MeasuredOn:
    """Whose gait a measured load set is.

    Attributes:
        side: of the leg, "left" or "right".
        mass_kg: body mass when it was measured.
        the_wearer: True for the wearer's own gait, False for another person's, scaled.
        doubts: what the curves themselves put in question, one sentence each.
    """

    side: Literal["left", "right"]
    mass_kg: float
    the_wearer: bool
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LoadSet:
    """An ordered set of cases.

    Attributes:
        name, title: short name and one line for people.
        purpose: "verdict" (to judge strength), "step" (one typical step, for charts), or a set
            borrowed from a standard: "proof" (nothing may yield), "ultimate" (nothing may break),
            "cyclic" (must outlive `cycles`).
        note: what the set covers and what it leaves out, for the report;  note_for_adults: what
            is to be said besides where an adult wears the device.
        instants, pushes, bends: the cases, each kind in the order of the file.
        held: True for postures that stay, such as crouch or kneeling, False for loads that come and
            go with steps; pressure that stays is felt sooner.
        cycles_per_day: of a "step" set; None if the file gives none.
        cycles: to be outlived, of a "cyclic" set.
        measured_on: whose gait it is; None for a set that is nobody's own.
        changes: what was changed by hand, in words.
    """

    name: str
    title: str
    purpose: Purpose
    note: str
    instants: tuple[StanceInstant, ...] = ()
    pushes: tuple[Push, ...] = ()
    bends: tuple[ToeBend, ...] = ()
    held: bool = False
    cycles_per_day: CyclesPerDay | None = None
    cycles: float | None = None
    measured_on: MeasuredOn | None = None
    changes: tuple[str, ...] = ()
    note_for_adults: str = ""

    def note_for(self, wearer: Wearer) -> str:
        """What the report says of the set for a wearer, in one line."""
        more = self.note_for_adults if wearer.is_adult else ""
        return " ".join(f"{self.note} {more}".split())

    @property
    def cases(self) -> tuple[StanceInstant | Push | ToeBend, ...]:
        """Every case: instants, then pushes, then bends."""
        return (*self.instants, *self.pushes, *self.bends)

    def changed(self, changes: Mapping[str, Value]) -> "LoadSet":
        """This set with some of its numbers changed by hand.

        Args:
            changes: what to change to its new value. ``"fz_bw"`` is the number of every case that
                has it, ``"heel strike, toes up.fz_bw"`` that of one case; ``"fz_bw*"`` multiplies.

        Returns:
            The set; its title, its note and the origin of each number say what was changed.

        Raises:
            LoadError: no such number or case, or a value that it may not have.

        Example:
            >>> push = StanceInstant(name="push-off", percent=48, fz_bw=1.0, fx_bw=0.1, cop=0.75)
            >>> walk = LoadSet(name="walk", title="Walk", purpose="verdict", note="",
            ...                instants=(push,))
            >>> hard = walk.changed({"fz_bw*": 1.5, "push-off.cop": "plate-end"})
            >>> hard.instants[0].fz_bw, hard.instants[0].cop, hard.changes
            (1.5, 'plate-end', ('fz_bw times 1.5 in every case', "cop = plate-end in 'push-off'"))
        """
        result = self
        for name, value in changes.items():
            change = Change.of(name, float(value) if isinstance(value, int) else value)
            require_known(change, self.name, self.cases)
            result = replace(
                result,
                instants=tuple(_changed(case, change) for case in result.instants),
                pushes=tuple(_changed(case, change) for case in result.pushes),
                bends=tuple(_changed(case, change) for case in result.bends),
                changes=(*result.changes, str(change)),
            )
        if not changes:
            return self
        said = "; ".join(result.changes[len(self.changes) :])
        return replace(
            result,
            title=f"{self.title} (changed: {said})",
            note=f"{self.note.rstrip()} Changed by hand: {said}.".lstrip(),
        )


def _changed(case: Case, change: Change) -> Case:
    """One case under a change; itself where the change is not about it."""
    if change.case not in (None, case.name) or not change.applies_to(case):
        return case
    old = getattr(case, change.key)
    ranges = PUSH_RANGES if isinstance(case, Push) else RANGES
    value = change.new_value(case.name, old, ranges)
    origin = Provenance("changed by hand", "assumed", f"was {old}")
    numbers: dict[str, object] = {change.key: value}
    if change.key in EXCLUDES:
        numbers[EXCLUDES[change.key]] = None
    provenance = {k: v for k, v in case.provenance.items() if EXCLUDES.get(change.key) != k}
    provenance[change.key] = origin
    return replace(case, provenance=provenance, **numbers)  # type: ignore[arg-type]
