# SPDX-License-Identifier: MIT
"""From measured gait to a load set: centre of pressure and pitch in the frame of the foot.

Forces and centre of pressure are what counts; the ankle moment follows from them. What the file
does not hold is worked out, or assumed, and the load set says which: in the provenance of each
number, and in its note.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.errors import FileError
from fea.limb import HEEL_BEHIND_ANKLE
from fea.loadcase.frame import cop_ahead, dorsiflexing_moment, into_device_frame
from fea.loadcase.gait import ANKLE_HEIGHT, FOOT_LENGTH, SHANK_LENGTH, shank_lean
from fea.loadcase.instant import LoadSet, MeasuredOn, Provenance, StanceInstant
from fea.loadcase.measuredchecks import (
    IMPULSE_BAND,
    LEAST_SHARE,
    direction_problems,
    gap_problems,
    loaded_rows,
    moment_gap,
    place_problems,
    unit_problems,
    vertical_impulse,
)
from fea.loadcase.measuredfile import MeasuredSchema, Recording, read_recording
from fea.units import STANDARD_GRAVITY

INSTANTS = 25
"""Instants made of a stance, at equal steps of time."""

PATCH_HALF_LENGTH = 0.06
"""Half a load patch, foot lengths, as in the shipped sets. Source: assumed."""

FOOT_OFF_PERCENT = 59.0
"""Foot-off, % of the gait cycle, where a file does not tell. Source: schwartz-2008 (read)."""

_LENGTHS = {
    "foot_length_mm": FOOT_LENGTH,
    "ankle_height_mm": ANKLE_HEIGHT,
    "shank_length_mm": SHANK_LENGTH,
}


@dataclass(frozen=True, eq=False)
class Stance:
    """Measured gait at even instants; arrays (n,), one value an instant.

    Attributes:
        percent: % of stance.
        values: quantity of the file to its values, inside units (`fea.loadcase.measuredfile`).
        lengths: "foot_length_mm", "ankle_height_mm" and "shank_length_mm", mm.
        pitch: rad, foot heel-up against the floor;  pitch_from: where it comes from.
        cop: foot lengths ahead of the heel edge, along the sole.
        cop_from: where it comes from.
    """

    percent: NDArray[np.float64]
    values: Mapping[str, NDArray[np.float64]]
    lengths: Mapping[str, float]
    pitch: NDArray[np.float64]
    pitch_from: Provenance
    cop: NDArray[np.float64]
    cop_from: Provenance

    @property
    def lean(self) -> NDArray[np.float64] | None:
        """Forward lean of the shank from vertical, rad (n,); None where no angle tells."""
        if "shank_angle" in self.values:
            return self.values["shank_angle"]
        if "ankle_angle" in self.values and self.pitch_from.status != "assumed":
            return self.pitch + self.values["ankle_angle"]
        return None

    @property
    def moment(self) -> NDArray[np.float64]:
        """External dorsiflexing moment of force and centre of pressure, N·m per kg (n,)."""
        fx, fz = into_device_frame(
            self.values["fore_aft_force"], self.values["vertical_force"], self.pitch
        )
        ahead = (self.cop - HEEL_BEHIND_ANKLE) * self.lengths["foot_length_mm"]
        moment = dorsiflexing_moment(fx, fz, ahead, self.lengths["ankle_height_mm"])
        return moment * STANDARD_GRAVITY / 1000.0


def read_measured_gait(path: str | Path) -> LoadSet:
    """Read measured gait: a header (TOML, ``kind = "measured gait"``) and its table (CSV).

    Args:
        path: the header.

    Returns:
        A load set of 25 instants over stance; its purpose is "verdict" where the header has
        ``[verdict]``, else "step".

    Raises:
        FileError: header or table is wrong, or the numbers cannot be what the header says.

    Example:
        >>> from fea.shipped import shipped_path
        >>> load_set = read_measured_gait(shipped_path("loadcases", "example-laboratory"))
        >>> len(load_set.instants), load_set.purpose, load_set.measured_on.side
        (25, 'step', 'left')
    """
    recording = read_recording(path)
    rows = loaded_rows(recording)
    lengths = _lengths(recording.header)
    foot = lengths["foot_length_mm"]
    for problems in (gap_problems(recording, rows), unit_problems(recording, rows, foot)):
        if problems:
            raise FileError(recording.path, problems)
    stance = _stance(recording, rows, lengths)
    for problems in (
        direction_problems(recording, rows, stance.percent, stance.cop, stance.pitch),
        place_problems(
            recording, rows, stance.percent, stance.cop, stance.pitch, stance.moment,
            pitch_known=stance.pitch_from.status != "assumed",
        ),
    ):  # fmt: skip
        if problems:
            raise FileError(recording.path, problems)
    return _load_set(recording, stance)


def _lengths(header: MeasuredSchema) -> dict[str, float]:
    person = header.person
    return {
        name: getattr(person, name) or share * person.height_mm for name, share in _LENGTHS.items()
    }


def _stance(recording: Recording, rows: slice, lengths: Mapping[str, float]) -> Stance:
    """Even instants, straight lines between rows."""
    measured = recording.header.sampling.stance_percent(recording.time)[rows]
    percent = np.linspace(measured[0], measured[-1], INSTANTS)
    values = {}
    for quantity in recording.raw:
        column = recording.inside(quantity, foot_length=lengths["foot_length_mm"])
        assert column is not None
        values[quantity] = np.interp(percent, measured, column[rows])
    pitch, pitch_from = _pitch(values, lengths)
    cop, cop_from = _cop(recording.header, values, lengths, pitch)
    return Stance(percent, values, lengths, pitch, pitch_from, cop, cop_from)


def _pitch(
    values: Mapping[str, NDArray[np.float64]], lengths: Mapping[str, float]
) -> tuple[NDArray[np.float64], Provenance]:
    """Pitch of the foot, rad, by the best way that the file allows."""
    if "foot_angle" in values:
        return values["foot_angle"], Provenance("measured", "read", "angle of the foot")
    if {"shank_angle", "ankle_angle"} <= set(values):
        pitch = values["shank_angle"] - values["ankle_angle"]
        note = "shank angle less the ankle's dorsiflexion"
        return pitch, Provenance("measured", "derived", note)
    if {"knee_moment", "ankle_moment", "ankle_angle"} <= set(values):
        lean = shank_lean(
            fz_bw=values["vertical_force"],
            fx_bw=values["fore_aft_force"],
            ankle_moment=values["ankle_moment"],
            knee_moment=values["knee_moment"],
            shank_length=lengths["shank_length_mm"],
        )
        note = ("shank angle recovered from knee and ankle moment (weight and inertia of foot and "
                "shank neglected), less the ankle's dorsiflexion")
        return lean - values["ankle_angle"], Provenance("measured", "derived", note)
    note = ("no angle in the file: the foot is taken as flat throughout, which holds before "
            "heel-off only; after it the shear along the sole is wrong, in children up to its sign")
    return np.zeros_like(values["vertical_force"]), Provenance("assumed", "assumed", note)


def _cop(
    header: MeasuredSchema,
    values: Mapping[str, NDArray[np.float64]],
    lengths: Mapping[str, float],
    pitch: NDArray[np.float64],
) -> tuple[NDArray[np.float64], Provenance]:
    """Centre of pressure along the sole, foot lengths.

    Level with the floor, the ankle axis sees a place x' of the sole at x = x' cos φ - h sin φ.
    """
    foot, height = lengths["foot_length_mm"], lengths["ankle_height_mm"]
    if "centre_of_pressure" not in values:
        fx, fz = into_device_frame(values["fore_aft_force"], values["vertical_force"], pitch)
        moment = values["ankle_moment"] * 1000.0 / STANDARD_GRAVITY
        note = (f"from forces, ankle moment and pitch, ankle axis {height:.0f} mm above the sole "
                f"and {HEEL_BEHIND_ANKLE:g} foot lengths ahead of the heel edge")
        return (HEEL_BEHIND_ANKLE + cop_ahead(moment, fx, fz, height) / foot,
                Provenance("measured", "derived", note))
    place = values["centre_of_pressure"]
    if header.columns["centre_of_pressure"].origin == "heel edge":
        return place / foot, Provenance("measured", "read", "along the sole from the heel edge")
    level = place - values.get("ankle_position", 0.0)
    ahead = (level + height * np.sin(pitch)) / np.cos(pitch)
    note = (f"measured from the ankle axis, level with the floor; taken along the sole with the "
            f"foot's pitch and the axis {height:.0f} mm above the sole")
    return HEEL_BEHIND_ANKLE + ahead / foot, Provenance("measured", "derived", note)


def _load_set(recording: Recording, stance: Stance) -> LoadSet:
    header = recording.header
    factor = 1.0 if header.verdict is None else header.verdict.scatter_factor
    share = header.sampling.stance_share or FOOT_OFF_PERCENT / 100.0
    medial = stance.values.get("medial_force", np.zeros_like(stance.percent))
    lean = stance.lean
    origins = _provenance(header, stance)
    return LoadSet(
        name=header.name,
        title=header.title,
        purpose="step" if header.verdict is None else "verdict",
        note=" ".join(_remarks(recording, stance)),
        instants=tuple(
            StanceInstant(
                name=f"{stance.percent[k]:.1f} % of stance",
                percent=float(stance.percent[k] * share),
                fz_bw=float(factor * stance.values["vertical_force"][k]),
                fx_bw=float(factor * stance.values["fore_aft_force"][k]),
                fy_bw=float(factor * medial[k]),
                cop=float(stance.cop[k]),
                pitch_deg=float(np.degrees(stance.pitch[k])),
                shank_angle_deg=None if lean is None else float(np.degrees(lean[k])),
                patch_half_length=PATCH_HALF_LENGTH,
                beyond_plate="plate-end",
                provenance=origins,
            )
            for k in range(len(stance.percent))
        ),
        measured_on=MeasuredOn(
            side=header.person.side,
            mass_kg=header.person.mass_kg,
            the_wearer=header.person.curves_of == "the wearer",
            doubts=_doubts(recording, stance),
        ),
    )


def _provenance(header: MeasuredSchema, stance: Stance) -> dict[str, Provenance]:
    scaled = ""
    if header.verdict is not None:
        verdict = header.verdict
        scaled = f", times {verdict.scatter_factor:g} for scatter ({verdict.source})"
    per_mass = f"per body weight of {header.person.mass_kg:g} kg{scaled}"
    force = Provenance("measured", "derived" if scaled else "read", per_mass)
    percent = Provenance("measured", "derived", "even steps of time, straight lines between rows")
    if header.sampling.stance_share is None:
        note = f"foot-off taken at {FOOT_OFF_PERCENT:g} % of the gait cycle"
        percent = Provenance("schwartz-2008", "assumed", note)
    none = Provenance("assumed", "assumed", "not in the file, taken as zero")
    origins = {
        "percent": percent,
        "fz_bw": force,
        "fx_bw": force,
        "fy_bw": force if "medial_force" in stance.values else none,
        "cop": stance.cop_from,
        "pitch_deg": stance.pitch_from,
        "cop_medial_mm": none,
        "patch_half_length": Provenance("assumed", "assumed", "a load patch as long as the ball of "
                                        "the foot"),
    }  # fmt: skip
    if "shank_angle" in stance.values:
        origins["shank_angle_deg"] = Provenance("measured", "read", "angle of the shank")
    elif stance.lean is not None:
        note = "pitch of the foot plus the ankle's dorsiflexion"
        origins["shank_angle_deg"] = Provenance("measured", "derived", note)
    return origins


def _remarks(recording: Recording, stance: Stance) -> list[str]:
    """What the set holds, what was missing and what was assumed, in plain sentences."""
    header, person = recording.header, recording.header.person
    whose = {"the wearer": "the wearer's own", "another person": "another person's, scaled by body "
             "weight and foot length, so not this wearer's gait"}[person.curves_of]
    remarks = [
        f"Measured gait ({header.source}), {person.side} leg, body mass {person.mass_kg:g} kg: "
        f"{whose}.",
        f"{len(stance.percent)} instants at equal steps of time from {stance.percent[0]:.0f} to "
        f"{stance.percent[-1]:.0f} % of stance, straight lines between the rows of the file; the "
        f"ends of stance, with less than {100 * LEAST_SHARE:.0f} % of the largest vertical force, "
        "are left out, for the centre of pressure is noise there.",
        _scope(header),
    ]
    estimated = [name for name in _LENGTHS if getattr(person, name) is None]
    if estimated:
        told = ", ".join(
            f"{name.removesuffix('_mm').replace('_', ' ')} {stance.lengths[name]:.0f} mm"
            for name in estimated
        )
        remarks.append(f"Not given and estimated from the height: {told} (no shoe).")
    origins = {"Foot pitch": stance.pitch_from, "Centre of pressure": stance.cop_from}
    for name, origin in origins.items():
        if origin.status != "read":
            remarks.append(f"{name} ({origin.status}): {origin.note}.")
    if "medial_force" not in stance.values:
        remarks.append("No sideways force in the file: taken as zero.")
    return remarks + _findings(recording, stance)


def _scope(header: MeasuredSchema) -> str:
    if header.verdict is None:
        return ("As measured, without scatter: harder steps than these occur, and no verdict on "
                "strength should rest on them alone.")
    return (f"Forces are raised by the factor {header.verdict.scatter_factor:g} for scatter "
            f"({header.verdict.source}); the centre of pressure stays, and the ankle moment grows "
            "with the forces. Stairs, stumbling and turning are left out unless measured.")


def _pitch_findings(stance: Stance) -> list[str]:
    """A foot rests in mid-stance, flat or on the forefoot."""
    remarks = []
    mid = np.degrees(_mid_stance(stance))
    if abs(mid.mean()) > 10.0:
        remarks.append(
            f"The foot is pitched {mid.mean():.0f} deg heel-up in mid-stance: right for a walker "
            "on the forefoot, else the zero of the angles is off."
        )
    return remarks


def _turning_foot(stance: Stance) -> list[str]:
    """A foot that turns where it should rest: pitch, and with it the loads, may be wrong."""
    turn = np.ptp(np.degrees(_mid_stance(stance)))
    if turn <= 8.0:
        return []
    return [f"The foot turns by {turn:.0f} deg in mid-stance, where a foot rests: the sign of an "
            "angle or of the knee moment may be wrong, and with it the pitch of the foot, the "
            "place of the push and what is left to the knee."]


def _mid_stance(stance: Stance) -> NDArray[np.float64]:
    """Pitch of the foot in mid-stance, rad."""
    return stance.pitch[(stance.percent >= 20.0) & (stance.percent <= 50.0)]


def _findings(recording: Recording, stance: Stance) -> list[str]:
    """What the checks found that is no reason to refuse."""
    remarks = []
    remarks += _pitch_findings(stance)
    travel = float(stance.cop[-6:].mean() - stance.cop[:6].mean())
    if travel < 0.1:
        remarks.append(f"The centre of pressure goes forward by {travel:.2f} foot lengths only, "
                       "from the first to the last quarter: right for a walker on the forefoot.")
    if "ankle_angle" in stance.values:
        moves = float(np.degrees(np.ptp(stance.values["ankle_angle"])))
        if moves < 1.0:
            remarks.append(f"The ankle moves by {moves:.1f} deg only: right in a rigid device, "
                           "else its unit is wrong.")
    if {"ankle_moment", "centre_of_pressure"} <= set(stance.values):
        gap, peak = moment_gap(stance.values["ankle_moment"], stance.moment, stance.percent,
                               pitch_known=stance.pitch_from.status != "assumed")
        remarks.append(f"The measured ankle moment and that of force and centre of pressure differ "
                       f"by at most {gap:.2f} N·m/kg ({100 * gap / peak:.0f} % of the peak); the "
                       "latter is used.")
    impulse = vertical_impulse(recording)
    if impulse is None:
        remarks.append("The impulse over a gait cycle was not checked: the file does not tell how "
                       "long the cycle is.")
    return remarks + list(_doubts(recording, stance))


def _doubts(recording: Recording, stance: Stance) -> tuple[str, ...]:
    """What the curves themselves put in question: the loads may be wrong by a factor."""
    turning = _turning_foot(stance)
    impulse = vertical_impulse(recording)
    if impulse is None or IMPULSE_BAND[0] <= impulse <= IMPULSE_BAND[1]:
        return tuple(turning)
    return (
        *turning,
        f"The vertical impulse is {impulse:.2f} body weights over the cycle; both legs without an "
        "aid carry about 0.5 each at steady speed. Right for an aided or uneven gait; else body "
        "mass, unit or foot-off is wrong, and with it every load.",
    )
