# SPDX-License-Identifier: MIT
"""Gates: what must be true before any number leaves the solver. A failed gate is an error."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.errors import GateError, UnsupportedError
from fea.solver.kinematics import Kinematics, name_of, rigid_motion
from fea.solver.numbering import Numbering
from fea.solver.parts import BedSprings, GroundSprings
from fea.structure.model import Structure

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

BACKWARD_ERROR = 1e-12
BALANCE = 1e-6
SOFTEST = 1e-14
_MOTIONS = tuple(f"{kind} {axis}" for kind in ("shift in", "turn about") for axis in "xyz")


@dataclass(frozen=True)
class Gate:
    """One gate: what was measured, and the limit it must not exceed (or fall below)."""

    name: str
    value: float
    limit: float
    at_least: bool = False

    @property
    def passed(self) -> bool:
        """Whether the value keeps the limit; NaN never does."""
        return self.value >= self.limit if self.at_least else self.value <= self.limit


@contextmanager
def in_range(what: str) -> Iterator[None]:
    """Refuse arithmetic that leaves the range of numbers, instead of a warning beside a result.

    Raises:
        GateError: names what was computed.
    """
    try:
        with np.errstate(divide="raise", over="raise", invalid="raise"):
            yield
    except FloatingPointError:
        raise GateError(
            f"{what} is beyond the range of numbers, so no result is given; look for a modulus, a "
            "thickness, a length or a force in the wrong unit"
        ) from None


def require_restrained(
    structure: Structure,
    numbering: Numbering,
    motion: Kinematics,
    beds: Sequence[BedSprings],
    springs: Sequence[GroundSprings] = (),
) -> None:
    """Every connected part (through ties, joints and beds) must resist all six rigid motions.

    Raises:
        UnsupportedError: names the part by its zones and the motions that nothing resists.
    """
    owners = numbering.nodes + len(structure.bodies)
    label = _parts(structure, numbering, motion, owners)
    points = owner_points(structure)
    owner, restraint = _restraints(motion, beds, springs)
    used = np.zeros(owners, dtype=bool)
    used[np.flatnonzero(numbering.active()[: 6 * owners]) // 6] = True
    for part in np.unique(label[used]):
        members = np.flatnonzero((label == part) & used)
        here = points[members]
        centre, size = here.mean(axis=0), max(np.ptp(here, axis=0).max(), 1e-300)
        mine = label[owner] == part
        rigid = rigid_motion((points[owner[mine]] - centre) / size)
        rows = np.einsum("ri,rij->rj", restraint[mine], rigid)
        # the small triangular factor first: the full left factor of many rows would not fit
        small = np.linalg.qr(np.concatenate([np.zeros((1, 6)), rows]), mode="r")
        _, singular, modes = np.linalg.svd(small, full_matrices=True)
        rank = int(np.sum(singular > 1e-8))
        if rank < 6:
            free = _in_words(modes[rank:])
            raise UnsupportedError(
                f"{_part_name(structure, members)} is not held: nothing resists {free}; add a "
                "support, tie or bed"
            )


def _parts(structure: Structure, numbering: Numbering, motion: Kinematics, owners: int) -> IntArray:
    """Part number of every node and body."""
    links = []
    for cells in structure.mesh.cells.values():
        links += [cells[:, [0, k]] for k in range(1, cells.shape[1])]
    for bed in structure.beds:
        if bed.body is not None:
            nodes = structure.mesh.zone_nodes(bed.zone)
            body = numbering.nodes + structure.body_index[bed.body]
            links.append(np.column_stack([nodes, np.full(len(nodes), body)]))
    for strap in structure.straps:
        ends = np.concatenate([structure.mesh.place(place) for place in strap.ends])
        body = numbering.nodes + structure.body_index[strap.body]
        links.append(np.column_stack([ends, np.full(len(ends), body)]))
    follow = motion.dependence.tocoo()
    inside = (follow.row < 6 * owners) & (follow.col < 6 * owners)
    links.append(np.column_stack([follow.row[inside] // 6, follow.col[inside] // 6]))
    pairs = np.concatenate(links)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(owners, owners))
    return connected_components(graph, directed=False)[1]


def _restraints(
    motion: Kinematics, beds: Sequence[BedSprings], elastic: Sequence[GroundSprings]
) -> tuple[IntArray, Array]:
    """Owners (r,) and what is resisted of their motion (r, 6): held, sprung, on a ground bed."""
    owner, component = np.divmod(motion.held, 6)
    owners, rows = [owner], [np.eye(6)[component]]
    for springs in beds:
        if springs.bed.body is None:
            share = np.trace(springs.stiffness, axis1=1, axis2=2)[:, None, None]
            resisted = springs.stiffness / np.where(share > 0.0, share, 1.0)
            rows.append(np.pad(resisted, ((0, 0), (0, 0), (0, 3))).reshape(-1, 6))
            owners.append(np.repeat(springs.nodes, 3))
    for spring in elastic:
        sprung = np.flatnonzero(spring.diagonal)
        owners.append(np.repeat(spring.owners[:, 0], len(sprung)))
        rows.append(np.tile(np.eye(6)[sprung], (len(spring.dofs), 1)))
    return np.concatenate(owners), np.concatenate(rows)


def owner_points(structure: Structure) -> Array:
    """Points (m, 3) of all nodes, then of all bodies."""
    bodies = [body.at for body in structure.bodies]
    return np.concatenate([structure.mesh.points, np.reshape(bodies, (-1, 3))])


def _part_name(structure: Structure, members: IntArray) -> str:
    nodes = len(structure.mesh.points)
    names = [
        f"zone '{name}'"
        for name in structure.sections
        if np.isin(structure.mesh.zone_nodes(name), members).any()
    ]
    names += [f"body '{structure.bodies[m - nodes].name}'" for m in members if m >= nodes]
    return "the part made of " + ", ".join(names)


def _in_words(modes: Array) -> str:
    """Free rigid motions in words, from an orthonormal basis (k, 6) of them."""
    share = np.sum(modes**2, axis=0)
    named = [_MOTIONS[k] for k in np.argsort(-share, kind="stable")[: len(modes)]]
    return ", ".join(sorted(named, key=_MOTIONS.index))


def require_stiff(
    softest: tuple[float, Array],
    structure: Structure,
    numbering: Numbering,
    motion: Kinematics,
) -> Gate:
    """The softest mode of the scaled matrix must stand clear of rounding.

    Raises:
        UnsupportedError: names the degree of freedom that moves most in the mechanism.
    """
    value, mode = softest
    gate = Gate("softest mode over stiffest, scaled", value, SOFTEST, at_least=True)
    if not gate.passed:
        place = name_of(int(motion.free[np.argmax(np.abs(mode))]), structure, numbering)
        cure = _turning_on_solids(motion.to_all @ mode, structure, numbering)
        raise UnsupportedError(
            f"a mechanism remains: {place} moves without strain; hold it or stiffen it{cure}"
        )
    return gate


def _turning_on_solids(mode: Array, structure: Structure, numbering: Numbering) -> str:
    """Names a node shared with a solid that turns in a mode (N,); empty where none does."""
    shared = np.unique(structure.mesh.table("tetra10"))
    turns = np.abs(mode[numbering.node(shared)[:, 3:]]).max(axis=1, initial=0.0)
    size = float(np.ptp(structure.mesh.points, axis=0).max())
    if not len(shared) or size * turns.max() < 1e-3 * np.abs(mode).max():
        return ""
    x, y, z = structure.mesh.points[shared[np.argmax(turns)]]
    return (
        f". A solid lets the strut or shell at its node ({x:.4g}, {y:.4g}, {z:.4g}) turn: join it "
        "with a Tie to a patch of the solid's nodes instead of sharing one node or one line"
    )


def require_backward_error(case: str, residual: float, scale: float) -> Gate:
    """‖r‖ ≤ 1e-12 (‖K‖ ‖u‖ + ‖f‖), raises `GateError`."""
    value = residual / scale if scale > 0.0 else (0.0 if residual == 0.0 else np.inf)
    return require(Gate("backward error", value, BACKWARD_ERROR), case)


def require_balance(case: str, imbalance: float) -> Gate:
    """Loads and reactions must balance in force and moment, raises `GateError`."""
    return require(Gate("imbalance of loads and reactions", imbalance, BALANCE), case)


def require_finite(case: str, displacement: Array, active: NDArray[np.bool_]) -> None:
    """Every active degree of freedom must be finite, raises `GateError`."""
    if not np.all(np.isfinite(displacement[active])):
        raise GateError(f"case '{case}': the displacements are not finite; no result is given")


def require(gate: Gate, case: str) -> Gate:
    """The gate, if it is passed; raises `GateError` if not."""
    if not gate.passed:
        raise GateError(
            f"case '{case}': {gate.name} {gate.value:.2g} exceeds {gate.limit:.0e}; the model is "
            "too badly scaled to trust (look for very stiff sections beside very soft ones)"
        )
    return gate


def balance_error(points: Array, forces: Array, reactions: Array, rounding: Array) -> float:
    """Largest relative imbalance of nodal forces and reactions, each (m, 6), at points (m, 3).

    ``rounding`` (m, 6) bounds what the products of stiffness and displacement lose to rounding; it
    widens the scale, so that a motion without force, which has nothing but rounding, is in balance.
    """
    both = forces + reactions
    arm = points - points.mean(axis=0)
    force = both[:, :3].sum(axis=0)
    moment = (both[:, 3:] + np.cross(arm, both[:, :3])).sum(axis=0)
    length = max(float(np.ptp(points, axis=0).max()), 1e-300)
    sizes = np.abs(forces) + np.abs(reactions) + rounding / BALANCE
    scale = max(float(sizes[:, :3].sum() * length + sizes[:, 3:].sum()), 1e-300)
    return float(max(np.linalg.norm(force) * length, np.linalg.norm(moment)) / scale)


def gate_table(gates: Mapping[str, tuple[Gate, ...]]) -> dict[str, tuple[float, float]]:
    """Worst value over the cases and limit of each gate, by its name."""
    table: dict[str, tuple[float, float]] = {}
    for gate in (gate for some in gates.values() for gate in some):
        worst = min if gate.at_least else max
        known = table.get(gate.name, (gate.value, gate.limit))[0]
        table[gate.name] = (worst(known, gate.value), gate.limit)
    return table
