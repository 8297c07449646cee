# SPDX-License-Identifier: MIT
"""Stance as a curve in time: instants between those of a load set, interpolated smoothly.

Forces are interpolated in the floor frame, where they are measured; centre of pressure, ankle
moment, pitch and shank angle likewise, each as a curve through the set's own instants that never
swings beyond two neighbours (monotone cubic).
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator

from fea.loadcase.instant import LoadSet, Provenance, StanceInstant

INSTANTS = 25
"""Least number of instants through stance."""

WIDEST_GAP = 12.0
"""Gap between two instants, % of the gait cycle, over which no curve is drawn between them: a
force peak of walking lies within 10 % of the cycle. Source: assumed."""

_NUMBERS = ("fz_bw", "fx_bw", "fy_bw", "pitch_deg", "cop_medial_mm", "free_moment_nm_per_kg",
            "patch_half_length")


def through_stance(load_set: LoadSet, count: int = INSTANTS) -> LoadSet:
    """A load set with at least ``count`` instants in time, where it has fewer.

    Args:
        load_set: of a step; its instants carry the time at which they occur.
        count: wanted; new instants lie evenly between those of the set, which all stay.

    Returns:
        The set, its instants in order of time, and what was done at the end of its note. It is the
        set itself where it has enough instants, or where they lie too far apart (`WIDEST_GAP`) for
        a curve between them to be true. An instant that repeats the time of another, or has no
        number for the centre of pressure, stays beside the curve.

    Example:
        >>> from fea.loadcase.reader import read_load_set
        >>> step = through_stance(read_load_set("typical-step"))
        >>> len(step.instants), step.instants[1].name, round(step.instants[1].fz_bw, 3)
        (30, '3.7 % of the cycle', 0.567)
    """
    curve = timed(load_set.instants)
    percent = [_time(instant) for instant in curve]
    if len(curve) < 3 or np.diff(percent).max() > WIDEST_GAP:
        return load_set
    step = (percent[-1] - percent[0]) / (count - 1)
    added = [
        round(float(time), 1)
        for start, end in zip(percent[:-1], percent[1:], strict=True)
        for time in np.linspace(start, end, max(1, round(np.ceil((end - start) / step - 1e-6))) + 1)
        if start < time < end
    ]
    if not added:
        return load_set
    between = _between(curve, added)
    instants = sorted((*load_set.instants, *between), key=_time_or_last)
    note = (
        f"{len(between)} of the {len(instants)} instants in time lie between those of the set: "
        "forces in the floor frame, centre of pressure, pitch and shank angle are interpolated "
        "smoothly, without swinging beyond two neighbours."
    )
    return replace(load_set, instants=tuple(instants), note=f"{load_set.note.rstrip()} {note}")


def serves_as_step(load_set: LoadSet) -> bool:
    """Whether a load set is a step itself: measured gait, or a set made to be one.

    Example:
        >>> from fea.loadcase.reader import read_load_set
        >>> [serves_as_step(read_load_set(name))
        ...  for name in ("example-laboratory", "typical-step", "walking-envelope")]
        [True, True, False]
    """
    return load_set.purpose == "step" or load_set.measured_on is not None


def wants_step(load_set: LoadSet) -> bool:
    """Whether a typical step says something beside a load set: not beside postures that are held,
    nor loads that are borrowed from a test or are no instants of stance.

    Example:
        >>> from fea.loadcase.reader import read_load_set
        >>> [wants_step(read_load_set(name)) for name in ("stairs", "crouch", "toe-bend")]
        [True, False, False]
    """
    return load_set.purpose == "verdict" and bool(load_set.instants) and not load_set.held


def timed(instants: Sequence[StanceInstant]) -> tuple[StanceInstant, ...]:
    """The instants that form a curve in time: one for each time, all with numbers of one kind.

    That kind is the centre of pressure, or the ankle moment where more instants give that.

    Example:
        >>> push = StanceInstant(name="push-off", percent=48, fz_bw=1.0, fx_bw=0.1, cop=0.75)
        >>> held = replace(push, name="heel held down", cop="heel-edge")
        >>> [instant.name for instant in timed([held, push])]
        ['push-off']
    """
    kinds = [
        {
            instant.percent: instant
            for instant in reversed(instants)
            if instant.percent is not None and isinstance(getattr(instant, kind), float)
        }
        for kind in ("cop", "moment_nm_per_kg")
    ]
    return tuple(sorted(max(kinds, key=len).values(), key=_time))


def _between(curve: Sequence[StanceInstant], times: Sequence[float]) -> list[StanceInstant]:
    """Instants at times (% of the cycle) between those of a curve."""
    percent = [_time(instant) for instant in curve]
    kind = "cop" if isinstance(curve[0].cop, float) else "moment_nm_per_kg"
    names = [*_NUMBERS, kind]
    if all(isinstance(instant.shank_angle_deg, float) for instant in curve):
        names.append("shank_angle_deg")
    columns = {
        name: PchipInterpolator(percent, [getattr(instant, name) for instant in curve])(times)
        for name in names
    }
    instants = []
    for k, time in enumerate(times):
        before = curve[int(np.searchsorted(percent, time)) - 1]
        numbers: dict[str, Any] = {
            name: round(float(column[k]), 2 if name.endswith("_deg") else 4)
            for name, column in columns.items()
        }
        instants.append(
            replace(
                before,
                name=f"{time:.1f} % of the cycle",
                percent=time,
                provenance={key: _interpolated(item) for key, item in before.provenance.items()},
                **(_angle(curve) | numbers),
            )
        )
    return instants


def _angle(curve: Sequence[StanceInstant]) -> dict[str, Any]:
    """The shank angle where it is no number: as the device holds it, or not known."""
    held = all(instant.shank_angle_deg == "device" for instant in curve)
    return {"shank_angle_deg": "device" if held else None}


def _interpolated(origin: Provenance) -> Provenance:
    note = "interpolated in time between instants of the set"
    return Provenance(origin.source, "derived", f"{note}; {origin.note}".rstrip("; "))


def _time(instant: StanceInstant) -> float:
    assert instant.percent is not None
    return instant.percent


def _time_or_last(instant: StanceInstant) -> float:
    return float("inf") if instant.percent is None else instant.percent
