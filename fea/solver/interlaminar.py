# SPDX-License-Identifier: MIT
"""Shear stress between the plies of a laminated shell, from equilibrium.

In each cell the slopes of the recovered section forces say how the stress in the plane changes from
place to place, and that change, summed through the wall, is balanced by transverse shear
(`Laminate.interlaminar_shear`). What the membrane forces leave over at the top is taken up by the
curvature of the wall and by what rubs on it; it is spread evenly through the wall, so that both
faces are free. The vectors of the cells are then recovered at the corners like section forces, with
the same estimate of their error. Slopes scatter where cells are irregular, and the error says so.

Source: rohwer-1988; zienkiewicz-zhu-1992 for the recovery.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.solver.recovery import UNSUPPORTED, Recovered
from fea.structure.sections import ShellSection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class InterlaminarShear:
    """Interlaminar shear stress of one zone.

    Attributes:
        heights: (k,) above the middle of the wall, mm: the middle of each ply and the face between
            it and the next one by turns, from the bottom.
        stress: (cases, c, 3, k, 2) stress 13 and 23 in laminate axes at the corners of the cells,
            MPa.
        error: (cases, c, 3, k) estimated error of its magnitude, MPa.
    """

    heights: Array
    stress: Array
    error: Array


def interlaminar_shear(recovered: Recovered, zone: str) -> InterlaminarShear:
    """Interlaminar shear stress of a laminated zone.

    Args:
        recovered: of a system of which the zone is a part.
        zone: of triangles with a laminate.

    Raises:
        ModelError: the zone is no laminate.
    """
    structure = recovered.recovery.system.structure
    section = structure.sections.get(zone)
    if not isinstance(section, ShellSection) or not isinstance(section.material, Laminate):
        raise ModelError(f"zone '{zone}' is no laminate; it has no plies that could shear")
    cells = structure.mesh.zone(zone)[1]
    near = np.unique(recovered.taken(cells)[1])
    far = np.unique(recovered.taken(near)[1])
    heights, to_stress = _map(section.material)
    said = np.tensordot(_slopes(recovered, section, far), to_stress, ([2, 3], [0, 1]))
    fitted = _at_corners(recovered, near, far, said)
    apart = fitted.mean(axis=2) - said[:, np.searchsorted(far, near)]
    error = recovered.largest(cells, near, np.linalg.norm(apart, axis=-1))
    stress = fitted[:, np.searchsorted(near, cells)]
    few = recovered.few(cells)
    least = UNSUPPORTED * np.linalg.norm(stress[:, few], axis=-1)
    error[:, few] = np.maximum(error[:, few], least)
    return InterlaminarShear(heights, stress, error)


def _heights(layup: Laminate) -> Array:
    """(2 p - 1,) middles of the plies and the faces between them, bottom to top."""
    faces = layup.interfaces
    return np.sort(np.concatenate([faces[1:-1], 0.5 * (faces[:-1] + faces[1:])]))


def _slopes(recovered: Recovered, section: ShellSection, cells: IntArray) -> Array:
    """Slopes (cases, c, 6, 2) of N and M about the middle of the wall, in cells of one section."""
    slopes = recovered.slopes(cells)
    slopes[:, :, 3:] -= section.offset * slopes[:, :, :3]
    few = recovered.few(cells).any(axis=1)
    if few.any():  # no slopes there: cylindrical bending under the shear forces of the cells
        slopes[:, few] = 0.0
        slopes[:, few, 3, 0] = recovered.means[:, cells[few], 6]
        slopes[:, few, 4, 1] = recovered.means[:, cells[few], 7]
    return slopes


@lru_cache(maxsize=64)
def _map(layup: Laminate) -> tuple[Array, Array]:
    """Heights (k,), and (6, 2, k, 2) from slopes along both axes to stress there, faces free.

    The same for all cases of a layup.
    """
    heights = _heights(layup)
    at = np.append(heights, 0.5 * layup.thickness)
    one, none = np.eye(6), np.zeros((6, 6))
    stress = np.stack(
        [layup.interlaminar_shear(one, none, at), layup.interlaminar_shear(none, one, at)], axis=1
    )
    share = heights / layup.thickness + 0.5
    return heights, stress[:, :, :-1] - share[:, None] * stress[:, :, -1:]


def _at_corners(recovered: Recovered, cells: IntArray, around: IntArray, said: Array) -> Array:
    """Stress (cases, c, 3, k, 2) fitted at the corners of some cells to what those around say."""
    cases, count, heights, _ = said.shape
    values = said.transpose(1, 3, 0, 2).reshape(count, 2, -1)
    fitted = recovered.recovery.fit.corner_vectors(cells, around, values)
    return fitted.reshape(len(cells), 3, 2, cases, heights).transpose(3, 0, 1, 4, 2)
