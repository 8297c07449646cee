# SPDX-License-Identifier: MIT
"""Pressure on the skin of the shank, against the level at which people say that it hurts.

What is a requirement, and what is a flag:

- Required is that the mean over a pad stays below the lowest level that was read for pain. It was
  measured on healthy adults with a cuff round the knee, under pressure that stays; pressure that
  comes and goes, as in steps, hurt at a somewhat higher one. The lower is taken for steps too,
  since a wearer also stands still, and since it is a mean: some of those asked felt pain earlier.
  Wide cuffs hurt at lower pressure than narrow ones (kermavnar-2020-width), so a pad of 20 cm² is
  on the safe side.
- Flagged is what lies above the level of discomfort: in steps, of pressure that comes and goes; in
  a posture that is held, such as crouch or kneeling, the much lower one of pressure that stays.
- Over bone, half of the pain level is where common practice begins to relieve the wall. No source
  backs the half, and the wall is modelled without relief; so beyond it the place is called not
  checked, which is never a pass, and beyond the whole level it fails.

None of this says that skin stays whole. That depends on time, moisture, sensation and fit, and is
seen on the skin alone.
"""

from collections.abc import Iterable, Mapping

from fea.check.check import Check, Finding, NotChecked
from fea.check.touch import (
    BONE_RADIUS,
    BONES,
    PAD,
    REACH,
    Bone,
    PadReading,
    Touch,
    over_bone,
    read_pads,
)
from fea.device.device import Device
from fea.device.facing import FOOT_BODY, SHANK_BODY
from fea.solver.solution import Solution
from fea.structure.tissue import SHANK

TOPIC = "skin pressure"

PAIN_KPA = (52.9, 60.6)
"""Pain under pressure that stays, and that comes and goes. Source: kermavnar-2020 (read)."""

DISCOMFORT_KPA = (13.7, 30.4)
"""Discomfort under pressure that stays, and that comes and goes. Source: kermavnar-2020 (read)."""

OVER_BONE = 0.5
"""Share of the pain level at which a wall over bone is to be relieved. Source: practice."""

CAUTION = (
    "A level of what healthy adults say that they feel, no proof that skin stays whole: look at "
    "the skin after the first steps and every day; the clinician decides"
)

FLESH = f"stiffness of flesh and liner: {SHANK.status}"
"""On which every pressure rests, whatever the device is made of."""

_PLACES = {
    "wall": f"highest mean over {PAD / 100:g} cm² of wall",
    "bone": f"mean over a disc of {BONE_RADIUS:g} mm radius",
    "strap": "tension over width and radius of the limb, strap not worn tight",
}


def check_pressure(
    device: Device, solutions: Mapping[str, Solution], *, held: bool = False
) -> tuple[Finding, ...]:
    """Every zone, bony place and strap of the shank in every case, and what cannot be judged.

    Args:
        device: gives landmarks and straps; its zones are those of the solutions.
        solutions: case name to solution; all share one structure.
        held: whether they are postures that stay.
    """
    if not solutions:
        return ()
    pads = [check_pad(reading, held=held) for reading in read_pads(device, solutions)]
    return (*pads, *_gaps(device, solutions))


def discomfort(held: bool) -> tuple[float, str]:
    """The level of discomfort, kPa, and for which pressure it stands, in words.

    Example:
        >>> discomfort(True)
        (13.7, 'in a posture that is held')
    """
    if held:
        return DISCOMFORT_KPA[0], "in a posture that is held"
    return DISCOMFORT_KPA[1], "in steps"


def check_pad(reading: PadReading, *, held: bool = False) -> Check:
    """The pressure on one part against the lowest level of pain.

    Args:
        reading: of the part.
        held: whether the posture is one that stays.

    Example:
        >>> pad = PadReading("front piece", "wall", "push-off", 0.040, 0.055, (30.0, 0.0, 380.0))
        >>> check = check_pad(pad)
        >>> check.demand, check.capacity, check.met, check.flag
        (40.0, 52.9, True, 'above 30.4 kPa, where discomfort begins in steps')
    """
    mean, peak = 1000.0 * reading.mean, 1000.0 * reading.peak
    level, when = discomfort(held)
    flag = f"above {level:g} kPa, where discomfort begins {when}" if mean > level else ""
    against = (
        f"against the level at which a cuff round the knee that stays hurt, {PAIN_KPA[0]:g} kPa: "
        "the posture is held"
        if held
        else "against the lower of the levels at which a cuff round the knee hurt, "
        f"{PAIN_KPA[0]:g} to {PAIN_KPA[1]:g} kPa"
    )
    beside = f"; the peak at a point, {peak:.0f} kPa, has no limit"
    return Check(
        topic=TOPIC,
        zone=reading.part,
        case=reading.case,
        place=reading.place,
        demand=mean,
        capacity=PAIN_KPA[0],
        unit="kPa",
        required=1.0,
        basis=f"{_PLACES[reading.kind]}, {against}; no partial factor: not a strength",
        sources=("kermavnar-2020", "tolerance-pad-2021"),
        note=f"{CAUTION}{'' if reading.kind == 'strap' else beside}; {FLESH}",
        flag=flag,
    )


def bone_flag(reading: PadReading) -> NotChecked | None:
    """What is said of a bony place that is pressed harder than practice leaves it; else None.

    Example:
        >>> crest = PadReading("tibial crest", "bone", "push-off", 0.030, 0.040, (30.0, 0.0, 350.0))
        >>> bone_flag(crest).topic
        'relief over bone'
    """
    level = OVER_BONE * PAIN_KPA[0]
    if reading.kind != "bone" or 1000.0 * reading.mean <= level:
        return None
    return NotChecked(
        topic="relief over bone",
        zone=reading.part,
        because=f"{1000.0 * reading.mean:.0f} kPa over a disc of {BONE_RADIUS:g} mm radius "
        f"('{reading.case}') is more than {level:.0f} kPa, half the level of pain, from which "
        "common practice (no source) relieves bone; the wall is modelled without relief, so "
        "relieve it there, look at the skin, and expect more pressure beside the relief",
        from_memory=(FLESH,),
    )


def _gaps(device: Device, solutions: Mapping[str, Solution]) -> list[NotChecked]:
    touches = [Touch.of(solutions, body) for body in (SHANK_BODY, FOOT_BODY)]
    gaps = [gap for bone in BONES if (gap := _bone_gap(device, bone, touches))]
    gaps.append(
        NotChecked(
            topic=TOPIC,
            zone="foot",
            because="no level was read for sole, heel and sides of the foot; how they are pressed "
            "is not judged, so look at the skin there",
        )
    )
    return gaps


def _bone_gap(device: Device, bone: Bone, touches: list[Touch]) -> NotChecked | None:
    """Why a bony place is not judged, if it is not."""
    if bone.landmark not in device.landmarks:
        because = f"the device names no landmark '{bone.landmark}'; name it to have it judged"
    elif not len(over_bone(device, bone, touches)[1]):
        because = (
            f"no wall that presses on the limb comes within {REACH:g} mm of it in this model; make "
            "sure on the limb that the device stays clear of it"
        )
    else:
        return None
    return NotChecked(topic=TOPIC, zone=bone.name, because=because)


def hardest_pads(pads: Iterable[PadReading]) -> dict[str, PadReading]:
    """The reading of highest mean of every part."""
    hardest: dict[str, PadReading] = {}
    for pad in pads:
        if pad.part not in hardest or pad.mean > hardest[pad.part].mean:
            hardest[pad.part] = pad
    return hardest
