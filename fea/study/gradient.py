# SPDX-License-Identifier: MIT
"""How every check answers to the thickness of each cell, by one adjoint solve for each check.

What a check asks is a function J(u, t) of displacements and thicknesses, and the structure obeys
K(t) u = f. With Aᵀ λ = ∂J/∂u, A being K without the one-sided springs that let go in that case,
dJ/dt = ∂J/∂t − λᵀ (dK/dt) u: all thicknesses by one solve. It holds as long
as the same springs act and the same place governs.

Source: choi-kim-2005 (adjoint variables for sizing of linear structures).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import LinearOperator, cg

from fea.assessment import Assessment
from fea.check.check import Check
from fea.check.wording import factor_texts
from fea.errors import SolveError
from fea.solver.solution import Solution
from fea.study.asking import WALL, Asking, NoResponseError
from fea.study.response import Response
from fea.study.thickening import Thickening, cell_mass
from fea.tables import text_table

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_RESIDUAL = 1e-11  # of the adjoint equations over their right side
_ROUNDS = 400  # conjugate gradients, as many as contact takes
_SHOWN = 12  # checks in the table


@dataclass(frozen=True, eq=False)
class Gradient:
    """How one check answers.

    Attributes:
        check: of the assessment.
        triangles, lines: (c,), (m,) relative change of the demand (of buckling: of one over what is
            borne) over relative change of the thickness of each cell: −2 where all of a bending
            stress hangs on that cell.
        read: numbers of the triangles that a stress is read from, of one smooth patch. Where they
            are of several walls, a change of one of these alone would part the patch.
    """

    check: Check
    triangles: Array
    lines: Array
    read: IntArray


@dataclass(frozen=True, eq=False)
class Gradients:
    """How the checks of an assessment answer to thickness.

    Thickness is that of walls, and the depth of bars; the mesh stays where it is.

    Attributes:
        result: the assessment.
        gradients: of every check that has one, the hardest first.
        missing: the other checks, and why they have none.
        triangle_mass, line_mass: (c,), (m,) kg.
    """

    result: Assessment
    gradients: tuple[Gradient, ...]
    missing: tuple[tuple[Check, str], ...]
    triangle_mass: Array
    line_mass: Array

    @cached_property
    def masses(self) -> Mapping[str, float]:
        """Mass of every wall and bar, kg."""
        return {zone: self._sum(zone, self.triangle_mass, self.line_mass) for zone in self.zones}

    @property
    def zones(self) -> tuple[str, ...]:
        """Every wall and bar."""
        return (*self.result.device.walls, *self.result.device.bars)

    @cached_property
    def patches(self) -> tuple[tuple[str, ...], ...]:
        """Walls and bars, each once; those together that some stress is read across.

        To change one of these by itself would part the patch where a check governs, and its slope
        by one of them alone is of no use.
        """
        mesh, walls = self.result.device.mesh, self.result.device.walls
        groups = []
        for one in self.gradients:
            read = set(one.read.tolist())
            groups.append([
                zone for zone in walls if not read.isdisjoint(mesh.zone(zone)[1].tolist())
            ])
        return together(self.zones, groups)

    def exponent(self, gradient: Gradient, zone: str) -> float:
        """Relative change of a demand over relative change of the thickness of a whole zone."""
        return self._sum(zone, gradient.triangles, gradient.lines)

    def per_gram(self, gradient: Gradient, zone: str) -> float:
        """Relative change of the factor of a check for each gram that a zone gains; in 1/g."""
        return -self.exponent(gradient, zone) / (1e3 * self.masses[zone])

    def cells_per_gram(self, gradient: Gradient) -> Array:
        """Relative loss (c,) of the factor for each gram taken off each triangle; in 1/g.

        Negative where taking off helps; NaN where a wall weighs nothing.
        """
        grams = 1e3 * np.where(self.triangle_mass > 0.0, self.triangle_mass, np.nan)
        return -gradient.triangles / grams

    def _sum(self, zone: str, triangles: Array, lines: Array) -> float:
        kind, numbers = self.result.device.mesh.zone(zone)
        return float((triangles if kind == "triangle" else lines)[numbers].sum())

    def __str__(self) -> str:
        rows = []
        for one in self.gradients[:_SHOWN]:
            check = one.check
            gains = {zone: self.per_gram(one, zone) for zone in self.zones}
            best = max(gains, key=gains.__getitem__)
            sizes = {zone: abs(gain) for zone, gain in gains.items()}
            idle = min(sizes, key=sizes.__getitem__)
            rows.append((
                f"{check.topic}, {check.zone}, {check.horizon}",
                " of ".join(factor_texts(check.factor, check.required)),
                f"{best} ({100.0 * gains[best]:+.2f} % per gram)",
                f"{idle} ({100.0 * gains[idle]:+.2f} % per gram)",
            ))  # fmt: skip
        head = ("check", "factor of required", "thicker here first", "hangs least on")
        text = text_table(head, rows) if rows else "No check answers to thickness by an adjoint."
        if self.missing:
            topics = ", ".join(dict.fromkeys(check.topic for check, _ in self.missing))
            text += f"\nWithout sensitivities, {len(self.missing)} checks of: {topics}."
        return text


def gradient(
    result: Assessment,
    checks: Sequence[Check] | None = None,
    *,
    solver: str = "auto",
    asking: Asking | None = None,
    progress: Callable[[str], None] = lambda message: None,
) -> Gradients:
    """How checks answer to the thickness of every wall, bar and cell.

    Args:
        result: the assessment; its structures are used again.
        checks: some of its checks; None takes all governing ones.
        solver: as for `assess`.
        asking: of the assessment, where it is wanted for more; None makes one.
        progress: called with a few words as the work goes on.

    Returns:
        Gradients of the checks of strength of walls, plies and bars, each with the error that its
        demand contains, of the rotation of the ankle and of buckling. Joints, peaks, shear between
        plies, pressure on the skin, life, and what was solved with large rotations are named as
        missing; so is a check whose equations have no answer that can be trusted.

    Example:
        >>> import fea
        >>> child = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> found = fea.gradient(fea.assess(bare, child, step=None, fall=None, size=20.0))
        >>> one = next(each for each in found.gradients if each.check.topic == "yield")
        >>> sum(found.exponent(one, zone) for zone in found.zones) < 0.0   # thicker: less stress
        True
    """
    asking = Asking(result, solver) if asking is None else asking
    found, missing = [], []
    wanted = result.checks if checks is None else checks
    for number, check in enumerate(wanted, 1):
        progress(f"sensitivity {number} of {len(wanted)}: {check.topic} of {check.zone}")
        try:
            response = asking.response(check)
            if not response.value > 0.0:
                raise NoResponseError("nothing is asked")
            rates = total_rates(response, asking.thickening(response.solution.system))
        except (NoResponseError, SolveError) as reason:
            missing.append((check, str(reason)))
            continue
        read = np.flatnonzero(response.triangles) if check.topic in WALL else np.empty(0, int)
        triangles, lines = (each / response.value for each in rates)
        found.append(Gradient(check, triangles, lines, read))
    mass = cell_mass(result.run.structure)
    return Gradients(result, tuple(found), tuple(missing), *mass)


def together(
    names: Sequence[str], groups: Sequence[Sequence[str]]
) -> tuple[tuple[str, ...], ...]:
    """Names parted so that each group lies within one part.

    Example:
        >>> together(["a", "b", "c", "d"], [("a", "c"), ("c", "d")])
        (('a', 'c', 'd'), ('b',))
    """
    part = {name: {name} for name in names}
    for group in groups:
        whole = set().union(*(part[name] for name in group))
        for name in whole:
            part[name] = whole
    order = {name: number for number, name in enumerate(names)}
    found = dict.fromkeys(tuple(sorted(part[name], key=order.__getitem__)) for name in names)
    return tuple(found)


def total_rates(response: Response, thickening: Thickening) -> tuple[Array, Array]:
    """Rates (c,) and (m,) of a response per logarithm of the thickness of each triangle and line.

    Raises:
        SolveError: the adjoint equations do not settle.
    """
    solution = response.solution
    virtual = adjoint(solution, response.slope)
    triangles, lines = thickening.work_rates(virtual, solution.vector)
    return response.triangles - triangles, response.lines - lines


def adjoint(solution: Solution, slope: Array) -> Array:
    """The displacements (N,) that forces ``slope`` (N,) would bring about, contact as it is.

    Raises:
        SolveError: the adjoint equations do not settle.
    """
    system = solution.system
    right = system.motion.to_all.T @ slope
    springs = system.free_springs
    idle = springs.stiffness * (system.springs.stretch(solution.vector) <= 0.0)

    def matrix(x: Array) -> Array:
        both = system.reduced @ x.ravel()
        return np.asarray(both - springs.to_nodes @ (idle * (springs.rows @ x.ravel())))

    shape = system.reduced.shape
    free, left = cg(
        LinearOperator(shape, matvec=matrix, dtype=float),
        right,
        rtol=_RESIDUAL,
        atol=0.0,
        maxiter=_ROUNDS,
        M=LinearOperator(
            shape, matvec=lambda x: system.factor.solve(x.reshape(-1, 1)).ravel(), dtype=float
        ),
    )
    if left:
        rest = np.linalg.norm(matrix(free) - right) / np.linalg.norm(right)
        if not rest < 1e-7:
            raise SolveError(f"'{solution.case}': the adjoint equations do not settle ({rest:.1e})")
    return np.asarray(system.motion.to_all @ free)
