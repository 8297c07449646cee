# SPDX-License-Identifier: MIT
"""What a tie hands from its patch to its node: the forces of a rivet, from the solution itself."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import GateError
from fea.solver.largesolution import LargeSolution
from fea.solver.solution import Solution
from fea.structure.coupling import Tie

Array = NDArray[np.float64]

BALANCE = 1e-8
"""What node and patches may miss of balance beside rounding, over the largest force (times arm)."""


@dataclass(frozen=True, eq=False)
class TieForce:
    """Force and moment (6,) that a tie's patch exerts on its node, the moment about the node.

    After large rotations in axes that have turned with the node, else in global ones.
    """

    tie: Tie
    on_node: Array


def tie_forces(solution: Solution) -> Mapping[str, TieForce]:
    """What every tie of a structure carries, by the name of the tie's patch.

    A tie is a constraint, so its force is what its node lacks of balance without it. All nodes and
    patches together must balance, or the answer is refused.

    Raises:
        GateError: they do not, to `BALANCE`.
    """
    structure = solution.system.structure
    if not structure.ties:
        return {}
    handed = _handed(solution).reshape(-1, 6)
    points = solution.points
    nodes = [int(structure.mesh.place(tie.place)[0]) for tie in structure.ties]
    held = np.unique(np.concatenate([structure.mesh.place(tie.patch) for tie in structure.ties]))
    _require_balance(solution, points, handed, np.array(nodes), held)
    return {
        tie.patch: TieForce(tie, (handed[node].reshape(2, 3) @ own_axes(solution, node)).ravel())
        for tie, node in zip(structure.ties, nodes, strict=True)
    }


def own_axes(solution: Solution, node: int) -> Array:
    """The rotation (3, 3) of a node after large rotations; small ones leave forces as they are."""
    if isinstance(solution, LargeSolution):
        return np.asarray(solution.placement.turns[node])
    return np.eye(3)


def _handed(solution: Solution) -> Array:
    """Forces (6 nodes,) of ties and joints on the nodes: what is out of balance without them."""
    missing, motion = solution.out_of_balance.copy(), solution.kinematics
    held = motion.held
    missing[held] -= (motion.lift.T @ missing)[held]  # supports, which are no ties
    return missing[: 6 * solution.system.numbering.nodes]


def _require_balance(
    solution: Solution, points: Array, handed: Array, nodes: NDArray[np.int64],
    held: NDArray[np.int64],
) -> None:
    every = np.union1d(nodes, held)
    force, moment = handed[every, :3], handed[every, 3:]
    arm = points[every] - points[every].mean(axis=0)
    largest = np.linalg.norm(handed[nodes, :3], axis=1).max()
    reach = np.linalg.norm(arm, axis=1).max()
    turning = max(float(np.linalg.norm(handed[nodes, 3:], axis=1).max()), largest * reach)
    rest = np.linalg.norm(force.sum(axis=0))
    twist = np.linalg.norm((moment + np.cross(arm, force)).sum(axis=0))
    rounding = solution.system.rounding(solution.vector)[: handed.size].reshape(-1, 6)[every]
    noise, noisy = rounding[:, :3].sum(), rounding[:, 3:].sum()
    if rest > BALANCE * largest + noise or twist > BALANCE * turning + noisy + noise * reach:
        raise GateError(
            f"case '{solution.case}': the forces of ties do not balance: {rest:.3g} of "
            f"{largest:.3g} in force, {twist:.3g} of {turning:.3g} in moment"
        )
