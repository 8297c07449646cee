# SPDX-License-Identifier: MIT
"""Elements that turn: the linear element in a frame that turns with it.

Of the motion of an element's nodes the rotation Q of the element as a whole is taken out. What is
left, the deformation, is small even where Q is large, so the linear element matrix gives the force.
Its work is that of an energy ½ dᵀK d of the deformation d alone: no rigid motion of any size makes a
force, and turning everything turns the forces. The tangent is that of this energy without the terms
that vanish with the deformation, made symmetric.

Source: felippa-haugen-2005 (projector, tangent), rankin-nour-omid-1988 (independence of the
element). The frame of the triangle is the rotation of its mean deformation gradient, so the order
of its nodes does not matter.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element import plate, rotation
from fea.element.shell import Facets
from fea.element.strut import StrutFrames, cross_matrices

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Turned:
    """n elements of k nodes, seen from their own frame: global axes turned by Q.

    Attributes:
        turn: (n, 3, 3) Q.
        arms: (n, k, 3) from the centre to the nodes, in the turned axes.
        spin: (n, 3, 6k) G, from the motion of the nodes to the spin of Q, in the turned axes.
        motion: (n, 6k) deformation: displacements and rotation vectors in the turned axes.
    """

    turn: Array
    arms: Array
    spin: Array
    motion: Array

    @property
    def largest_rotation(self) -> float:
        """Largest rotation within an element, rad."""
        turned = self.motion.reshape(len(self.motion), -1, 6)[:, :, 3:]
        return float(np.linalg.norm(turned, axis=2).max(initial=0.0))


def turned_triangles(facets: Facets, points: Array, turns: Array) -> Turned:
    """Triangles at current corners (n, 3, 3) whose nodes have turned by (n, 3, 3, 3)."""
    arms = points - points.mean(axis=1, keepdims=True)
    normal = np.cross(arms[:, 1] - arms[:, 0], arms[:, 2] - arms[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    first = arms[:, 1] - arms[:, 0]
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    flat = np.stack([first, np.cross(normal, first)], axis=1)
    slope = plate.gradients(facets.xy)  # (n, 3, 2) of the reference
    stretch = np.einsum("nax,nkx,nkb->nab", flat, arms, slope)
    angle = np.arctan2(stretch[:, 1, 0] - stretch[:, 0, 1], stretch[:, 0, 0] + stretch[:, 1, 1])
    cosine, sine = np.cos(angle)[:, None], np.sin(angle)[:, None]
    one = cosine * flat[:, 0] + sine * flat[:, 1]
    two = cosine * flat[:, 1] - sine * flat[:, 0]
    axes = np.stack([one, two, normal], axis=1)  # rows, as the reference's
    xy = arms @ np.swapaxes(axes[:, :2], 1, 2)
    spin = np.zeros((len(arms), 3, 3, 6))
    across = plate.gradients(xy)
    spin[:, 0, :, 2], spin[:, 1, :, 2] = across[..., 1], -across[..., 0]
    trace = np.einsum("nki,nki->n", xy, slope)[:, None]
    spin[:, 2, :, 0], spin[:, 2, :, 1] = -slope[..., 1] / trace, slope[..., 0] / trace
    reference = facets.xy @ facets.axes[:, :2]
    return _seen(axes, facets.axes, arms, reference, turns, spin.reshape(-1, 3, 18))


def turned_struts(struts: StrutFrames, ends: Array, turns: Array) -> Turned:
    """Struts between current ends (n, 2, 3) that have turned by (n, 2, 3, 3).

    The local x axis runs through the ends; the twist is the mean of that of the ends.
    """
    along = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(along, axis=1)
    x = along / length[:, None]
    sides = np.einsum("nkij,nj->nki", turns, struts.axes[:, 1])
    mean = sides.sum(axis=1)
    z = np.cross(x, mean)
    z /= np.linalg.norm(z, axis=1, keepdims=True)
    axes = np.stack([x, np.cross(z, x), z], axis=1)
    local = np.einsum("nij,nkj->nki", axes, sides)  # the sides in the new axes
    lean, upright = local[..., 0].sum(axis=1), local[..., 1].sum(axis=1)
    spin = np.zeros((len(ends), 3, 2, 6))
    for end, sign in ((0, -1.0), (1, 1.0)):
        spin[:, 1, end, 2], spin[:, 2, end, 1] = -sign / length, sign / length
        spin[:, 0, end, 3] = local[:, end, 1] / upright
        spin[:, 0, end, 4] = -local[:, end, 0] / upright
    spin[:, 0] += (lean / upright)[:, None, None] * spin[:, 1]
    reference = np.zeros((len(ends), 2, 3))
    reference[:, 0], reference[:, 1] = (
        sign * struts.length[:, None] * struts.axes[:, 0] for sign in (-0.5, 0.5)
    )
    arms = ends - ends.mean(axis=1, keepdims=True)
    return _seen(axes, struts.axes, arms, reference, turns, spin.reshape(-1, 3, 12))


def forces(turned: Turned, stiffness: Array) -> Array:
    """Forces and moments (n, 6k) that the nodes exert on elements, global axes.

    Args:
        turned: n elements.
        stiffness: (n, 6k, 6k) of the linear elements before they turn, global axes.
    """
    return _blocks(turned.turn, _projected(turned, stiffness)[0])


def tangents(turned: Turned, stiffness: Array) -> Array:
    """Symmetric tangent stiffness (n, 6k, 6k) against displacement and spin, global axes."""
    pulled, rates = _projected(turned, stiffness)
    count, size = pulled.shape
    rigid = _rigid(turned.arms)
    filtered = np.tile(np.eye(size), (count, 1, 1)) - rigid @ turned.spin
    blocks = filtered.reshape(count, -1, 6, size)
    moved = blocks.copy()
    moved[:, :, 3:] = rates @ blocks[:, :, 3:]
    moved = moved.reshape(count, size, size)
    both = np.swapaxes(moved, 1, 2) @ stiffness @ moved
    vectors = cross_matrices(pulled.reshape(-1, 3)).reshape(count, size, 3)
    spun = vectors @ turned.spin
    shifts = vectors.reshape(count, -1, 6, 3).copy()
    shifts[:, :, 3:] = 0.0
    shifted = np.swapaxes(shifts.reshape(count, size, 3), 1, 2) @ filtered
    both -= spun + np.swapaxes(turned.spin, 1, 2) @ shifted
    both = 0.5 * (both + np.swapaxes(both, 1, 2))
    left = turned.turn[:, None, None] @ both.reshape(count, -1, 3, size)[:, None]
    left = left.reshape(count, size, size)
    right = np.swapaxes(left, 1, 2).reshape(count, -1, 3, size)
    return (turned.turn[:, None] @ right).reshape(count, size, size)


def energies(turned: Turned, stiffness: Array) -> Array:
    """Elastic energy (n,) of the elements."""
    return 0.5 * np.einsum("ni,nij,nj->n", turned.motion, stiffness, turned.motion)


def carried_to_nodes(arms: Array, forces: Array, tangents: Array | None = None) -> tuple:
    """Forces and tangents of struts at their ends, moved to nodes by rigid arms.

    Args:
        arms: (n, 2, 3) from node to end, as turned now.
        forces: (n, 12) at the ends;  tangents: (n, 12, 12) there, or None.

    Returns:
        Forces (n, 12) and tangents (n, 12, 12), or None, at the nodes.
    """
    at_nodes = forces.reshape(-1, 2, 6).copy()
    pull = at_nodes[:, :, :3]
    at_nodes[:, :, 3:] += np.cross(arms, pull)
    if tangents is None:
        return at_nodes.reshape(-1, 12), None
    carry = np.tile(np.eye(12), (len(arms), 1, 1))
    for end in (0, 1):
        first = 6 * end
        carry[:, first : first + 3, first + 3 : first + 6] = -cross_matrices(arms[:, end])
    matrix = np.swapaxes(carry, 1, 2) @ tangents @ carry
    for end in (0, 1):
        turn = slice(6 * end + 3, 6 * end + 6)
        matrix[:, turn, turn] += swung(arms[:, end], pull[:, end])
    return at_nodes.reshape(-1, 12), matrix


def swung(arms: Array, forces: Array) -> Array:
    """Stiffness (n, 3, 3) against spin of what holds forces (n, 3) at the ends of rigid arms.

    A spin θ moves the end of arm r by θ × r + ½ θ × (θ × r); the second part does work.
    """
    dyad = forces[:, :, None] * arms[:, None, :]
    along = np.sum(arms * forces, axis=1)[:, None, None]
    return 0.5 * (dyad + np.swapaxes(dyad, 1, 2)) - along * np.eye(3)


def _seen(
    axes: Array, before: Array, arms: Array, reference: Array, turns: Array, spin: Array
) -> Turned:
    """Elements whose axes (rows) were ``before``; ``spin`` (n, 3, 6k) is in their own axes."""
    turn = np.swapaxes(axes, 1, 2) @ before
    back = arms @ turn
    rotations = rotation.vectors((np.swapaxes(turn, 1, 2)[:, None] @ turns).reshape(-1, 3, 3))
    motion = np.concatenate([back - reference, rotations.reshape(back.shape)], axis=2)
    count, nodes = back.shape[:2]
    spin = np.swapaxes(before, 1, 2) @ spin
    spin = (spin.reshape(count, -1, 3) @ before).reshape(spin.shape)
    return Turned(turn, back, spin, motion.reshape(count, 6 * nodes))


def _projected(turned: Turned, stiffness: Array) -> tuple[Array, Array]:
    """Forces (n, 6k) in the turned axes, and the rates (n, k, 3, 3) of the rotation vectors."""
    count, size = turned.motion.shape
    parts = turned.motion.reshape(count, -1, 6)
    rates = rotation.inverse_rates(parts[:, :, 3:].reshape(-1, 3)).reshape(count, -1, 3, 3)
    pulled = np.einsum("nij,nj->ni", stiffness, turned.motion).reshape(count, -1, 6)
    pulled[:, :, 3:] = np.einsum("nkij,nki->nkj", rates, pulled[:, :, 3:])
    moment = np.sum(np.cross(turned.arms, pulled[:, :, :3]) + pulled[:, :, 3:], axis=1)
    pulled = pulled.reshape(count, size) - np.einsum("nij,ni->nj", turned.spin, moment)
    return pulled, rates


def _rigid(arms: Array) -> Array:
    """Motion (n, 6k, 3) of nodes at arms (n, k, 3) under a spin about the centre."""
    count, nodes, _ = arms.shape
    result = np.zeros((count, nodes, 6, 3))
    result[:, :, :3] = -cross_matrices(arms.reshape(-1, 3)).reshape(count, nodes, 3, 3)
    result[:, :, 3:] = np.eye(3)
    return result.reshape(count, 6 * nodes, 3)


def _blocks(turn: Array, vectors: Array) -> Array:
    """Vectors (n, 3m) turned block by block."""
    return np.einsum("nij,nkj->nki", turn, vectors.reshape(len(turn), -1, 3)).reshape(vectors.shape)
