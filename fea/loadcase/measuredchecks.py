# SPDX-License-Identifier: MIT
"""Can these numbers be what the header says? Gaps, units, directions and agreement of gait data.

A check refuses only what no gait can be. What is merely unusual goes into the load set's note.
Every problem names the column, the line, the value and the cure.
"""

import numpy as np
from numpy.typing import NDArray

from fea.errors import FileError, Problem
from fea.loadcase.measuredfile import QUANTITIES, Recording, few

LEAST_SHARE = 0.2
"""Share of the largest vertical force below which an instant is left out: there the centre of
pressure is noise over noise. Source: practice."""

LEAST_ROWS = 15
"""Rows that the loaded part of stance must have, to be drawn by straight lines.
Source: practice."""

MOMENT_TOLERANCE = 0.20
"""Largest difference of the measured ankle moment and that of force and centre of pressure, as a
share of the peak: inertia and weight of the foot, and the ankle's height, are in it. Source:
practice."""

EVENT_DISTANCE = 25.0
EVENT_SHARE = 0.6
"""How far from contact and foot-off (% of stance) the load may begin and end, and how large the
force may be there, as a share of its peak. Source: practice."""

BACKWARD = 0.1
"""How far back the centre of pressure may go from the first to the last quarter of stance, foot
lengths: a walker on the forefoot hardly moves it. Source: practice."""

IMPULSE_BAND = (0.4, 0.6)
"""Mean vertical force over a cycle, body weights, that passes without a remark; 0.5 is exact for
even, unaided walking at steady speed. Source: practice."""

COP_RANGE = (-0.3, 1.5)
PITCH_RANGE = (-60.0, 75.0)
"""Where a centre of pressure (foot lengths) and a pitch (deg) can lie. Source: practice."""

# Largest absolute value over the loaded part of stance, inside units: least and most that a walk
# can show. For the centre of pressure and the ankle's place: how far they travel, foot lengths.
# Published children reach 0.9 to 1.4 BW, 0.08 to 0.28 BW, 1.06 to 1.28 N·m/kg, 0.1 to 0.6 N·m/kg
# (schwartz-2008); the bands leave room for weak, aided and fast walkers (practice).
_BANDS = {
    "vertical_force": (0.2, 4.0, "BW"),
    "fore_aft_force": (0.005, 1.0, "BW"),
    "medial_force": (0.0005, 0.6, "BW"),
    "centre_of_pressure": (0.03, 1.8, "foot lengths of travel"),
    "ankle_position": (0.005, 1.8, "foot lengths of travel"),
    "ankle_moment": (0.05, 5.0, "N·m/kg"),
    "knee_moment": (0.01, 5.0, "N·m/kg"),
    "ankle_angle": (0.0, np.radians(60.0), "rad"),
    "shank_angle": (np.radians(3.0), np.radians(90.0), "rad"),
    "foot_angle": (np.radians(2.0), np.radians(90.0), "rad"),
}
_TRAVEL = ("centre_of_pressure", "ankle_position")


def loaded_rows(recording: Recording) -> slice:
    """Rows of the loaded part of stance: from first to last with `LEAST_SHARE` of the peak force.

    Raises:
        FileError: the table does not hold one whole stance, pressed upward on the foot.
    """
    stance = recording.header.sampling.stance_percent(recording.time)
    within = np.flatnonzero((stance >= -0.01) & (stance <= 100.01))
    if not len(within) or stance[0] > 5.0 or stance[-1] < 95.0:
        raise FileError(recording.path, [_not_whole(recording, stance)])
    force = recording.inside("vertical_force")
    assert force is not None
    gaps = [int(row) for row in within if np.isnan(force[row])]
    if gaps:
        raise FileError(
            recording.path, few([_gap(recording, "vertical_force", row) for row in gaps])
        )
    highest, lowest = (int(within[pick(force[within])]) for pick in (np.argmax, np.argmin))
    if force[highest] <= -force[lowest]:
        raise FileError(recording.path, [Problem(
            recording.where("vertical_force", lowest),
            "the ground would pull the foot down; set `positive` of vertical_force the other way "
            "round, or turn the sign of the column",
        )])  # fmt: skip
    loaded = within[force[within] >= LEAST_SHARE * force[highest]]
    rows = slice(int(loaded[0]), int(loaded[-1]) + 1)
    _one_dense_stance(recording, rows, loaded, force)
    _contact_and_foot_off(recording, rows, stance, within, force)
    return rows


