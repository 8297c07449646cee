# SPDX-License-Identifier: MIT
"""Ties, joints and supports as one linear map: all degrees of freedom from the free ones.

Every degree of freedom is free, held at a value, or depends on others. With the dependences
collected in D (strictly acyclic), u = L v, L = I + D + D² + …, where v holds the free and held
ones. Then K̂ = TᵀKT with T the free columns of L: forces on dependent nodes reach the nodes they
depend on, and the matrix stays symmetric.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csr_matrix, identity

from fea.errors import ModelError
from fea.mesh.mesh import Mesh
from fea.solver.numbering import Numbering
from fea.structure.coupling import DOF_NAMES, Tie
from fea.structure.model import Structure

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Entry = tuple[IntArray, IntArray, Array]  # dependent rows, columns they follow, coefficients


@dataclass(frozen=True)
class Kinematics:
    """The map from free degrees of freedom to all of them.

    Attributes:
        dependence: (N, N) sparse D; rows of independent degrees of freedom are empty.
        lift: (N, N) sparse L; columns of dependent ones are unused.
        free: positions of the free degrees of freedom.
        held: positions of the held ones;  values: what they are held at.
        to_all: (N, free) sparse T;  given: (N,) motion due to the held values alone.
    """

    dependence: csr_matrix
    lift: csr_matrix
    free: IntArray
    held: IntArray
    values: Array
    to_all: csr_matrix
    given: Array

    def condense(self, matrix: csr_matrix) -> csr_matrix:
        """TᵀKT (free, free) of a symmetric matrix (N, N).

        T is the identity on the free degrees of freedom, so most of the product is a selection.
        """
        dependent = np.flatnonzero(np.diff(self.dependence.indptr))
        free = matrix[self.free]
        result = free[:, self.free]
        if len(dependent):
            follow = self.to_all[dependent]
            one_sided = free[:, dependent] @ follow
            both = follow.T @ matrix[dependent][:, dependent] @ follow
            result = result + (one_sided + one_sided.T + both)
        result.sort_indices()
        return csr_matrix(result)


def kinematics(structure: Structure, numbering: Numbering) -> Kinematics:
    """Collect ties, joints and supports of a structure.

    Raises:
        ModelError: a degree of freedom that is supported at two values, or that depends on
            others and is supported or tied again.
    """
    entries = [_tie(tie, structure.mesh, numbering) for tie in structure.ties]
    entries += _joints(structure, numbering)
    _require_single(entries, structure, numbering)
    dependence, lift = follow_all(entries, numbering.total, len(structure.bodies) + 3)
    held, values = _supports(structure, numbering, np.diff(dependence.indptr) > 0)
    fixed = np.zeros(numbering.total, dtype=bool)
    fixed[held] = True
    independent = np.diff(dependence.indptr) == 0
    free = np.flatnonzero(numbering.active() & independent & ~fixed)
    to_all = csr_matrix(lift.tocsc()[:, free])
    given = np.zeros(numbering.total)
    given[held] = values
    return Kinematics(dependence, lift, free, held, values, to_all, lift @ given)


def follow_all(entries: list[Entry], total: int, depth: int) -> tuple[csr_matrix, csr_matrix]:
    """Dependence D and lift L (total, total) of entries that follow each other at most so deep.

    Raises:
        ModelError: they depend on each other in a circle.
    """
    dependence = _matrix(entries, total)
    lift, power = identity(total, format="csr"), dependence
    for _ in range(depth):
        if power.nnz == 0:
            return dependence, lift
        lift, power = lift + power, power @ dependence
    raise ModelError("ties or joints depend on each other in a circle; break the circle")


def rigid_motion(offsets: Array) -> Array:
    """Matrices (m, 6, 6) from the motion of a point to that of points at ``offsets`` (m, 3)."""
    matrix = np.zeros((len(offsets), 6, 6))
    matrix[:, range(6), range(6)] = 1.0
    x, y, z = offsets.T
    matrix[:, 0, 4], matrix[:, 0, 5] = z, -y
    matrix[:, 1, 3], matrix[:, 1, 5] = -z, x
    matrix[:, 2, 3], matrix[:, 2, 4] = y, -x
    return matrix


def _tie(tie: Tie, mesh: Mesh, numbering: Numbering) -> Entry:
    node, patch = mesh.place(tie.place), mesh.place(tie.patch)
    offsets = mesh.points[patch] - mesh.points[node[0]]
    one, many = numbering.node(node), numbering.node(patch)
    if tie.rule == "mean" and len(patch) == 1 and not numbering.active()[many].all():
        raise ModelError(
            f"tie of '{tie.place}': patch '{tie.patch}' is one node that does not rotate, as of a "
            "solid; name several nodes that do not lie on one line"
        )
    if tie.rule == "rigid" or len(patch) == 1:
        follower, leader = (many, one) if tie.rule == "rigid" else (one, many)
        signed = offsets if tie.rule == "rigid" else -offsets
        blocks = rigid_motion(signed)
        rows = np.repeat(follower, 6, axis=1).ravel()
        columns = np.tile(np.broadcast_to(leader, follower.shape), (1, 6)).ravel()
        return rows, columns, blocks.ravel()
    translations = many[:, :3].ravel()
    motion = rigid_motion(offsets)[:, :3].reshape(-1, 6)
    scale = np.array([1.0] * 3 + [np.linalg.norm(offsets, axis=1).max()] * 3)
    if np.linalg.matrix_rank(motion / scale, tol=1e-6) < 6:
        raise ModelError(
            f"tie of '{tie.place}': the nodes of patch '{tie.patch}' lie on one line, so their "
            'mean rotation is unknown; add a node beside the line, or use rule "rigid"'
        )
    mean = np.linalg.pinv(motion / scale) / scale[:, None]
    rows = np.repeat(one.ravel(), len(translations))
    return rows, np.tile(translations, 6), mean.ravel()


def _joints(structure: Structure, numbering: Numbering) -> list[Entry]:
    entries = []
    for index, body in enumerate(structure.bodies):
        if body.joined_to is None:
            continue
        other = structure.body_index[body.joined_to]
        offset = np.subtract(body.at, structure.bodies[other].at)
        block = rigid_motion(offset[None])[0]
        rows = 6 if body.axis is not None else 3
        mine, theirs = numbering.body(index), numbering.body(other)
        entries.append((np.repeat(mine[:rows], 6), np.tile(theirs, rows), block[:rows].ravel()))
        if body.axis is not None:
            axis = np.asarray(body.axis) / np.linalg.norm(body.axis)
            angle = np.full(3, numbering.hinges[index])
            entries.append((mine[3:], angle, axis))
    return entries


def _require_single(entries: list[Entry], structure: Structure, numbering: Numbering) -> None:
    """A degree of freedom may be made dependent by one tie only."""
    seen = np.zeros(numbering.total, dtype=bool)
    for rows, _, _ in entries[: len(structure.ties)]:
        unique = np.unique(rows)
        if seen[unique].any():
            where = name_of(int(unique[seen[unique]][0]), structure, numbering)
            raise ModelError(f"{where} is tied twice; let one of the ties go")
        seen[unique] = True


def _matrix(entries: list[Entry], total: int) -> csr_matrix:
    if not entries:
        return csr_matrix((total, total))
    rows, columns, values = (np.concatenate([entry[k] for entry in entries]) for k in range(3))
    matrix = coo_matrix((values, (rows, columns)), shape=(total, total)).tocsr()
    matrix.eliminate_zeros()
    return matrix


def _supports(
    structure: Structure, numbering: Numbering, dependent: NDArray[np.bool_]
) -> tuple[IntArray, Array]:
    held: dict[int, float] = {}
    active = numbering.active()
    for support in structure.supports:
        if support.place in structure.body_index:
            dofs = numbering.body(structure.body_index[support.place])[None]
        else:
            dofs = numbering.node(structure.mesh.place(support.place))
        positions = dofs[:, support.components].ravel()
        takes = active[positions]
        if not takes.any() or (support.value and not takes.all()):
            raise ModelError(
                f"support of '{support.place}': its nodes have no {support.dofs} to hold (nodes "
                "of solids do not rotate); hold what they have, or tie a node to them"
            )
        for position in positions.tolist():
            if dependent[position]:
                where = name_of(position, structure, numbering)
                raise ModelError(f"{where} follows a tie or joint and cannot be supported as well")
            if held.setdefault(position, support.value) != support.value:
                where = name_of(position, structure, numbering)
                raise ModelError(
                    f"{where} is supported at {held[position]} and at {support.value} "
                    f"(support of '{support.place}'); give one value"
                )
    kept = {position: value for position, value in held.items() if active[position]}
    return np.array(list(kept), dtype=np.int64), np.array(list(kept.values()), dtype=float)


def name_of(position: int, structure: Structure, numbering: Numbering) -> str:
    """A degree of freedom in words: its component, node or body, and where it lies."""
    for index, hinge in numbering.hinges.items():
        if position == hinge:
            return f"hinge of body '{structure.bodies[index].name}'"
    owner, component = divmod(position, 6)
    if owner >= numbering.nodes:
        return f"{DOF_NAMES[component]} of body '{structure.bodies[owner - numbering.nodes].name}'"
    x, y, z = structure.mesh.points[owner]
    zones = [name for name in structure.sections if np.isin(owner, structure.mesh.zone_cells(name))]
    part = f" of zone '{zones[0]}'" if zones else ""
    return f"{DOF_NAMES[component]} of node {owner}{part} at ({x:.4g}, {y:.4g}, {z:.4g})"
