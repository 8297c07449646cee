# SPDX-License-Identifier: MIT
"""The middle line of a part of a surface, and how far points lie beside it.

The part is sliced across at even heights, and each slice is followed from rim to rim. The line runs
straight, as seen along the part's normal, from half-way along the first slice to half-way along the
last, as a strip does that is cut straight and wrapped on. Slices in several pieces, beside an
opening, are left out where others are whole.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import MeshError
from fea.mesh.mesh import triangle_geometry
from fea.mesh.topology import edges_of

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

SPACING = 5.0
"""mm between slices. Source: assumed."""
_INSIDE = 0.01  # share of the length by which slices stay off its ends, where rims turn round


@dataclass(frozen=True, eq=False)
class Midline:
    """A line on a surface.

    Attributes:
        points: (m, 3) along it;  across: (m, 3) unit vectors in the surface and across the line,
            of one sense throughout.
    """

    points: Array
    across: Array

    @property
    def length(self) -> float:
        """From its first point to its last."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())

    def beside(self, points: Array) -> Array:
        """How far (n,) points (n, 3) lie beside the line, positive towards `across`.

        Beyond its ends the line runs on straight.

        Example:
            >>> line = Midline(np.array([[0, 0, 0], [0, 0, 5.0]]), np.array([[1.0, 0, 0]] * 2))
            >>> line.beside(np.array([[2.0, 0, 1], [-3, 0, 7]])).tolist()
            [2.0, -3.0]
        """
        start, along = self.points[:-1], np.diff(self.points, axis=0)
        gap = points[:, None] - start
        share = np.einsum("nsk,sk->ns", gap, along) / np.einsum("sk,sk->s", along, along)
        low, high = np.zeros(len(along)), np.ones(len(along))
        low[0], high[-1] = -np.inf, np.inf
        away = gap - np.clip(share, low, high)[..., None] * along
        nearest = np.linalg.norm(away, axis=2).argmin(axis=1)
        own = away[np.arange(len(points)), nearest]
        side = np.einsum("nk,nk->n", own, self.across[:-1][nearest])
        return np.asarray(np.copysign(np.linalg.norm(own, axis=1), side))


def midline(
    points: Array, triangles: IntArray, axis: int, low: float, high: float, aside: float = 0.0
) -> Midline:
    """The middle line of triangles that hang together, between two heights along an axis.

    Args:
        points: (n, 3);  triangles: (c, 3).
        axis: 0 of a line that runs along x, 2 up along z.
        low, high: its ends along the axis.
        aside: moves the line across, measured on the surface: forward where it runs up (to the left
            where the part lies square to that), to the left where it runs forward.

    Raises:
        MeshError: there is nothing between the ends, or a slice closes in itself.
    """
    spare = _INSIDE * (high - low)
    count = max(3, int((high - low) / SPACING) + 1)
    heights = np.linspace(low + spare, high - spare, count)
    slices = [_slice(points, triangles, axis, float(height)) for height in heights]
    whole = [pieces for pieces in slices if len(pieces) == 1]  # none beside an opening
    chains: list[Array] = []
    for pieces in whole if len(whole) > 1 else filter(None, slices):
        longest = max(pieces, key=_length)
        chains.append(_turned(longest, axis, chains[-1] if chains else None))
    if len(chains) < 2:
        raise MeshError(f"no part of the surface lies between {low:.1f} and {high:.1f}")
    start, end = _half_way(chains[0], aside), _half_way(chains[-1], aside)
    middle = points[triangles].mean(axis=1)[:, axis]
    area, normal = triangle_geometry(points, triangles)
    outward = np.where((middle >= low) & (middle <= high), area, 0.0) @ normal
    across = np.cross(end - start, outward)
    across /= np.linalg.norm(across)
    found = [_crossing(chain, start, end, across, axis) for chain in chains]
    line, beside = np.array([at for at, _ in found]), np.array([way for _, way in found])
    for last, before, height in ((0, 1, low), (-1, -2, high)):  # run on to the ends
        step = line[last] - line[before]
        line[last] += (height - line[last, axis]) / step[axis] * step
    return Midline(line, beside)


