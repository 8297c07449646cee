# SPDX-License-Identifier: MIT
"""What rests on numbers from memory, where whoever asks forbids such numbers.

Meant are numbers of materials, partial factors and limits, and the stiffness of flesh where it is
the answer: under the skin. Stress rests on flesh too, through the loads that it hands to the
device; no file replaces that, so `FORBIDDEN` says it beside the numbers that stay.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fea.check.check import BUCKLING, Check, Finding, NotChecked, governing
from fea.check.pressure import TOPIC as SKIN
from fea.check.stiffness import TOPIC as ROTATION
from fea.device.device import Device
from fea.material.library import LibraryMaterial

_ELASTIC = ("youngs_modulus", "poisson_ratio", "e1", "e2", "nu12", "g12", "g13", "g23")

FORBIDDEN = (
    "Numbers from memory are forbidden: no check, share, map, life or largest body mass that is "
    "shown rests on a number of a material, a factor or a limit from memory, and pressure on the "
    "skin is left out. The mass of the device stays, by densities of which some are from memory. "
    "Forces, stress and movement are computed values and stay; they rest on the "
    "stiffness of flesh and liner, from memory, which no file replaces, and so do the checks that "
    "are left. From half to twice that stiffness the hardest check of the two shipped "
    "polypropylene devices for a child moves by 2 %, that of a foot plate by up to 40 %."
)
"""Measured on 14 mm cells with a rigid foot, under the walking envelope."""


ResultT = TypeVar("ResultT")


def without_memory(findings: Iterable[Finding], device: Device) -> tuple[Finding, ...]:
    """Findings in which every check that rests on memory is not checked, with the cure.

    Args:
        findings: of a device.
        device: whose materials they rest on.
    """
    elastic = elastic_from_memory({each.name: each for each in device.materials})
    return tuple(_judged(finding, elastic) for finding in findings)


def forgotten(result: ResultT, of_step: Sequence[Finding] = ()) -> ResultT:
    """An assessment without anything that rests on memory: findings, shares, maps, lives.

    A part of which any check of strength is refused has no share any more: what is left of its
    checks would pass for the hardest of them. So it is with its life.

    Args:
        result: an `fea.assessment.Assessment`.
        of_step: findings on the strength in its step, which serve no verdict.
    """
    whole: Any = result
    device = whole.device
    found = without_memory(whole.findings, device)
    pairs = list(zip(whole.findings, found, strict=True))
    pairs += zip(of_step, without_memory(of_step, device), strict=True)
    refused = [old for old, new in pairs if new is not old]
    worked = {old.zone for old in refused if _is_strength(old)}
    lasting = {old.zone for old in refused if old.horizon == "service life"}
    buckled = {old.case for old in refused if isinstance(old, Check) and old.topic == BUCKLING}
    checks, not_checked = governing(found)
    kept: ResultT = replace(
        whole, findings=found, checks=checks, not_checked=not_checked,
        cell_utilisation=_cells(whole, worked),
        **{name: _shares(getattr(whole, name), worked) for name in ("cases", "applied", "step")},
        buckles=tuple(each for each in whole.buckles if each.case not in buckled),
        life=tuple(row for row in whole.life if row.zone not in lasting),
        turning=replace(_bare(whole.turning, device), soft=None),
        skin=replace(_bare(whole.skin, device), bands=()),
    )  # fmt: skip
    return kept


def elastic_from_memory(materials: Mapping[str, LibraryMaterial]) -> tuple[str, ...]:
    """Elastic constants from memory, on which every stress of a device rests."""
    return tuple(
        f"{key.replace('_', ' ')} of {name}: {item.properties[key].status}"
        for name, item in materials.items()
        for key in _ELASTIC
        if key in item.properties and item.properties[key].from_memory
    )


def _is_strength(finding: Finding) -> bool:
    """Whether it makes a share of the stress that is allowed today."""
    return finding.horizon == "today" and finding.topic not in (BUCKLING, SKIN, ROTATION)


def _bare(part: Any, device: Device) -> Any:
    return replace(part, findings=without_memory(part.findings, device))


def _cells(result: Any, refused: set[str]) -> NDArray[np.float64]:
    """Shares of cells, none where a check of their wall is refused."""
    cells = np.array(result.cell_utilisation, dtype=float)
    for zone in refused & result.device.walls.keys():
        cells[result.device.mesh.zone(zone)[1]] = np.nan
    return cells


def _shares(cases: Iterable[Any], refused: set[str]) -> tuple[Any, ...]:
    """Cases without the shares of parts of which a check is refused."""
    return tuple(
        replace(case, utilisation={
            zone: share for zone, share in case.utilisation.items() if zone not in refused})
        for case in cases
    )  # fmt: skip


def _judged(finding: Finding, elastic: tuple[str, ...]) -> Finding:
    if isinstance(finding, NotChecked) and not finding.from_memory:
        return finding
    numbers = tuple(dict.fromkeys([*finding.from_memory, *elastic]))
    if not numbers:
        return finding
    return NotChecked(
        topic=finding.topic,
        zone=finding.zone,
        horizon=finding.horizon,
        because=f"rests on numbers from memory, which the requirements forbid: "
        f"{'; '.join(numbers)}. Measure them or read them in a source: a material file "
        "(--materials) replaces what a material brings, the requirements file the factors; no file "
        "replaces a limit or the stiffness of flesh",
    )
