# SPDX-License-Identifier: MIT
"""Shear between the plies at a free edge, where a twisted wall turns its shear round.

At a free edge the shear stress of twisting cannot go on in the plane: within about one wall
thickness it turns through the wall, as at the short sides of a twisted bar. Cells of the size of
the wall do not see that, so inside of such a strip the shear force says too little, and the finer
the cells the more. Shear theory has the strip in closed form: with D66 the stiffness in twisting,
S that in transverse shear along the edge and λ = √(S / D66), the shear force at the edge is λ times
the twisting moment M beside the strip, which at the distance d has come up to M (1 − exp(−λ d)).
One isotropic layer comes to 0.79 of the shear stress on its faces; elasticity has 0.74. For layers
that differ tenfold in shear it lies within -5 and +20 % of elasticity (tests).

What plies of different angles do to each other at an edge under load in the plane is not in it.

Source: timoshenko-goodier-1970 (torsion of a narrow rectangle); reissner-1945 for the strip.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.solver.recovery import UNSUPPORTED, Recovered
from fea.structure.sections import ShellSection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

BELOW = 0.05
"""Share by which the closed form may fall short of elasticity in a layered wall; part of the error.
Found by tests/solver/test_solver_edge_shear.py."""

_ACROSS = 60  # heights between the faces at which the largest stress is sought


@dataclass(frozen=True, eq=False)
class EdgeShear:
    """The shear stress along the free edge of one zone, at its height of most stress.

    Attributes:
        nodes: (e,) of the zone on the rim.
        unread: (u,) the other ones, in a zone one cell wide: no moment beside the edge is known.
        stress: (cases, e) MPa, 0 or more.
        error: (cases, e) estimated error of it, MPa.
    """

    nodes: IntArray
    stress: Array
    error: Array
    unread: IntArray


def beside_an_edge(recovered: Recovered, zone: str) -> NDArray[np.bool_]:
    """Corners (c, 3) of a zone's cells within one wall thickness of an edge.

    That is a free edge, or where plies end or the wall folds: there shear turns round likewise, and
    no closed form is at hand.
    """
    layup, cells = _laminated(recovered, zone)
    recovery = recovered.recovery
    nodes = recovery.system.structure.mesh.cells["triangle"][cells]
    nearest = np.minimum(recovery.rim_distance, recovery.border_distance)
    return np.asarray(nearest[nodes] < layup.thickness)


def edge_shear(recovered: Recovered, zone: str) -> EdgeShear:
    """Interlaminar shear stress at the free edges of a laminated zone.

    Args:
        recovered: of a system of which the zone is a part.
        zone: of triangles with a laminate.

    Raises:
        ModelError: the zone is no laminate.
    """
    layup, cells = _laminated(recovered, zone)
    mesh, rim = recovered.recovery.system.structure.mesh, recovered.recovery.rim
    corners = mesh.cells["triangle"][cells]
    edge = np.flatnonzero(np.isin(rim.nodes, corners))
    if not len(edge) or not recovered.recovery.rim_distance[corners].any():
        none = np.zeros((len(recovered.solutions), 0))
        return EdgeShear(rim.nodes[:0], none, none, rim.nodes[edge])
    row, corner = _inside(recovered, layup.thickness, corners, mesh.points[rim.nodes[edge]])
    beside = rim.neighbours[edge]
    ends = np.where(beside >= 0, rim.nodes[beside], rim.nodes[edge][:, None])
    along = mesh.points[ends[:, 1]] - mesh.points[ends[:, 0]]
    axes = recovered.recovery.shells.facets.axes[cells[row], :2]
    angle = np.arctan2(*(axes @ along[:, :, None])[:, ::-1, 0].T)
    twist = _twisting(recovered, zone, cells[row], corner, angle)
    peak, rate = np.array([per_twisting_moment(layup, round(a) % 180) for a in np.degrees(angle)]).T
    away = recovered.recovery.rim_distance[corners[row, corner]]
    per_moment = peak / -np.expm1(-rate * away)
    doubt = _moment_error(recovered, zone, cells)[:, row, corner]
    few = recovered.few(cells)[row, corner]
    doubt[:, few] = np.maximum(doubt[:, few], UNSUPPORTED * twist[:, few])
    error = per_moment * (doubt + BELOW * twist)
    return EdgeShear(rim.nodes[edge], per_moment * twist, error, rim.nodes[:0])


def _laminated(recovered: Recovered, zone: str) -> tuple[Laminate, IntArray]:
    structure = recovered.recovery.system.structure
    section = structure.sections.get(zone)
    if not isinstance(section, ShellSection) or not isinstance(section.material, Laminate):
        raise ModelError(f"zone '{zone}' is no laminate; it has no plies that could shear")
    return section.material, structure.mesh.zone(zone)[1]


def _inside(
    recovered: Recovered, thickness: float, corners: IntArray, edge: Array
) -> tuple[IntArray, IntArray]:
    """Row and corner of a cell beyond the strip, nearest to each point of the edge (e, 3).

    In a wall too narrow for that, nearest among those farthest from all edges.
    """
    points = recovered.recovery.system.structure.mesh.points
    distance = recovered.recovery.rim_distance[corners]
    beyond = np.flatnonzero(distance.ravel() >= min(thickness, 0.9 * distance.max()))
    nearest = beyond[cKDTree(points[corners.ravel()[beyond]]).query(edge)[1]]
    return nearest // 3, nearest % 3


def _moments(recovered: Recovered, zone: str, forces: Array) -> Array:
    """Moments (..., 3, cases) about the middle of the wall of forces (..., 8, cases)."""
    section = recovered.recovery.system.structure.sections[zone]
    assert isinstance(section, ShellSection)
    return np.asarray(forces[..., 3:6, :] - section.offset * forces[..., :3, :])


def _twisting(
    recovered: Recovered, zone: str, cells: IntArray, corner: IntArray, angle: Array
) -> Array:
    """Size (cases, e) of the twisting moment in axes turned by an angle."""
    m11, m22, m12 = np.moveaxis(
        _moments(recovered, zone, recovered.corners[cells, :, corner]), 1, 0
    )
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    return np.abs(c * s * (m22 - m11) + (c * c - s * s) * m12).T


def _moment_error(recovered: Recovered, zone: str, cells: IntArray) -> Array:
    """Error (cases, c, 3) of the twisting moment, whatever the axes."""
    near = np.unique(recovered.taken(cells)[1])
    apart = recovered.corners[near].mean(axis=2) - recovered.cells[near]
    m11, m22, m12 = np.moveaxis(_moments(recovered, zone, apart), 1, 0)
    return recovered.largest(cells, near, np.hypot(0.5 * (m11 - m22), m12).T)


@lru_cache(maxsize=4096)
def per_twisting_moment(layup: Laminate, angle_deg: float) -> tuple[float, float]:
    """Largest shear stress at an edge per twisting moment beside it, 1/mm²; and λ, 1/mm.

    Args:
        layup: of the wall.
        angle_deg: of the edge from axis 1 of the laminate.

    Example:
        >>> from fea.material.isotropic import Isotropic
        >>> peak, rate = per_twisting_moment(Laminate(Isotropic(1000.0, 0.3), [0.0], 2.0), 0)
        >>> round(peak * 2.0**2 / 6.0, 3), round(rate * 2.0 / 10**0.5, 6)
        (0.791, 1.0)
    """
    turned = Laminate(layup.plies, [a - angle_deg for a in layup.angles_deg], layup.thicknesses)
    a, b, d = turned.abd[:3, :3], turned.abd[:3, 3:], turned.abd[3:, 3:]
    twisting = (d - b @ np.linalg.solve(a, b))[2, 2]
    heights = np.linspace(-0.5, 0.5, _ACROSS + 1) * layup.thickness
    stress = turned.interlaminar_shear(np.zeros(6), [0, 0, 0, 0, 0, 1.0], heights)[:, 0]
    stress = stress - (heights / layup.thickness + 0.5) * stress[-1]
    rate = float(np.sqrt(turned.transverse_shear[0, 0] / twisting))
    return float(np.abs(stress).max()) * rate, rate
