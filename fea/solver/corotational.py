# SPDX-License-Identifier: MIT
"""Statics with rotations of any size: loads grow in steps, and Newton's method settles each.

Strains stay small and material linear; shells, struts, beds, straps, ties and joints turn as far as
they will. Loads keep size and direction and act on the material that they act on before the motion
(a pressure too: it does not follow its surface); on request they turn with a body. A step that does
not settle is halved.

Source: felippa-haugen-2005 (tangent), crisfield-1991 (load steps).
"""

import logging
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, diags
from scipy.sparse.linalg import LinearOperator, gmres

from fea.element.strut import cross_matrices
from fea.errors import ModelError, SolveError, UnsupportedError
from fea.solver import gates
from fea.solver.factor import ScaledFactor
from fea.solver.gates import Gate
from fea.solver.inertia import negative_eigenvalues
from fea.solver.kinematics import Kinematics
from fea.solver.largesolution import LargeSolution
from fea.solver.placement import Followers, Placement
from fea.solver.system import System, prepared_for
from fea.solver.turning import Turning, total_forces, turning
from fea.structure.loads import Load
from fea.structure.model import Model

Array = NDArray[np.float64]

RESIDUAL = 1e-8
"""Residual of the equilibrium over loads and reactions, each over the root of its stiffness."""

STABLE = "motions that lower the energy"
"""Name of the gate on a stable balance; missing where the pivots prove nothing."""

_SETTLED = 1e-10  # where Newton's method stops
_ON_THE_WAY = 1e-5  # where it stops between steps
_ROUNDS = 20  # Newton steps; more are no use
_INNER = 60  # rounds of the inner solver where the tangent is not symmetric
_QUICK = 8  # after fewer the next step of the load may be longer
_LEAST = 1.0 / 128.0  # step of the load, of the whole
_FARTHEST = 0.5  # rad that one Newton step may turn a node by
_BENT = 1.0  # rad within one element, from which no linear element says anything

_log = logging.getLogger(__name__)


def solve_large(
    model: Model,
    start: System | None = None,
    *,
    loads_turn_with: str | None = None,
    solver: str = "auto",
) -> dict[str, LargeSolution]:
    """Solve every case of a model with rotations of any size.

    Args:
        model: structure and cases; shells and struts, no solids.
        start: a `System` of the same structure to use again; None prepares one.
        loads_turn_with: a body with which the loads turn; None leaves their direction in space.
        solver: "auto", "superlu" or "pardiso"; used when a system is prepared.

    Returns:
        Case name to solution, in the order of the model's cases.

    Raises:
        SolveError: a case does not settle; the message names it and the share of its load that did.
        UnsupportedError: solids, or what `solve` raises.
        ModelError: an unknown body, or a held rotation that is not the whole rotation of its place.

    Example:
        >>> import fea, numpy as np
        >>> points = np.column_stack([np.linspace(0, 100, 9), np.zeros((9, 2))])
        >>> mesh = fea.Mesh(points, {"line": [[i, i + 1] for i in range(8)]},
        ...                 places={"root": [0], "tip": [8]}, zones={"bar": ("line", range(8))})
        >>> steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
        >>> bar = fea.StrutSection.rectangle(steel, width=1.0, depth=10.0, up=(0, 0, 1))
        >>> quarter = np.pi / 2 * 200e3 * 10 / 12 / 100  # E I / R of a quarter of a circle
        >>> model = fea.Model(mesh, {"bar": bar}, [fea.Support("root", "ux uy uz rx ry rz")],
        ...                   {"roll": [fea.PointForce("tip", (0, 0, 0), (0, -quarter, 0))]})
        >>> tip = fea.solve_large(model)["roll"].displacement[8]
        >>> (tip[[0, 2, 4]] / [100.0, 100.0, 1.0]).round(2).tolist()  # 2/π - 1, 2/π, -π/2
        [-0.36, 0.64, -1.57]
    """
    system = prepared_for(model, start, solver)
    return Problem(system, loads_turn_with).solve(model.cases)


