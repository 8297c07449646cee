# SPDX-License-Identifier: MIT
"""A structure prepared for solving: numbered, assembled, tied and factorised once for all cases."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix

from fea.errors import LoadError, ModelError, UnsupportedError
from fea.solver import contact, gates, parts
from fea.solver.assembly import Pattern
from fea.solver.factor import ScaledFactor, UnscaledError, choose_backend
from fea.solver.gates import Gate
from fea.solver.kinematics import Kinematics, kinematics, name_of
from fea.solver.numbering import Numbering, number
from fea.solver.recovery import Recovery
from fea.solver.solids import Solids, solids
from fea.solver.solution import Solution
from fea.structure.loads import Load, PointForce, nodal_forces
from fea.structure.model import Structure
from fea.structure.orientation import require_oriented
from fea.structure.sections import Section

Array = NDArray[np.float64]

_log = logging.getLogger(__name__)

_REFINE_ABOVE = 1e-15  # backward error from which one step of iterative refinement pays


@dataclass(frozen=True, eq=False)
class System:
    """A prepared structure. Make it with `prepare`; hand it on where it is used again.

    Attributes:
        structure: what was prepared.
        numbering: positions of the degrees of freedom.
        motion: ties, joints and supports as one linear map.
        shells, struts, beds, straps, elastic, bulk: the elastic parts; elastic are springs to the
            ground, bulk the solids.
        pattern: where the blocks of shells, struts and springs go in the matrix.
        stiffness: (N, N) before ties and supports; one-sided springs count as two-sided.
        reduced: (free, free) after them.
        factor: factorisation of `reduced`.
        stiff: the gate on the softest mode.
        near: case to displacements (free,) that a system of the same shape found for a case of this
            name; contact starts from there.
    """

    structure: Structure
    numbering: Numbering
    motion: Kinematics
    shells: parts.Shells | None
    struts: parts.Struts | None
    beds: tuple[parts.BedSprings, ...]
    straps: tuple[parts.StrapSpring, ...]
    elastic: tuple[parts.GroundSprings, ...]
    bulk: Solids | None
    pattern: Pattern
    stiffness: csr_matrix
    reduced: csr_matrix
    factor: ScaledFactor
    stiff: Gate
    near: Mapping[str, Array] = field(default_factory=dict, repr=False)

    @gates.in_range("a displacement or force")
    def solve(self, cases: Mapping[str, Sequence[Load]]) -> dict[str, Solution]:
        """Solve all cases in one block of right-hand sides.

        Raises:
            SolveError: a gate failed; the message names the case, unless numbers left their range.
        """
        forces = np.column_stack([self.forces(name, loads) for name, loads in cases.items()])
        right = self.motion.to_all.T @ (forces - (self.stiffness @ self.motion.given)[:, None])
        free, rest = self._settle(list(cases), right)
        scale = self._norm * np.abs(free).max(axis=0, initial=0.0)
        scale += np.abs(right).max(axis=0, initial=0.0)
        if np.any(np.abs(rest).max(axis=0, initial=0.0) > _REFINE_ABOVE * scale):
            free += self.factor.solve(rest)
            rest = self._rest(free, right)
        residual = np.abs(rest).max(axis=0, initial=0.0)
        displacement = self.motion.to_all @ free + self.motion.given[:, None]
        solutions = {}
        for k, name in enumerate(cases):
            gates.require_finite(name, displacement[:, k], self.numbering.active())
            backward = gates.require_backward_error(name, residual[k], scale[k])
            self._found[name] = free[:, k]
            solutions[name] = self._solution(name, displacement[:, k], forces[:, k], backward)
        return solutions

    @gates.in_range("the stiffness")
    def with_sections(self, sections: Mapping[str, Section]) -> "System":
        """The system of the same structure with other sections in some zones.

        Numbering, ties, supports and the pattern of the matrix are kept, and what was found here is
        where contact starts in cases of the same name; the values of the matrix and their
        factorisation are new, and so is the gate on the softest mode. This system stays as it is.

        Args:
            sections: zone name to its new section, of the same kind as the old one.

        Raises:
            UnsupportedError: a mechanism remains.
            ModelError: a zone without a section, or a section of the wrong kind.

        Example:
            >>> import fea
            >>> mesh = fea.Mesh([[0, 0, 0], [100, 0, 0]], {"line": [[0, 1]]},
            ...                 places={"root": [0], "tip": [1]}, zones={"bar": ("line", [0])})
            >>> steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
            >>> bar = fea.StrutSection.rectangle(steel, width=10.0, depth=2.0, up=(0, 0, 1))
            >>> loads = {"pull": [fea.PointForce("tip", (1000.0, 0, 0))]}
            >>> supports = [fea.Support("root", "ux uy uz rx ry rz")]
            >>> system = fea.prepare(fea.Model(mesh, {"bar": bar}, supports, loads))
            >>> thick = fea.StrutSection.rectangle(steel, width=10.0, depth=4.0, up=(0, 0, 1))
            >>> other = system.with_sections({"bar": thick})
            >>> [round(float(each.solve(loads)["pull"].displacement[1, 0]), 6)
            ...  for each in (system, other)]  # F L / (E A)
            [0.025, 0.0125]
        """
        near = {**self.near, **self._found}
        if not sections:
            return replace(self, near=near)
        structure = self.structure.with_sections(sections)
        values = _values(
            structure,
            self.numbering,
            self.motion,
            (*self.beds, *self.straps, *self.elastic),
            self.factor.name.lower(),
            self.pattern,
        )
        return replace(self, structure=structure, near=near, **values)

    def starting_from(self, other: "System") -> "System":
        """This system, whose contact starts where that of another one ended.

        Args:
            other: of a structure with the same cells, a little elsewhere or otherwise made; of any
                other one nothing is taken over.
        """
        one, two = self.structure.mesh.cells, other.structure.mesh.cells
        same = one.keys() == two.keys() and all(np.array_equal(one[k], two[k]) for k in one)
        if not same or self.reduced.shape != other.reduced.shape:
            return self
        return replace(self, near={**other.near, **other._found})

    def _settle(self, names: Sequence[str], right: Array) -> tuple[Array, Array]:
        """Free displacements with every one-sided spring acting as it may, and the residual."""
        if not len(self.springs.stiffness):
            free = self.factor.solve(right)
        else:
            try:
                near = {k: self.near[name] for k, name in enumerate(names) if name in self.near}
                free = contact.settle(
                    self.reduced, self.factor.solve, self.free_springs, right, near
                )
            except contact.ContactError as error:
                raise UnsupportedError(f"case '{names[error.column]}': {error}") from None
        return free, self._rest(free, right)

    def _rest(self, free: Array, right: Array) -> Array:
        return right + self.free_springs.excess(free) - self.reduced @ free

    @cached_property
    def springs(self) -> contact.OneSided:
        """All one-sided springs of beds and straps, over all degrees of freedom."""
        total = self.numbering.total
        found = [springs.one_sided(total) for springs in self.beds if springs.bed.face is not None]
        return contact.joined([*found, *(strap.one_sided(total) for strap in self.straps)], total)

    @cached_property
    def free_springs(self) -> contact.OneSided:
        """The same over the free ones, as `reduced` is: held motion is part of the slack."""
        return self.springs.under(self.motion.to_all, self.motion.given)

    @cached_property
    def _found(self) -> dict[str, Array]:
        """Free displacements of the cases that were solved."""
        return {}

    @cached_property
    def recovery(self) -> Recovery:
        """The recovery of stress in the shells, and of its error; call it with solutions."""
        return Recovery.of(self)

    @cached_property
    def _norm(self) -> float:
        if not self.reduced.nnz:
            return 0.0
        return float(np.add.reduceat(np.abs(self.reduced.data), self.reduced.indptr[:-1]).max())

    def rounding(self, displacement: Array) -> Array:
        """How far rounding alone may falsify each force (N,) that follows from a displacement."""
        return np.asarray(np.finfo(float).eps * (self._magnitude @ np.abs(displacement)))

    @cached_property
    def _magnitude(self) -> csr_matrix:
        return abs(self.stiffness)

    def _solution(self, case: str, displacement: Array, forces: Array, backward: Gate) -> Solution:
        solution = Solution(self, case, displacement, forces, ())
        count = self.numbering.nodes + self.numbering.bodies
        rounding = self.rounding(displacement)
        imbalance = gates.balance_error(
            gates.owner_points(self.structure),
            forces[: 6 * count].reshape(-1, 6),
            solution.reactions[: 6 * count].reshape(-1, 6),
            rounding[: 6 * count].reshape(-1, 6),
        )
        balance = gates.require_balance(case, imbalance)
        return Solution(self, case, displacement, forces, (self.stiff, backward, balance))

    def forces(self, case: str, loads: Sequence[Load]) -> Array:
        """Forces and moments (N,) of a case's loads; raises `LoadError` where nothing takes one."""
        total = np.zeros(self.numbering.total)
        nodes = self.numbering.nodes
        for load in loads:
            if isinstance(load, PointForce) and load.place in self.structure.body_index:
                dofs = self.numbering.body(self.structure.body_index[load.place])
                total[dofs[:3]] += load.force
                if load.moment is not None:
                    total[dofs[3:]] += load.moment
                continue
            try:
                total[: 6 * nodes] += nodal_forces(load, self.structure.mesh).ravel()
            except LoadError as error:
                raise LoadError(f"case '{case}': {error}") from None
        stray = np.flatnonzero((total != 0.0) & ~self.numbering.active())
        if stray.size:
            where = name_of(int(stray[0]), self.structure, self.numbering)
            why = "which belongs to no cell"
            if stray[0] % 6 > 2 and self.numbering.active()[stray[0] - 3]:
                why = "a node of a solid, which takes no moment: tie a node to a patch of its face"
            raise LoadError(f"case '{case}': a force acts on {where}, {why}")
        return total


