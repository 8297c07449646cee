# SPDX-License-Identifier: MIT
"""How a buckling factor answers to displacement and to the thickness of each cell.

With K φ = λ S φ, where the softening S is linear in the forces of the case, 1/λ = φᵀ S φ / φᵀ K φ
does not change with φ to first order. So its rates follow from those of S and K at the shape as it
is: of S through the displacements, which the adjoint equations take, and through the forces that a
thicker cell makes of the same displacements. Idle springs stay idle, as in the factor itself.

Source: choi-kim-2005 (simple eigenvalues).
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.check.stability import knock_down
from fea.element import geometric
from fea.errors import UnsupportedError
from fea.solver.parts import BedSprings, Shells, Struts
from fea.solver.solution import Solution
from fea.study.response import Response
from fea.study.thickening import STEP, Thickening, force_matrices

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_ENDS = np.array([-1.0, 1.0])[:, None]
"""Sign of the section forces at both ends of a strut, of the forces on its nodes."""


def buckling_response(
    solution: Solution, thickening: Thickening, factor: float, shape: Array
) -> Response:
    """1/λ of one case, for an eigenvalue that stands alone.

    Args:
        solution: the case;  thickening: of its system.
        factor: λ, precise to about 1e-8.
        shape: (N,) of it, bodies included, of any size.

    Raises:
        UnsupportedError: solids, which have no thickness.
    """
    system = solution.system
    if system.bulk is not None:
        raise UnsupportedError("a buckling factor of solids has no slope by thickness")
    slope = np.zeros_like(solution.vector)
    taken, own = 0.0, [np.zeros(0), np.zeros(0)]
    if system.shells is not None:
        moved, motion = shape[system.shells.dofs], solution.shell_motion
        per = _per_membrane(system.shells, moved)
        above, below = (_membrane_maps(each) for each in thickening.shells)
        here = np.einsum("ck,ckd->cd", per, _membrane_maps(system.shells))
        np.add.at(slope, system.shells.dofs, here)
        taken += float(np.sum(here * motion))
        own[0] = np.einsum("ck,ckd,cd->c", per, above - below, motion) / (2.0 * STEP)
    if system.struts is not None:
        moved, motion = (each[system.struts.dofs] for each in (shape, solution.vector))
        here = _strut_rows(system.struts, moved)
        np.add.at(slope, system.struts.dofs, here)
        taken += float(np.sum(here * motion))
        high, low = (np.sum(_strut_rows(each, moved) * motion, axis=1)
                     for each in thickening.struts)  # fmt: skip
        own[1] = (high - low) / (2.0 * STEP)
    for springs in system.beds:
        if springs.bed.body is not None:
            here = _bed_rows(springs, solution, shape)
            np.add.at(slope, springs.dofs, here)
            taken += float(np.sum(here * solution.vector[springs.dofs]))
    worked = thickening.work_rates(shape, shape)
    energy = factor * taken  # φᵀ K φ
    triangles, lines = (
        (rates - each / factor) / energy for rates, each in zip(own, worked, strict=True)
    )
    return Response(solution, 1.0 / factor, slope / energy, triangles, lines)


def knocked_down(response: Response, cell: int, slenderness: float | None) -> Response:
    """The same, over the share that imperfections leave, which hangs on the wall of one triangle.

    Args:
        response: of a buckling factor.
        cell: where it buckles;  slenderness: of the wall there, as for `knock_down`.
    """
    if slenderness is None or not math.isfinite(slenderness):
        return response
    high, low = (
        math.log(knock_down(slenderness / (1.0 + sign * STEP)).value) for sign in (1.0, -1.0)
    )
    triangles = response.triangles.copy()
    triangles[cell] -= response.value * (high - low) / (2.0 * STEP)
    return replace(response, triangles=triangles)


def _work(moved: Array, matrices: Array) -> Array:
    return np.asarray(np.einsum("ci,cij,cj->c", moved, matrices, moved))


def _per_membrane(shells: Shells, moved: Array) -> Array:
    """What each membrane force (c, 3) of a triangle takes from the work of a shape."""
    forces = -np.eye(3)[:, None] * np.ones((1, len(moved), 1))
    return np.stack(
        [_work(moved, geometric.shell_matrices(shells.facets, each)) for each in forces], axis=1
    )


def _membrane_maps(shells: Shells) -> Array:
    """Matrices (c, 3, 18) from the motion of all triangles to their membrane forces."""
    return force_matrices(shells, np.arange(len(shells.dofs)))[:, :3]


def _strut_rows(struts: Struts, moved: Array) -> Array:
    """Rows (m, 12) from the motion of a strut's nodes to what it takes from the work of a shape."""
    own, count = struts.properties, len(moved)
    radius_squared = (own.bending_y + own.bending_z) / own.axial
    local = struts.local_matrices() @ struts.frames.to_ends
    to_forces = _ENDS[:, :, None] * local.reshape(count, 2, 6, -1)
    rows = np.zeros((count, local.shape[2]))
    for end in range(2):
        for component in range(6):
            force = np.zeros((count, 2, 6))
            force[:, end, component] = -1.0
            taken = _work(moved, geometric.strut_matrices(struts.frames, force, radius_squared))
            rows += taken[:, None] * to_forces[:, end, component]
    return rows


def _bed_rows(springs: BedSprings, solution: Solution, shape: Array) -> Array:
    """Rows (m, 9) from ``springs.dofs`` to what a bed that turns takes from the work of a shape."""
    structure = solution.system.structure
    body = structure.bodies[structure.body_index[str(springs.bed.body)]]
    arms = structure.mesh.points[springs.nodes] - np.asarray(body.at)
    dofs = (6 * springs.owners[:, :, None] + np.arange(6)).reshape(len(arms), 12)
    pulls = np.eye(3)[:, None] * np.ones((1, len(arms), 1))
    per = np.stack(
        [_work(shape[dofs], geometric.carried_spring_matrices(arms, each)) for each in pulls],
        axis=1,
    )
    to_force = -springs.stiffness @ springs.relative
    if springs.bed.face is not None:
        inward = springs.inward
        row = np.einsum("mi,mid->md", inward, springs.relative)
        idle = np.einsum("md,md->m", row, solution.vector[springs.dofs]) < 0.0
        normal = idle * springs.normal_stiffness
        to_force = to_force + normal[:, None, None] * inward[:, :, None] * row[:, None]
    return np.asarray(np.einsum("mi,mid->md", per, to_force))