class _UnsettledError(SolveError):
    """A step that was too long."""


@dataclass(frozen=True, eq=False)
class _Here:
    """Forces at a placement: rates of the degrees of freedom, loads, and what is out of balance."""

    at: Placement
    motion: Kinematics
    loads: Array
    internal: Array

    @property
    def rest(self) -> Array:
        """Residual (free,)."""
        return self.motion.to_all.T @ (self.loads - self.internal)

    @property
    def reactions(self) -> Array:
        """(held,) forces of supports."""
        return (self.motion.lift.T @ (self.internal - self.loads))[self.motion.held]


class Problem:
    """One system, prepared for cases with large rotations."""

    def __init__(self, system: System, loads_turn_with: str | None = None):
        if system.bulk is not None:
            raise UnsupportedError("large rotations are solved for shells and struts, not solids")
        self.system = system
        self.followers = Followers.of(system.structure, system.numbering, system.motion)
        self.start = self.followers.start()
        self.parts: list[Turning] = turning(system, self.start)
        self.leader: int | None = None
        if loads_turn_with is not None:
            if loads_turn_with not in system.structure.body_index:
                known = ", ".join(system.structure.body_index) or "none"
                raise ModelError(f"loads cannot turn with '{loads_turn_with}'; bodies: {known}")
            index = system.structure.body_index[loads_turn_with]
            self.leader = system.numbering.nodes + index
        self._require_whole_rotations()

    def solve(self, cases: Mapping[str, Sequence[Load]]) -> dict[str, LargeSolution]:
        """Solve cases; raises as `solve_large`."""
        return {case: next(self.path(case, loads, [1.0])) for case, loads in cases.items()}

    def path(
        self, case: str, loads: Sequence[Load], levels: Sequence[float]
    ) -> Iterator[LargeSolution]:
        """Solutions of one case at ascending shares of its loads and held displacements.

        Raises:
            SolveError: it does not settle; the message names case and level.
        """
        forces = self.system.forces(case, loads)
        at, level, step = self.start, 0.0, levels[0]
        for goal in levels:
            here, step = self._advance(case, forces, (at, level), goal, step)
            at, level = here.at, goal
            yield self._solution(case, here, goal)

    @np.errstate(all="ignore")  # a step that leaves the range of numbers is halved
    def _advance(
        self, case: str, forces: Array, start: tuple[Placement, float], goal: float, step: float
    ) -> tuple[_Here, float]:
        """The equilibrium at a load level, from another at a lower one, and the step to take next.

        Raises:
            SolveError: it is not reached.
        """
        at, level = start
        while True:
            ahead = goal if level + 1.01 * step >= goal else level + step
            enough = _SETTLED if ahead == goal else _ON_THE_WAY
            try:
                here, rounds = self._settle(at, forces, level, ahead, enough)
            except _UnsettledError as error:
                step = 0.5 * (ahead - level)
                if step < _LEAST:
                    raise SolveError(
                        f"case '{case}' finds no equilibrium beyond {100 * level:.3g} % of its "
                        f"loads ({error}); it may buckle or let go there"
                    ) from None
                continue
            _log.info("'%s': %.4g of the loads after %d rounds", case, ahead, rounds)
            if rounds < _QUICK:
                step = 2.0 * (ahead - level)
            if ahead == goal:
                return here, step
            at, level = here.at, ahead

    def _settle(
        self, at: Placement, forces: Array, before: float, level: float, enough: float
    ) -> tuple[_Here, int]:
        """The equilibrium at a load level, from that at the level before, and rounds it took."""
        held = (level - before) * self._held
        here, last = self._here(at, level * forces), np.inf
        for rounds in range(_ROUNDS):
            rest = self._residual(here)
            if rounds and (rest <= enough or 0.5 * last < rest <= 0.5 * RESIDUAL):
                return here, rounds  # what rounding left is for the gate to judge
            last = rest
            change = self._change(here, here.motion.lift @ held)
            turned = np.abs(change[: 6 * len(at.points)].reshape(-1, 6)[:, 3:]).max(initial=0.0)
            if not turned <= _FARTHEST:
                raise _UnsettledError("it turns too fast")
            here = self._here(here.at.moved(change), level * forces)
            held = np.zeros_like(held)
        raise _UnsettledError("the forces do not come into balance")

    def _here(self, at: Placement, forces: Array) -> _Here:
        at = self.followers.fitted(at)
        internal = total_forces(self.parts, at, self.system.numbering.total)
        if not np.all(np.isfinite(internal)):
            raise _UnsettledError("numbers leave their range")
        return _Here(at, self.followers.motion_at(at), self._turned(forces, at), internal)

    def _turned(self, forces: Array, at: Placement) -> Array:
        if self.leader is None:
            return forces
        result, count = forces.copy(), 6 * len(at.points)
        result[:count] = (forces[:count].reshape(-1, 3) @ at.turns[self.leader].T).ravel()
        return result

    def _change(self, here: _Here, given: Array) -> Array:
        """The change (N,) of a Newton step in which held displacements change by ``given``."""
        tangent, stiffness = self._stiffness(here)
        motion = here.motion
        right = here.rest - motion.to_all.T @ (tangent @ given)
        try:
            factor = ScaledFactor(stiffness, self.system.factor.name.lower())
            change = factor.solve(right[:, None])[:, 0]
        except UnsupportedError:
            raise _UnsettledError("its stiffness is used up") from None
        skew = self._skew(here)
        if skew is not None:
            change = _solved(stiffness + skew, factor, right, change)
        return motion.to_all @ change + given

    def _stiffness(self, here: _Here) -> tuple[csr_matrix, csr_matrix]:
        """Symmetric tangent (N, N), and the same (free, free) after ties and supports."""
        matrices = [part.tangents(here.at).__getitem__ for part in self.parts]
        tangent = self.system.pattern.assemble(matrices, self.system.numbering.total)
        tangent = csr_matrix(0.5 * (tangent + tangent.T))
        return tangent, here.motion.condense(tangent)

    def _skew(self, here: _Here) -> csr_matrix | None:
        """What loads with a moment, or that turn with a body, add to the symmetric tangent.

        A moment m that keeps its direction leaves −½ m × in the spins of where it acts.
        """
        count, total = len(here.at.points), self.system.numbering.total
        moments = here.loads[: 6 * count].reshape(-1, 6)[:, 3:]
        loaded = np.flatnonzero(moments.any(axis=1))
        spins = (6 * loaded[:, None] + np.arange(3, 6))[:, None]
        blocks = -0.5 * cross_matrices(moments[loaded])
        rows = np.broadcast_to(np.swapaxes(spins, 1, 2), blocks.shape).ravel()
        columns = np.broadcast_to(spins, blocks.shape).ravel()
        found = csr_matrix((blocks.ravel(), (rows, columns)), shape=(total, total))
        if self.leader is not None:
            found = found + self._turning_loads(here)
        result = csr_matrix(here.motion.to_all.T @ found @ here.motion.to_all)
        return result if result.nnz and np.abs(result.data).max() > 0.0 else None

    def _turning_loads(self, here: _Here) -> csr_matrix:
        """(N, N) by which loads that turn with a body fall as it spins."""
        assert self.leader is not None
        count = len(here.at.points)
        blocks = cross_matrices(here.loads[: 6 * count].reshape(-1, 3)).reshape(6 * count, 3)
        rows = np.repeat(np.arange(6 * count), 3)
        columns = np.tile(6 * self.leader + np.arange(3, 6), 6 * count)
        total = self.system.numbering.total
        return csr_matrix((blocks.ravel(), (rows, columns)), shape=(total, total))

    def _residual(self, here: _Here) -> float:
        """Residual over loads and reactions, each over the root of its stiffness."""
        scale = self.system.factor.scale
        applied = np.linalg.norm(scale * (here.motion.to_all.T @ here.loads))
        size = float(np.hypot(applied, np.linalg.norm(self._held_scale * here.reactions)))
        size += self._rounding / RESIDUAL
        rest = float(np.linalg.norm(scale * here.rest))
        return rest / size if size > 0.0 else (0.0 if rest == 0.0 else np.inf)

    @cached_property
    def _noise(self) -> Array:
        """Forces (N,) that the rounding of the nodes' places alone may make."""
        places = np.ones(self.system.numbering.total)
        own = places[: 6 * len(self.start.points)].reshape(-1, 6)
        own[:, :3] = np.abs(self.start.points)
        return np.asarray(np.finfo(float).eps * (abs(self.system.stiffness) @ places))

    @cached_property
    def _rounding(self) -> float:
        """What they make of the residual."""
        lost = abs(self.system.motion.to_all).T @ self._noise
        return float(np.linalg.norm(self.system.factor.scale * lost))

    @cached_property
    def _held(self) -> Array:
        held = np.zeros(self.system.numbering.total)
        held[self.system.motion.held] = self.system.motion.values
        return held

    @cached_property
    def _held_scale(self) -> Array:
        """(held,) one over the root of the stiffness against each held displacement."""
        follow = self.system.motion.lift.tocsc()[:, self.system.motion.held]
        own = np.asarray(follow.multiply(self.system.stiffness @ follow).sum(axis=0)).ravel()
        return np.where(own > 0.0, 1.0 / np.sqrt(np.where(own > 0.0, own, 1.0)), 0.0)

    def _require_whole_rotations(self) -> None:
        motion = self.system.motion
        turned = motion.held[(motion.held % 6 > 2) & (motion.values != 0.0)]
        for owner in np.unique(turned // 6):
            if not np.isin(6 * owner + np.arange(3, 6), motion.held).all():
                raise ModelError(
                    f"a place or body is turned about some axes and free about others (owner "
                    f"{owner}): beyond small angles that has no one meaning; hold all of rx ry rz"
                )

    def _solution(self, case: str, here: _Here, level: float) -> LargeSolution:
        numbering = self.system.numbering
        count = numbering.nodes + numbering.bodies
        residual = Gate("residual of the equilibrium", self._residual(here), RESIDUAL)
        found = [self.system.stiff, gates.require(residual, case), *self._stable(case, here)]
        solution = LargeSolution.of(
            self.system, case, here.at, motion=here.motion, parts=self.parts, loads=here.loads,
            level=level,
        )  # fmt: skip
        gates.require_finite(case, solution.vector, numbering.active())
        if solution.largest_bend > _BENT:
            raise SolveError(
                f"case '{case}': an element bends by {solution.largest_bend:.2g} rad within itself;"
                " no linear element is true there; use smaller cells"
            )
        imbalance = gates.balance_error(
            here.at.points,
            here.loads[: 6 * count].reshape(-1, 6),
            solution.reactions[: 6 * count].reshape(-1, 6),
            self._noise[: 6 * count].reshape(-1, 6),
        )
        return solution.passed((*found, gates.require_balance(case, imbalance)))

    def _stable(self, case: str, here: _Here) -> list[Gate]:
        """The gate on motions that would lower the energy; none where pivots prove nothing."""
        scaling = diags(self.system.factor.scale)
        matrix = scaling @ self._stiffness(here)[1] @ scaling
        negative, _ = negative_eigenvalues(csr_matrix(matrix))
        if negative is None:
            return []
        if negative:
            raise SolveError(
                f"case '{case}': the equilibrium that was found at its full loads is not stable; "
                "the structure buckles before"
            )
        return [Gate(STABLE, float(negative), 0.0)]


def _solved(matrix: csr_matrix, factor: ScaledFactor, right: Array, start: Array) -> Array:
    """Solution (m,) with the factor of a matrix that differs by little; ``start`` is that one's."""
    inverse = LinearOperator(
        matrix.shape, matvec=lambda vector: factor.solve(np.reshape(vector, (-1, 1)))[:, 0]
    )
    answer, _ = gmres(
        matrix, right, x0=start, M=inverse, rtol=1e-8, atol=0.0, restart=_INNER, maxiter=1
    )
    return answer