def prepared_for(structure: Structure, start: System | None, solver: str) -> System:
    """The system to solve a structure with: a new one, or ``start`` if it is of this structure.

    Raises:
        ModelError: ``start`` was prepared from other parts.
    """
    if start is None:
        return prepare(structure, solver)
    if not structure.is_made_of(start.structure):
        raise ModelError(
            "start was prepared for another structure; give the model the same mesh and section "
            "objects and the same supports (start.structure.with_cases), or leave start out"
        )
    return start


@gates.in_range("the stiffness")
def prepare(structure: Structure, solver: str = "auto") -> System:
    """Number, assemble, tie and factorise a structure.

    Args:
        structure: what to prepare.
        solver: "auto", "superlu" or "pardiso".

    Raises:
        UnsupportedError: a part can move freely, or a mechanism remains.
        GateError: the stiffness is beyond the range of numbers.
        ModelError: sections, ties or supports that contradict each other; inverted cells.
    """
    require_oriented(structure)
    numbering = number(structure)
    motion = kinematics(structure, numbering)
    beds = tuple(parts.bed_springs(structure, numbering, bed) for bed in structure.beds)
    elastic = tuple(parts.ground_springs(structure, numbering, s) for s in structure.springs)
    gates.require_restrained(structure, numbering, motion, beds, elastic)
    straps = tuple(parts.strap_spring(structure, numbering, each) for each in structure.straps)
    springs: list[parts.BedSprings | parts.StrapSpring | parts.GroundSprings]
    springs = [*beds, *straps, *elastic]
    values = _values(structure, numbering, motion, springs, choose_backend(solver))
    return System(
        structure=structure,
        numbering=numbering,
        motion=motion,
        beds=beds,
        straps=straps,
        elastic=elastic,
        **values,
    )