def _not_whole(recording: Recording, stance: NDArray[np.float64]) -> Problem:
    sampling = recording.header.sampling
    return Problem(
        f"{recording.header.file}, column '{sampling.column}'",
        f"runs from {recording.time[0]:g} to {recording.time[-1]:g}, which is {stance[0]:.0f} to "
        f"{stance[-1]:.0f} % of stance by the header: a whole stance is needed, contact to "
        "foot-off; correct [sampling] or add rows",
    )


def _one_dense_stance(
    recording: Recording, rows: slice, loaded: NDArray[np.intp], force: NDArray[np.float64]
) -> None:
    count = rows.stop - rows.start
    if count < LEAST_ROWS:
        raise FileError(recording.path, [Problem(
            recording.header.file,
            f"has {count} rows in the loaded part of stance, and {LEAST_ROWS} are needed to draw "
            "it by straight lines; export more instants",
        )])  # fmt: skip
    if len(loaded) < count:
        row = rows.start + int(np.argmin(force[rows]))
        raise FileError(recording.path, [Problem(
            recording.where("vertical_force", row),
            "the force all but vanishes within stance, as between two steps; correct contact and "
            "foot_off, or this row",
        )])  # fmt: skip


def _contact_and_foot_off(
    recording: Recording,
    rows: slice,
    stance: NDArray[np.float64],
    within: NDArray[np.intp],
    force: NDArray[np.float64],
) -> None:
    """Refuse events that lie well outside the loaded part of stance, or well inside it."""
    peak = force[within].max()
    for event, row, off, loaded_at in (
        ("contact", int(within[0]), stance[within[0]], stance[rows.start]),
        ("foot_off", int(within[-1]), 100.0 - stance[within[-1]], 100.0 - stance[rows.stop - 1]),
    ):
        word = "begins" if event == "contact" else "ends"
        cure = f"correct {event} in [sampling], or the unit of time"
        if loaded_at > EVENT_DISTANCE:
            where = recording.where("vertical_force", rows.start if word == "begins" else
                                    rows.stop - 1)
            what = f"the load {word} here, {loaded_at:.0f} % of stance from {event}; {cure}"
            raise FileError(recording.path, [Problem(where, what)])
        if off <= 1.0 and force[row] > EVENT_SHARE * peak:
            share = 100.0 * force[row] / peak
            what = f"at {event} the force is {share:.0f} % of its peak; {cure}"
            raise FileError(recording.path, [Problem(recording.where("vertical_force", row), what)])


def _gap(recording: Recording, quantity: str, row: int) -> Problem:
    return Problem(
        recording.where(quantity, row),
        "is empty; fill the gap in the laboratory, or leave this quantity out of the header: "
        "nothing is filled in here",
    )


def gap_problems(recording: Recording, rows: slice) -> list[Problem]:
    """Empty cells in the loaded part of stance; the rest of the cycle may have them."""
    problems = []
    for quantity, values in recording.raw.items():
        gaps = rows.start + np.flatnonzero(np.isnan(values[rows]))
        problems += few([_gap(recording, quantity, int(row)) for row in gaps])
    return problems


def unit_problems(recording: Recording, rows: slice, foot_length: float) -> list[Problem]:
    """Columns that no walk can show in the unit that the header gives."""
    problems = []
    for quantity in recording.raw:
        low, high, word = _BANDS[quantity]
        reach = _reach(recording, quantity, rows, foot_length)
        if low <= reach <= high:
            continue
        values = np.abs(recording.raw[quantity][rows])
        row = rows.start + int(np.argmax(values))
        said = reach, low, high
        if word == "rad":
            said, word = tuple(np.degrees(said)), "deg"
        problems.append(Problem(
            recording.where(quantity, row),
            f"{quantity} would reach {said[0]:.4g} {word}, and a walk shows {said[1]:.2g} to "
            f"{said[2]:.2g} {word}; {_likely_unit(recording, quantity, rows, foot_length)}",
        ))  # fmt: skip
    return problems