def _slice(points: Array, triangles: IntArray, axis: int, height: float) -> list[Array]:
    """The chains (k, 3) in which a plane crosses triangles."""
    edges = edges_of(triangles)
    above = points[edges.ends][..., axis] >= height
    crossed = above[:, 0] != above[:, 1]
    (a, b) = points[edges.ends].swapaxes(0, 1)
    rise = np.where(crossed, b[:, axis] - a[:, axis], 1.0)
    at = a + ((height - a[:, axis]) / rise)[:, None] * (b - a)
    beside: dict[int, list[int]] = {}
    for triangle in edges.of_triangle[crossed[edges.of_triangle].sum(axis=1) == 2].tolist():
        one, two = (edge for edge in triangle if crossed[edge])
        beside.setdefault(one, []).append(two)
        beside.setdefault(two, []).append(one)
    return [at[chain] for chain in _chains(beside)]


def _chains(beside: dict[int, list[int]]) -> list[list[int]]:
    """Chains from rim to rim of edges that lie beside each other; raises where one is closed."""
    chains, seen = [], set[int]()
    for start in sorted(beside, key=lambda edge: len(beside[edge])):
        if start in seen:
            continue
        if len(beside[start]) != 1:
            raise MeshError("the part closes round in itself, so that it has no middle line; name "
                            "zones with two edges, or give no width to cover them all round")
        chain, here = [start], beside[start][0]
        seen.add(start)
        while here not in seen:
            seen.add(here)
            chain.append(here)
            here = next((edge for edge in beside[here] if edge not in seen), here)
        chains.append(chain)
    return chains


def _length(chain: Array) -> float:
    return float(np.linalg.norm(np.diff(chain, axis=0), axis=1).sum())


def _turned(chain: Array, axis: int, before: Array | None) -> Array:
    """The chain, run in the sense of the one before; the first one forward or to the left."""
    run = chain[-1] - chain[0]
    forward = axis == 2 and abs(run[0]) >= abs(run[1])
    sense = np.eye(3)[0 if forward else 1] if before is None else before[-1] - before[0]
    return chain if float(run @ sense) >= 0.0 else chain[::-1]


def _half_way(chain: Array, aside: float) -> Array:
    """The point half-way along a chain, or some way from there."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(chain, axis=0), axis=1))])
    at = np.clip(0.5 * along[-1] + aside, 0.0, along[-1])
    return np.array([np.interp(at, along, values) for values in chain.T])


def _crossing(
    chain: Array, start: Array, end: Array, across: Array, axis: int
) -> tuple[Array, Array]:
    """Where a chain passes the plane through a straight line, and the chain's direction there.

    Where it does not reach the plane, its point nearest to it.
    """
    off = (chain - start) @ across
    share = (chain[0, axis] - start[axis]) / (end[axis] - start[axis])
    wanted = start + share * (end - start)
    passes = np.flatnonzero(off[:-1] * off[1:] <= 0.0)
    if not len(passes):
        nearest = int(np.abs(off).argmin())
        piece = min(nearest, len(chain) - 2)
        at = chain[nearest]
    else:
        part = off[passes] / np.where(off[passes] == off[passes + 1], 1.0,
                                      off[passes] - off[passes + 1])  # fmt: skip
        at = chain[passes] + part[:, None] * (chain[passes + 1] - chain[passes])
        chosen = int(np.linalg.norm(at - wanted, axis=1).argmin())
        piece, at = int(passes[chosen]), at[chosen]
    near = chain[max(piece - 1, 0)], chain[min(piece + 2, len(chain) - 1)]
    step = near[1] - near[0]
    return at, step / np.linalg.norm(step)
