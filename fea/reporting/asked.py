# SPDX-License-Identifier: MIT
"""What is asked of a device, as the report prints it: life, use, and numbers from memory."""

from fea.check.requirements import Requirements
from fea.reporting.table import Table, table
from fea.reporting.words import standing

UNITS = {
    "months": ("months that it must last", ""),
    "strides_per_day": ("strides on the level", " a day"),
    "stair_strides_per_day": ("strides on stairs", " a day"),
    "stumbles_per_day": ("stumbles", " a day"),
    "standing_hours_per_day": ("hours under load", " a day"),
}


def requirements_table(asked: Requirements) -> Table:
    """Each number of the service with its standing, and what holds for numbers from memory."""
    rows: list[tuple[object, ...]] = []
    for name, (words, per) in UNITS.items():
        value, origin = getattr(asked.service, name), asked.service.origins.get(name)
        rows.append((
            words, "nothing asked" if value is None else f"{value:g}{per}",
            standing(origin.status) if origin else None, origin.source if origin else None,
            origin.note if origin else None))  # fmt: skip
    rows.append(("numbers from memory", "allowed" if asked.allow_memory else "forbidden",
                 None, None, None))  # fmt: skip
    return table("What is asked of the device; a requirements file replaces any of it. Strides are "
                 "those of the leg that wears it.",
                 ["what", ">asked", "standing", "source", "note"], rows)  # fmt: skip