def _values(
    structure: Structure,
    numbering: Numbering,
    motion: Kinematics,
    springs: Sequence[parts.BedSprings | parts.StrapSpring | parts.GroundSprings],
    backend: str,
    pattern: Pattern | None = None,
) -> dict[str, Any]:
    """What depends on the sections of a system, by its attributes, and the pattern."""
    shells, struts = parts.shells(structure, numbering), parts.struts(structure, numbering)
    every = [part for part in (shells, struts, *springs) if part is not None]
    if pattern is None:
        pattern = Pattern.of([part.owners for part in every], numbering.nodes + numbering.bodies)
    stiffness = pattern.assemble([part.cell_matrices for part in every], numbering.total)
    bulk = solids(structure, numbering.cells.get("tetra10"))
    if bulk is not None:
        stiffness = stiffness + bulk.stiffness(numbering.total)
    reduced = motion.condense(stiffness)
    try:
        factor = ScaledFactor(reduced, backend)
    except UnscaledError as error:
        place = name_of(int(motion.free[error.position]), structure, numbering)
        raise UnsupportedError(f"{place} has no stiffness; hold it or connect it") from None
    stiff = gates.require_stiff(factor.softest(), structure, numbering, motion)
    _log.info("%d unknowns factorised by %s", reduced.shape[0], factor.name)
    return {
        "shells": shells,
        "struts": struts,
        "bulk": bulk,
        "pattern": pattern,
        "stiffness": stiffness,
        "reduced": reduced,
        "factor": factor,
        "stiff": stiff,
    }
