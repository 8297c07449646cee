# SPDX-License-Identifier: MIT
"""Where nodes and bodies are after a motion of any size, and what ties and joints make of it.

Nodes and bodies are owners of six degrees of freedom. A rigid tie carries its patch along as one
piece; a mean tie follows the rotation that fits the patch best (least squares over its points, as
the linear one); a joined body keeps the joint, and turns about it by its hinge angle. All of this
is exact for rotations of any size; its rate at a placement is again a linear map.

Source: kabsch-1976 (best rotation by singular values).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.element import rotation
from fea.element.strut import cross_matrices
from fea.solver.gates import owner_points
from fea.solver.kinematics import Entry, Kinematics, follow_all, rigid_motion
from fea.solver.numbering import Numbering
from fea.structure.coupling import Body, Tie
from fea.structure.model import Structure

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class Placement:
    """Where all owners are.

    Attributes:
        points: (m, 3) of nodes, then bodies.
        turns: (m, 3, 3) by which they have turned.
        angles: (h,) of the hinges, rad.
    """

    points: Array
    turns: Array
    angles: Array

    def moved(self, change: Array) -> "Placement":
        """After displacements and spins (N,), of which those of followers are passed over."""
        count = len(self.points)
        own = change[: 6 * count].reshape(-1, 6)
        return Placement(
            self.points + own[:, :3],
            rotation.matrices(own[:, 3:]) @ self.turns,
            self.angles + change[6 * count :],
        )


@dataclass(frozen=True, eq=False)
class Followers:
    """Ties and joints of a structure for motions of any size. Make it with `Followers.of`.

    Attributes:
        structure, numbering: what they are of.
        reference: (m, 3) points of all owners before the motion.
        links: ties and joined bodies, those that others follow first.
        first: the linear map of the structure before it moves.
    """

    structure: Structure
    numbering: Numbering
    reference: Array
    links: tuple["_Link", ...]
    first: Kinematics

    @classmethod
    def of(cls, structure: Structure, numbering: Numbering, motion: Kinematics) -> "Followers":
        """Prepare the ties and joints of a structure."""
        reference = owner_points(structure)
        links: list[_Link] = [_tie(tie, structure, reference) for tie in structure.ties]
        for index, body in enumerate(structure.bodies):
            if body.joined_to is not None:
                links.append(_joint(index, body, structure, numbering, reference))
        return cls(structure, numbering, reference, _in_order(links), motion)

    def start(self) -> Placement:
        """Nothing has moved."""
        count = len(self.reference)
        turns = np.broadcast_to(np.eye(3), (count, 3, 3)).copy()
        return Placement(self.reference, turns, np.zeros(len(self.numbering.hinges)))

    def fitted(self, placement: Placement) -> Placement:
        """The placement with every follower where it belongs."""
        points, turns = placement.points.copy(), placement.turns.copy()
        for link in self.links:
            link.follow(points, turns, placement.angles)
        return Placement(points, turns, placement.angles)

    def motion_at(self, placement: Placement) -> Kinematics:
        """The rates of all degrees of freedom at a placement, held ones left out of `given`."""
        if not self.links:
            return self.first
        entries = [entry for link in self.links for entry in link.rates(placement)]
        dependence, lift = follow_all(entries, self.numbering.total, len(self.links) + 1)
        to_all = lift.tocsc()[:, self.first.free].tocsr()
        return replace(self.first, dependence=dependence, lift=lift, to_all=to_all)


@dataclass(frozen=True)
class _RigidTie:
    """A patch that moves with one node."""

    leader: int
    followers: IntArray
    arms: Array

    def follow(self, points: Array, turns: Array, angles: Array) -> None:
        turn = turns[self.leader]
        points[self.followers] = points[self.leader] + self.arms @ turn.T
        turns[self.followers] = turn

    def rates(self, placement: Placement) -> list[Entry]:
        arms = self.arms @ placement.turns[self.leader].T
        return [_blocks(self.followers, self.leader, rigid_motion(arms))]

    @property
    def leaders(self) -> IntArray:
        return np.array([self.leader])


@dataclass(frozen=True)
class _MeanTie:
    """A node that moves with the mean rigid motion of a patch of several nodes."""

    follower: int
    leaders: IntArray
    spread: Array  # (p, 3) from the middle of the patch, before the motion
    arm: Array  # (3,) from the middle to the node

    @property
    def followers(self) -> IntArray:
        return np.array([self.follower])

    def follow(self, points: Array, turns: Array, angles: Array) -> None:
        turn, _ = self._fit(points)
        points[self.follower] = points[self.leaders].mean(axis=0) + turn @ self.arm
        turns[self.follower] = turn

    def rates(self, placement: Placement) -> list[Entry]:
        turn, stretch = self._fit(placement.points)
        count = len(self.leaders)
        inverse = np.linalg.inv(np.trace(stretch) * np.eye(3) - stretch)
        spin = inverse @ cross_matrices(self.spread @ turn.T)  # (p, 3, 3)
        shift = np.eye(3) / count - cross_matrices((turn @ self.arm)[None]) @ spin
        rows = 6 * self.follower + np.arange(6)
        columns = 6 * self.leaders[:, None] + np.arange(3)
        values = np.concatenate([shift, spin], axis=1)  # (p, 6, 3)
        every = np.broadcast_to(rows[None, :, None], values.shape)
        across = np.broadcast_to(columns[:, None], values.shape)
        return [(every.ravel(), across.ravel(), values.ravel())]

    def _fit(self, points: Array) -> tuple[Array, Array]:
        """Best rotation (3, 3) of the patch, and its stretch (3, 3) in the axes of today."""
        here = points[self.leaders]
        left, size, right = np.linalg.svd((here - here.mean(axis=0)).T @ self.spread)
        sign = np.array([1.0, 1.0, np.linalg.det(left) * np.linalg.det(right)])
        return (left * sign) @ right, (left * (sign * size)) @ left.T


@dataclass(frozen=True)
class _Joint:
    """A body joined to another at a point, by a ball or a hinge."""

    follower: int
    leader: int
    arm: Array
    axis: Array | None
    hinge: tuple[int, int]  # number of the hinge, and its position

    @property
    def followers(self) -> IntArray:
        return np.array([self.follower])

    @property
    def leaders(self) -> IntArray:
        return np.array([self.leader])

    def follow(self, points: Array, turns: Array, angles: Array) -> None:
        turn = turns[self.leader]
        points[self.follower] = points[self.leader] + turn @ self.arm
        if self.axis is not None:
            own = rotation.matrices(angles[self.hinge[0]] * self.axis[None])[0]
            turns[self.follower] = turn @ own

    def rates(self, placement: Placement) -> list[Entry]:
        turn = placement.turns[self.leader]
        block = rigid_motion((turn @ self.arm)[None])
        if self.axis is None:
            block = block[:, :3]
        entries = [_blocks(self.followers, self.leader, block)]
        if self.axis is not None:
            rows = 6 * self.follower + np.arange(3, 6)
            entries.append((rows, np.full(3, self.hinge[1]), turn @ self.axis))
        return entries


_Link = _RigidTie | _MeanTie | _Joint


def _tie(tie: Tie, structure: Structure, reference: Array) -> _RigidTie | _MeanTie:
    node, patch = structure.mesh.place(tie.place)[0], structure.mesh.place(tie.patch)
    arms = reference[patch] - reference[node]
    if tie.rule == "rigid":
        return _RigidTie(int(node), patch, arms)
    if len(patch) == 1:
        return _RigidTie(int(patch[0]), np.array([node]), -arms)
    middle = reference[patch].mean(axis=0)
    return _MeanTie(int(node), patch, reference[patch] - middle, reference[node] - middle)


def _joint(
    index: int, body: Body, structure: Structure, numbering: Numbering, reference: Array
) -> _Joint:
    assert body.joined_to is not None
    own, other = (numbering.nodes + k for k in (index, structure.body_index[body.joined_to]))
    axis, hinge = None, (-1, -1)
    if body.axis is not None:
        axis = np.asarray(body.axis) / np.linalg.norm(body.axis)
        hinge = (list(numbering.hinges).index(index), numbering.hinges[index])
    return _Joint(own, other, reference[own] - reference[other], axis, hinge)


def _in_order(links: list[_Link]) -> tuple[_Link, ...]:
    """Links so that each comes after those that its leaders follow; circles were refused before."""
    ordered: list[_Link] = []
    waiting = list(links)
    while waiting:
        late = np.concatenate([link.followers for link in waiting])
        ready = [link for link in waiting if not np.isin(link.leaders, late).any()]
        assert ready, "ties or joints in a circle"
        ordered += ready
        waiting = [link for link in waiting if not any(link is each for each in ready)]
    return tuple(ordered)


def _blocks(followers: IntArray, leader: int, blocks: Array) -> Entry:
    """Entries of followers (m,) whose first r components follow one leader by (m, r, 6)."""
    count, rows = blocks.shape[:2]
    down = (6 * followers[:, None] + np.arange(rows)).repeat(6, axis=1).ravel()
    across = np.tile(6 * leader + np.arange(6), count * rows)
    return down, across, blocks.ravel()
