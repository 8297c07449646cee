# SPDX-License-Identifier: MIT
"""Whether two values hold the same numbers, and what one structure has that another has not."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass

import numpy as np

from fea.structure.model import Structure
from fea.structure.sections import Section


def alike(one: object, other: object) -> bool:
    """Whether two values hold the same: dataclasses field by field, arrays number by number.

    Example:
        >>> alike({"wall": np.ones(2)}, {"wall": np.ones(2)}), alike((1.0, 2.0), (1.0, 3.0))
        (True, False)
    """
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return np.array_equal(one, other)
    if is_dataclass(one):
        return all(alike(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, (tuple, list)) and isinstance(other, (tuple, list)):
        return len(one) == len(other) and all(map(alike, one, other))
    return bool(one == other)


def other_sections(structure: Structure, before: Structure) -> dict[str, Section] | None:
    """The sections by which a structure differs from one of the same shape.

    Args:
        structure: the new one;  before: the old one.

    Returns:
        Zone to its new section, none where nothing differs; None where the meshes, the kinds of
        section, or what holds, ties and beds them differ.

    Example:
        >>> import fea
        >>> mesh = fea.Mesh([[0, 0, 0], [9, 0, 0], [0, 9, 0]], {"triangle": [[0, 1, 2]]},
        ...                 zones={"wall": ("triangle", [0])})
        >>> steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
        >>> thin, thick = (fea.Structure(mesh, {"wall": fea.ShellSection(steel, thickness=t)})
        ...                for t in (2.0, 3.0))
        >>> other_sections(thick, thin)["wall"].thickness, other_sections(thin, thin)
        (3.0, {})
    """
    kinds, old_kinds = (
        {zone: type(section) for zone, section in each.sections.items()}
        for each in (structure, before)
    )
    shape = ("mesh", "supports", "ties", "beds", "bodies", "straps", "springs")
    if kinds != old_kinds or not all(
        alike(getattr(structure, name), getattr(before, name)) for name in shape
    ):
        return None
    return {
        zone: section
        for zone, section in structure.sections.items()
        if not alike(section, before.sections[zone])
    }