def _reach(
    recording: Recording, quantity: str, rows: slice, foot_length: float, unit: str | None = None
) -> float:
    values = recording.inside(quantity, unit=unit, foot_length=foot_length)
    assert values is not None
    if quantity in _TRAVEL:
        return float(np.ptp(values[rows])) / foot_length
    return float(np.abs(values[rows]).max())


def _likely_unit(recording: Recording, quantity: str, rows: slice, foot_length: float) -> str:
    low, high, _ = _BANDS[quantity]
    given = recording.header.columns[quantity].unit
    fitting = [
        f"'{unit}'"
        for unit in QUANTITIES[quantity][0]
        if unit != given and low <= _reach(recording, quantity, rows, foot_length, unit) <= high
    ]
    if fitting:
        return f"the column looks like {' or '.join(fitting)}: correct its unit or its numbers"
    reach = _reach(recording, quantity, rows, foot_length)
    for factor, word in ((1000.0, "1000 times too large"), (0.001, "1000 times too small")):
        if low <= reach / factor <= high:
            return f"the numbers look {word}: correct them, or the unit"
    return "correct its unit or its numbers"


def direction_problems(
    recording: Recording,
    rows: slice,
    percent: NDArray[np.float64],
    cop: NDArray[np.float64],
    pitch: NDArray[np.float64],
) -> list[Problem]:
    """Quantities that run the wrong way through stance.

    Args:
        recording, rows: what was measured, and the loaded part of it.
        percent, cop, pitch: (n,) % of stance, foot lengths along the sole, rad.
    """
    problems = []
    force, late = recording.inside("fore_aft_force"), _late(recording, rows)
    assert force is not None
    first, second = force[rows][~late].mean(), force[rows][late].mean()
    if first > 0.0 > second:
        row = rows.start + int(np.argmax(np.where(late, -np.inf, force[rows])))
        problems.append(Problem(
            recording.where("fore_aft_force", row),
            f"the ground would drive the foot forward in the first half of stance ({first:+.3f} BW "
            f"in the mean) and brake it in the second ({second:+.3f} BW), and walking brakes "
            "first; set `positive` of fore_aft_force the other way round, or turn the sign",
        ))  # fmt: skip
    early, end = percent <= np.quantile(percent, 0.25), percent >= np.quantile(percent, 0.75)
    start, stop = float(cop[early].mean()), float(cop[end].mean())
    if stop < start - BACKWARD:
        quantity = "centre_of_pressure" if "centre_of_pressure" in recording.raw else "ankle_moment"
        problems.append(Problem(
            recording.where(quantity, rows.start),
            f"the centre of pressure would go from {start:.2f} to {stop:.2f} foot lengths ahead of "
            "the heel, and stance goes from heel to toe; set `positive` of "
            f"{quantity} the other way round, or turn the sign",
        ))  # fmt: skip
    problems += _falling_heel(recording, rows, percent, pitch)
    return problems


def _late(recording: Recording, rows: slice) -> NDArray[np.bool_]:
    return recording.header.sampling.stance_percent(recording.time)[rows] >= 50.0


def _falling_heel(
    recording: Recording, rows: slice, percent: NDArray[np.float64], pitch: NDArray[np.float64]
) -> list[Problem]:
    mid = float(np.degrees(pitch[(percent >= 25.0) & (percent <= 50.0)].mean()))
    last = float(np.degrees(pitch[-1]))
    if last >= mid - 5.0:
        return []
    angles = [q for q in ("foot_angle", "shank_angle", "ankle_angle") if q in recording.raw]
    return [Problem(
        recording.where(angles[0], rows.stop - 1),
        f"the foot would pitch from {mid:.0f} deg heel-up in mid-stance to {last:.0f} deg at the "
        f"end, and the heel rises before foot-off; set `positive` of {' and '.join(angles)} right",
    )]  # fmt: skip


