# SPDX-License-Identifier: MIT
"""Checks that rest on numbers from memory, where whoever asks forbids such numbers.

Meant are numbers that tests or a book can replace: those of the device's materials, partial
factors, and limits. What loads and flesh rest on is said beside them and is not touched here; no
test of the device would settle it.
"""

from collections.abc import Iterable, Mapping

from fea.check.check import Finding, NotChecked
from fea.device.device import Device
from fea.material.library import LibraryMaterial

_ELASTIC = ("youngs_modulus", "poisson_ratio", "e1", "e2", "nu12", "g12", "g13", "g23")


def without_memory(findings: Iterable[Finding], device: Device) -> tuple[Finding, ...]:
    """Findings in which every check that rests on memory is not checked, with the cure.

    Args:
        findings: of a device.
        device: whose materials they rest on.
    """
    elastic = elastic_from_memory({each.name: each for each in device.materials})
    return tuple(_judged(finding, elastic) for finding in findings)


def elastic_from_memory(materials: Mapping[str, LibraryMaterial]) -> tuple[str, ...]:
    """Elastic constants from memory, on which every stress of a device rests."""
    return tuple(
        f"{key.replace('_', ' ')} of {name}: {item.properties[key].status}"
        for name, item in materials.items()
        for key in _ELASTIC
        if key in item.properties and item.properties[key].from_memory
    )


def _judged(finding: Finding, elastic: tuple[str, ...]) -> Finding:
    if isinstance(finding, NotChecked):
        return finding
    numbers = tuple(dict.fromkeys([*finding.from_memory, *elastic]))
    if not numbers:
        return finding
    return NotChecked(
        topic=finding.topic,
        zone=finding.zone,
        horizon=finding.horizon,
        because=f"rests on numbers from memory, which the requirements forbid: "
        f"{'; '.join(numbers)}. Measure them or read them in a source, and lay a material file "
        "over the library (--materials) or write factors into the requirements",
    )
