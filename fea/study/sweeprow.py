# SPDX-License-Identifier: MIT
"""One design of a sweep as one row: what was varied, and what was found of it.

Units stand in the names of the columns. A utilisation is the share used of what is allowed, all
required factors counted, so that 1 is the limit; a reserve is one over it.
"""

import math
import re
from collections.abc import Iterable, Mapping

from fea.assessment import Assessment
from fea.check.check import Check
from fea.check.verdict import Outlook, grouped, outlooks
from fea.study.benchcurve import N_M_PER_DEG
from fea.study.comparednumbers import Numbers

Cell = float | int | str | bool | None
Row = Mapping[str, Cell]

SHARE = "utilisation "
"""Head of the columns of topics: the highest share used of what is allowed, over zones, cases and
horizons; empty where nothing was checked under that topic."""

JUDGED, FAILED = "judged", "failed"


def row_of(result: Assessment) -> dict[str, Cell]:
    """What was found of one design.

    `ankle_stiffness_nm_per_deg` is the external moment about the ankle that the device carries
    over the rotation, flesh included, in the instant that turns the ankle furthest (`ankle_case`).
    `skin_pressure_kpa` is that of the hardest pressed pad on the shank, flesh soft or stiff.
    `life_months` is that of the zone that lasts shortest; empty where life is only known as a
    class, which `life_state` tells. An `error_share` is the part of a check's demand that is
    estimated error of the mesh; empty where there is no estimate.
    """
    worst = result.checks[0] if result.checks else None
    row: dict[str, Cell] = {
        "state": JUDGED,
        "verdict": result.verdict,
        **_numbers(result),
        **_check("governing", worst),
        "governing_horizon": worst.horizon if worst else None,
        "not_checked": len(grouped(result.not_checked)),
    }
    for outlook in outlooks(result.checks, result.not_checked):
        row |= _outlook(outlook)
    row |= _life(result)
    for topic, share in sorted(_by_topic(result.checks).items()):
        row[f"{SHARE}{topic}"] = share
    return row


def failed_row(because: str) -> dict[str, Cell]:
    """The row of a design that could not be judged."""
    return {"state": FAILED, "reason": because}


def columns_of(rows: Iterable[Row], varied: Iterable[str]) -> list[str]:
    """The columns of a table of rows: number, what was varied, what was found, topics, the rest.

    Example:
        >>> columns_of([{"design": 1, "gap": 4, "state": "failed", "reason": "thin"},
        ...             {"design": 2, "gap": 5, "state": "judged", "utilisation yield": 0.5}],
        ...            ["gap"])
        ['design', 'gap', 'state', 'utilisation yield', 'reason']
    """
    found = list(dict.fromkeys(column for row in rows for column in row))
    topics = sorted(column for column in found if column.startswith(SHARE))
    first, last = ["design", *varied], ["seconds", "reason"]
    middle = [column for column in found if column not in {*first, *topics, *last}]
    return [*first, *middle, *topics, *(column for column in last if column in found)]


def _numbers(result: Assessment) -> dict[str, Cell]:
    turned = [case for case in result.cases if case.ankle_rotation]
    hardest = max(turned, key=lambda case: abs(case.ankle_rotation), default=None)
    found = Numbers.of(result, hardest.name if hardest else "")
    soft, stiffness, pressure = found.soft_rotation, found.stiffness, found.pressure
    return {
        "mass_g": 1000.0 * found.mass,
        "ankle_rotation_deg": math.degrees(found.rotation),
        "ankle_rotation_warm_soft_deg": None if soft is None else math.degrees(soft),
        "ankle_stiffness_nm_per_deg": None if stiffness is None else stiffness / N_M_PER_DEG,
        "ankle_case": hardest.name if hardest else None,
        "shin_force_n": found.shin_force if result.cases else None,
        "skin_pressure_kpa": None if pressure is None else 1000.0 * pressure,
        "skin_pressure_part": found.pressed or None,
    }


def _check(head: str, check: Check | None) -> dict[str, Cell]:
    return {
        f"{head}_topic": check.topic if check else None,
        f"{head}_zone": check.zone if check else None,
        f"{head}_case": check.case if check else None,
        f"{head}_factor": check.factor if check else None,
        f"{head}_required": check.required if check else None,
        f"{head}_reserve": _over(check.utilisation) if check else None,
        f"{head}_error_share": _error_share(check) if check else None,
    }


def _error_share(check: Check) -> float | None:
    if check.error is None:
        return None
    return check.error / check.demand if check.demand > 0.0 else 0.0


def _over(share: float) -> float:
    return 1.0 / share if share > 0.0 else math.inf


def _outlook(outlook: Outlook) -> dict[str, Cell]:
    head = re.sub(r"\W+", "_", outlook.horizon)
    return {
        f"{head}_state": outlook.state,
        **_check(head, outlook.worst),
        f"{head}_not_checked": len(grouped(outlook.gaps)),
    }


def _life(result: Assessment) -> dict[str, Cell]:
    shortest = result.life[0] if result.life else None
    return {
        "life_months": shortest.months if shortest else None,
        "life_state": shortest.state if shortest else None,
        "life_zone": shortest.zone if shortest else None,
    }


def _by_topic(checks: Iterable[Check]) -> dict[str, float]:
    worst: dict[str, float] = {}
    for check in checks:
        worst[check.topic] = max(worst.get(check.topic, 0.0), check.utilisation)
    return worst
