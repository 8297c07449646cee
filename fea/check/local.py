# SPDX-License-Identifier: MIT
"""The places that the plain maximum of stress leaves out, judged by other means, or not at all.

Corners, held or rigid edges, and ends of ribs and struts on isotropic walls are judged by the
structural hot-spot stress, washers of fastenings by the check of the joint (`fea.check.joints`).
Laminates are judged by a rule for their notches (`fea.check.laminatepeak`), save at ends of struts.
Point loads and other washers are not checked.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fea.check.check import LOCAL_PEAK, Check, Finding, NotChecked
from fea.check.factors import Factors
from fea.check.hotspot import HotSpot, HotSpots, UnreadError
from fea.check.laminatepeak import DISTANCE, judge_laminate_peak
from fea.check.strength import Spot, judge_yield
from fea.device.device import Device
from fea.solver.recovery import Recovered
from fea.structure.singular import POINT, STRUT, WASHER, SingularPlace

UNREAD = "interlaminar shear and ply interaction"
"""Topic of what is not judged of a laminate at the places left out."""

_CURES = {
    WASHER: "it belongs to no fastening of the device; name it as one, or test it",
    POINT: "spread the force over the area that it acts on",
}
_LAMINATE = "no rule is known for the end of a bar on a laminate; test the place"
_BONDED = "no rule is known where something is bonded on; test the place"
_MIXED = "it lies between a laminate and a wall of one material; test the place"


def judge_local_peaks(
    device: Device,
    places: Sequence[SingularPlace],
    recovered: Recovered,
    cases: Sequence[str],
    factors: Factors,
) -> tuple[Finding, ...]:
    """Judge the places where stress does not converge.

    Args:
        device: its walls are the zones of the solutions.
        places: left out of the plain maximum.
        recovered: stress of all cases;  cases: their names.
        factors: partial factors.

    Returns:
        A check "local peak" of each zone and case, at the worst place that could be judged among
        those that touch the zone; and one not-checked entry for each zone and reason. A place that
        spans several zones is said of each: none of them is met without it. Together they name
        every place with its area.
    """
    whole, laminated = HotSpots(recovered), HotSpots(recovered, at=DISTANCE)
    judged: dict[tuple[str, str], list[tuple[SingularPlace, HotSpot]]] = {}
    missing: dict[tuple[str, str], list[SingularPlace]] = {}
    fastened = {fastening.shell_place for fastening in device.fastenings}
    for place in places:
        if place.reason == WASHER and place.name in fastened:
            continue
        touched = _touched(device, place)
        try:
            hot_spots = laminated if _is_laminate(device, place, touched) else whole
            spots = hot_spots.of(place)
            require_unbonded(device, [hot_spots.zone(spot) for spot in spots])
            for spot in spots:
                for zone in touched:
                    judged.setdefault((zone, hot_spots.zone(spot)), []).append((place, spot))
        except UnreadError as error:
            for zone in touched:
                missing.setdefault((zone, str(error)), []).append(place)
    findings: list[Finding] = [
        NotChecked(
            topic=LOCAL_PEAK,
            zone=zone,
            because=f"left out of the plain maximum, since stress does not converge there: "
            f"{left_out_words(group)}; {cure}",
        )
        for (zone, cure), group in missing.items()
    ]
    for (zone, wall), group in judged.items():
        hot_spots = whole if device.walls[wall].layup is None else laminated
        findings += _judge_zone(device, zone, wall, group, hot_spots, cases, factors)
    return tuple(findings)


def laminates_unread_at(
    device: Device, places: Sequence[SingularPlace]
) -> tuple[NotChecked, ...]:
    """What the rule for notches does not hold for where a laminate has places left out.

    Args:
        device: its walls are the zones of the solutions.
        places: left out of the plain maximum, those under washers too.

    Returns:
        One entry for each laminated zone of which a place leaves something out.
    """
    by_zone = {
        zone: [place for place in places if zone in _touched(device, place)]
        for zone, wall in device.walls.items() if wall.layup is not None
    }
    return tuple(
        NotChecked(topic=UNREAD, zone=zone, because=(
            "judged in the plane and stress by stress alone, if at all, where left out of the "
            f"plain maximum: {left_out_words(group)}; shear between plies and stresses of a ply "
            "together are not checked there; look for plies that part there at every visit"))
        for zone, group in by_zone.items() if group
    )


def left_out_words(places: Sequence[SingularPlace]) -> str:
    """Places by reason, each with its position and area.

    Example:
        >>> corner = SingularPlace("re-entrant corner", "", np.array([0]), (4.0, -3.2, 0.0),
        ...                        np.array([True]), 12.4)
        >>> left_out_words([corner, corner])
        're-entrant corner at (4, -3, 0) 12 mm² and at (4, -3, 0) 12 mm²'
    """
    by_reason: dict[str, list[str]] = {}
    for place in places:
        position = ", ".join(f"{value:.0f}" for value in place.point)
        by_reason.setdefault(place.reason, []).append(f"at ({position}) {place.area_mm2:.0f} mm²")
    return "; ".join(f"{reason} {_listed(where)}" for reason, where in by_reason.items())


def _listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _touched(device: Device, place: SingularPlace) -> list[str]:
    """The zones of which a place leaves something out."""
    return [zone for zone in device.walls if place.cells[device.mesh.zone(zone)[1]].any()]


def require_unbonded(device: Device, zones: Sequence[str]) -> None:
    """Refuse to judge places in a wall with something bonded on; raises `UnreadError`."""
    if any(device.walls[zone].layers for zone in zones):
        raise UnreadError(_BONDED)


def _is_laminate(device: Device, place: SingularPlace, touched: Sequence[str]) -> bool:
    """Whether a place lies in laminates; raises `UnreadError` where there is no rule for it."""
    if place.reason in _CURES:
        raise UnreadError(_CURES[place.reason])
    require_unbonded(device, touched)
    laminates = [device.walls[zone].layup is not None for zone in touched]
    if any(laminates) and not all(laminates):
        raise UnreadError(_MIXED)
    if any(laminates) and place.reason == STRUT:
        raise UnreadError(_LAMINATE)
    return any(laminates)


def _judge_zone(
    device: Device,
    zone: str,
    wall: str,
    group: Sequence[tuple[SingularPlace, HotSpot]],
    hot_spots: HotSpots,
    cases: Sequence[str],
    factors: Factors,
) -> list[Finding]:
    """Hot spots that lie in a wall, said of a zone that their places touch."""
    places = list(dict.fromkeys(place for place, _ in group))
    read = "" if wall == zone else f" read in the wall of zone '{wall}',"
    if device.walls[wall].layup is not None:
        what = f"stress {DISTANCE:g} mm from the worst of {left_out_words(places)},{read}"
        spots = [spot for _, spot in group]
        return judge_laminate_peak(
            zone, device.walls[wall], spots, what, hot_spots, cases, factors
        )
    points = np.array([spot.point for _, spot in group])
    stress, error = zip(*(hot_spots.stress(spot) for _, spot in group), strict=True)
    findings: list[Finding] = []
    for k, case in enumerate(cases):
        judgement = judge_yield(
            Spot(zone, case, points),
            np.stack([values[k] for values in stress], axis=1),
            device.walls[wall].material,
            factors,
            np.stack([values[k] for values in error], axis=1),
            topic=LOCAL_PEAK,
            what=f"structural hot-spot stress, worst of {left_out_words(places)},{read}",
        )
        findings += [_borrowed(finding) for finding in judgement.findings]
    return findings


def _borrowed(finding: Finding) -> Finding:
    """A finding with the source of the hot-spot stress and what it was made for."""
    if not isinstance(finding, Check):
        return finding
    note = "the rule is borrowed from welded joints, and what a notch adds within a wall "
    note += "thickness is not in it"
    return replace(
        finding,
        sources=tuple(dict.fromkeys([*finding.sources, "hobbacher-2016"])),
        note="; ".join(filter(None, [finding.note, note])),
    )