def moment_gap(
    measured: NDArray[np.float64],
    rebuilt: NDArray[np.float64],
    percent: NDArray[np.float64],
    *,
    pitch_known: bool,
) -> tuple[float, float]:
    """Largest difference of two ankle moments, and the peak of the first, N·m/kg.

    Args:
        measured, rebuilt: (n,) N·m per kg;  percent: (n,) % of stance.
        pitch_known: False compares the first half of stance only, where a foot is flat.
    """
    compared = np.ones_like(percent, dtype=bool) if pitch_known else percent <= 50.0
    gap = np.abs(measured - rebuilt)[compared].max()
    return float(gap), float(np.abs(measured).max())


def place_problems(
    recording: Recording,
    rows: slice,
    percent: NDArray[np.float64],
    cop: NDArray[np.float64],
    pitch: NDArray[np.float64],
    rebuilt: NDArray[np.float64],
    *,
    pitch_known: bool,
) -> list[Problem]:
    """Places and pitches that no foot has, and an ankle moment that force and place deny.

    Args:
        recording, rows, percent, cop, pitch: as in `direction_problems`.
        rebuilt: (n,) ankle moment of force and centre of pressure, N·m per kg.
        pitch_known: as in `moment_gap`.
    """
    problems = []
    for values, (low, high), word, cure in (
        (cop, COP_RANGE, "foot lengths ahead of the heel edge",
         "check [person] lengths, `from` and the unit"),
        (np.degrees(pitch), PITCH_RANGE, "deg heel-up", "check the angles' units and directions"),
    ):  # fmt: skip
        worst = int(np.argmax(np.maximum(low - values, values - high)))
        if not low <= values[worst] <= high:
            subject = "the centre of pressure" if values is cop else "the pitch of the foot"
            problems.append(Problem(
                recording.header.file,
                f"{subject} works out as {values[worst]:.2f} {word} at {percent[worst]:.0f} % of "
                f"stance, outside {low:g} to {high:g}; {cure}",
            ))  # fmt: skip
    if not problems and {"ankle_moment", "centre_of_pressure"} <= set(recording.raw):
        problems += _moment_problems(recording, rows, percent, rebuilt, pitch_known=pitch_known)
    if recording.header.verdict is not None and not pitch_known:
        problems.append(Problem(
            "verdict",
            "needs the pitch of the foot after heel-off: give foot_angle, or shank_angle and "
            "ankle_angle, or ankle_angle and knee_moment with ankle_moment; or remove [verdict]",
        ))  # fmt: skip
    return problems


def _moment_problems(
    recording: Recording,
    rows: slice,
    percent: NDArray[np.float64],
    rebuilt: NDArray[np.float64],
    *,
    pitch_known: bool,
) -> list[Problem]:
    column = recording.inside("ankle_moment")
    assert column is not None
    stance = recording.header.sampling.stance_percent(recording.time)[rows]
    measured = np.interp(percent, stance, column[rows])
    gap, peak = moment_gap(measured, rebuilt, percent, pitch_known=pitch_known)
    if gap <= MOMENT_TOLERANCE * peak:
        return []
    turned, _ = moment_gap(-measured, rebuilt, percent, pitch_known=pitch_known)
    cure = ("its sign is the other way round: set `positive` of ankle_moment right"
            if turned < 0.5 * gap else
            "check foot_length_mm, ankle_height_mm, `from` of the centre of pressure and body mass")
    row = rows.start + int(np.argmax(np.abs(column[rows])))
    return [Problem(
        recording.where("ankle_moment", row),
        f"the ankle moment and that of force and centre of pressure differ by up to {gap:.2f} "
        f"N·m/kg, more than {100 * MOMENT_TOLERANCE:.0f} % of the peak of {peak:.2f}; {cure}",
    )]  # fmt: skip


def vertical_impulse(recording: Recording) -> float | None:
    """Mean vertical force over the gait cycle, body weights; None if the cycle is not known."""
    share = recording.header.sampling.stance_share
    if share is None:
        return None
    stance = recording.header.sampling.stance_percent(recording.time)
    force = recording.inside("vertical_force")
    assert force is not None
    within = (stance >= -0.01) & (stance <= 100.01)
    return float(np.trapezoid(force[within], stance[within])) / 100.0 * share
