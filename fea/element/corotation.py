# SPDX-License-Identifier: MIT
"""Elements that turn: the linear element in a frame that turns with it.

Of the motion of an element's nodes the rotation Q of the element as a whole is taken out. What is
left, the deformation, is small even where Q is large, so the linear element matrix gives the force.
Its work is that of an energy ½ dᵀK d of the deformation d alone: no rigid motion of any size makes
a force, and turning everything turns the forces. The tangent is that of this energy but for terms
of third order in the deformation.

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
        rates: (n, k, 3, 3) from the spin of a node to the rate of its rotation vector.
    """

    turn: Array
    arms: Array
    spin: Array
    motion: Array
    rates: Array

    def spin_change(self, moment: Array) -> Array:
        """Matrices (n, 6k, 6k) of how −Gᵀ times moments (n, 3) changes as the element deforms."""
        raise NotImplementedError

    @property
    def largest_rotation(self) -> float:
        """Largest rotation within an element, rad."""
        turned = self.motion.reshape(len(self.motion), -1, 6)[:, :, 3:]
        return float(np.linalg.norm(turned, axis=2).max(initial=0.0))


@dataclass(frozen=True)
class _Triangles(Turned):
    """Triangles; gradients (n, 3, 3) of the area coordinates now, and before over the stretch."""

    normal: Array
    slope: Array
    stretch: Array

    def spin_change(self, moment: Array) -> Array:
        """See `Turned`: the gradients turn with the strain, and the mean stretch divides."""
        count = len(moment)
        across = np.sum(np.cross(self.slope, self.normal[:, None]) * moment[:, None], axis=2)
        blocks = np.zeros((count, 3, 6, 3, 6))
        blocks[:, :, :3, :, :3] = np.einsum("na,nib,nj->niajb", self.normal, self.slope, across)
        about = np.sum(self.normal * moment, axis=1)
        lever = about[:, None] * np.einsum("na,nai->ni", self.normal, self.spin)
        change = blocks.reshape(count, 18, 3, 6)
        change[..., :3] += lever[:, :, None, None] * self.stretch[:, None]
        return change.reshape(count, 18, 18)


@dataclass(frozen=True)
class _Struts(Turned):
    """Struts: their axes before (rows), length now, and sides (n, 2, 3) in their own axes now."""

    before: Array
    length: Array
    sides: Array

    def spin_change(self, moment: Array) -> Array:
        """See `Turned`: the lever of the ends is their length, that of the twist their sides."""
        count = len(moment)
        own = self.before @ (self.spin.reshape(count, 3, 4, 3) @ self.before[:, None].swapaxes(
            2, 3)).reshape(count, 3, 12)  # fmt: skip
        about = np.einsum("nij,nj->ni", self.before, moment)
        longer = np.zeros((count, 12))
        longer[:, 0], longer[:, 6] = -1.0 / self.length, 1.0 / self.length
        lean, upright = np.zeros((2, count, 2, 12))  # rates of the sides' x and y
        for end in (0, 1):
            x, y, z = self.sides[:, end].T
            first = 6 * end + 3
            lean[:, end, first + 1], lean[:, end, first + 2] = z, -y
            upright[:, end, first + 2], upright[:, end, first] = x, -z
        twist = _outer(own[:, 1], lean.sum(axis=1)) - _outer(own[:, 0], upright.sum(axis=1))
        twist -= _outer(self.sides[:, :, 0].sum(axis=1)[:, None] * own[:, 1], longer)
        for end in (0, 1):
            twist[:, 6 * end + 3] += upright[:, end]
            twist[:, 6 * end + 4] -= lean[:, end]
        change = _outer(about[:, 1, None] * own[:, 1] + about[:, 2, None] * own[:, 2], longer)
        change -= (about[:, 0] / self.sides[:, :, 1].sum(axis=1))[:, None, None] * twist
        return _turned_back(np.swapaxes(self.before, 1, 2), change)


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
    flat_axes = facets.axes[:, :2]
    seen = _seen(axes, facets.axes, arms, reference, turns, spin.reshape(-1, 3, 18))
    before = (slope / trace[..., None]) @ flat_axes
    return _Triangles(*seen, facets.axes[:, 2], across @ flat_axes, before)


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
    seen = _seen(axes, struts.axes, arms, reference, turns, spin.reshape(-1, 3, 12))
    return _Struts(*seen, struts.axes, length, local)


def forces(turned: Turned, stiffness: Array) -> Array:
    """Forces and moments (n, 6k) that the nodes exert on elements, global axes.

    Args:
        turned: n elements.
        stiffness: (n, 6k, 6k) of the linear elements before they turn, global axes.
    """
    balanced = _balanced(turned, *_pulled(turned, stiffness)).reshape(len(turned.turn), -1, 3)
    return np.einsum("nij,nkj->nki", turned.turn, balanced).reshape(turned.motion.shape)


def tangents(turned: Turned, stiffness: Array) -> Array:
    """Tangent stiffness (n, 6k, 6k) against displacement and spin, global axes.

    It is not symmetric; the sum over elements is, where no moment acts on the nodes from outside.
    """
    pulled, moment = _pulled(turned, stiffness)
    count, size = turned.motion.shape
    filtered = np.tile(np.eye(size), (count, 1, 1)) - _rigid(turned.arms) @ turned.spin
    moved = filtered.reshape(count, -1, 6, size).copy()
    moved[:, :, 3:] = turned.rates @ moved[:, :, 3:]
    curved = np.zeros((count, size // 6, 6, size))
    curved[:, :, 3:] = _rate_change(turned, stiffness) @ moved[:, :, 3:]
    rates = moved.reshape(count, size, size)
    both = np.swapaxes(rates, 1, 2) @ stiffness @ rates
    both += np.swapaxes(filtered, 1, 2) @ curved.reshape(count, size, size)
    both += turned.spin_change(moment) @ filtered
    shifts = cross_matrices(pulled[:, :, :3].reshape(-1, 3)).reshape(count, -1, 3, 3)
    shifted = np.zeros((count, size // 6, 6, 3))
    shifted[:, :, :3] = shifts
    both -= np.swapaxes(shifted.reshape(count, size, 3) @ turned.spin, 1, 2) @ filtered
    spun = cross_matrices(_balanced(turned, pulled, moment).reshape(-1, 3))
    both -= spun.reshape(count, size, 3) @ turned.spin
    return _turned_back(turned.turn, both)


def energies(turned: Turned, stiffness: Array) -> Array:
    """Elastic energy (n,) of the elements."""
    return 0.5 * np.einsum("ni,nij,nj->n", turned.motion, stiffness, turned.motion)


def forces_at_nodes(arms: Array, forces: Array) -> Array:
    """Forces (n, 12) at the ends of struts, moved to nodes by rigid arms (n, 2, 3) to the ends."""
    at_nodes = forces.reshape(-1, 2, 6).copy()
    at_nodes[:, :, 3:] += np.cross(arms, at_nodes[:, :, :3])
    return at_nodes.reshape(-1, 12)


def tangents_at_nodes(arms: Array, forces: Array, tangents: Array) -> Array:
    """Tangents (n, 12, 12) at the ends of struts, moved to nodes by rigid arms.

    Args:
        arms: (n, 2, 3) from node to end, as turned now.
        forces: (n, 12) at the ends;  tangents: (n, 12, 12) there.
    """
    pull = forces.reshape(-1, 2, 6)[:, :, :3]
    carry = np.tile(np.eye(12), (len(arms), 1, 1))
    for end in (0, 1):
        first = 6 * end
        carry[:, first : first + 3, first + 3 : first + 6] = -cross_matrices(arms[:, end])
    matrix = np.swapaxes(carry, 1, 2) @ tangents @ carry
    for end in (0, 1):
        turn = slice(6 * end + 3, 6 * end + 6)
        matrix[:, turn, turn] += swung(arms[:, end], pull[:, end])
    return matrix


def swung(arms: Array, forces: Array) -> Array:
    """Stiffness (n, 3, 3) against spin of what holds forces (n, 3) at the ends of rigid arms.

    A spin θ moves the end of arm r by θ × r + ½ θ × (θ × r); the second part does work.
    """
    dyad = forces[:, :, None] * arms[:, None, :]
    along = np.sum(arms * forces, axis=1)[:, None, None]
    return 0.5 * (dyad + np.swapaxes(dyad, 1, 2)) - along * np.eye(3)


def _seen(
    axes: Array, before: Array, arms: Array, reference: Array, turns: Array, spin: Array
) -> tuple[Array, Array, Array, Array, Array]:
    """The fields of `Turned` for elements whose axes (rows) were ``before``.

    ``spin`` (n, 3, 6k) is given in the elements' own axes.
    """
    turn = np.swapaxes(axes, 1, 2) @ before
    back = arms @ turn
    rotations = rotation.vectors((np.swapaxes(turn, 1, 2)[:, None] @ turns).reshape(-1, 3, 3))
    motion = np.concatenate([back - reference, rotations.reshape(back.shape)], axis=2)
    count, nodes = back.shape[:2]
    spin = np.swapaxes(before, 1, 2) @ spin
    spin = (spin.reshape(count, -1, 3) @ before).reshape(spin.shape)
    rates = rotation.inverse_rates(rotations).reshape(count, nodes, 3, 3)
    return turn, back, spin, motion.reshape(count, 6 * nodes), rates


def _pulled(turned: Turned, stiffness: Array) -> tuple[Array, Array]:
    """Forces (n, k, 6) that the deformation asks for, in the turned axes, and their moment (n, 3).

    The moment is about the centre; it is no more than of second order in the deformation.
    """
    pulled = np.einsum("nij,nj->ni", stiffness, turned.motion).reshape(len(stiffness), -1, 6)
    pulled[:, :, 3:] = np.einsum("nkij,nki->nkj", turned.rates, pulled[:, :, 3:])
    moment = np.sum(np.cross(turned.arms, pulled[:, :, :3]) + pulled[:, :, 3:], axis=1)
    return pulled, moment


def _balanced(turned: Turned, pulled: Array, moment: Array) -> Array:
    """The same forces (n, 6k) without the moment, which turning the frame takes up."""
    flat = pulled.reshape(len(pulled), -1)
    return flat - np.einsum("nij,ni->nj", turned.spin, moment)


def _rate_change(turned: Turned, stiffness: Array) -> Array:
    """Matrices (n, k, 3, 3) of how the moments at the nodes change with the rates, to 3rd order."""
    parts = turned.motion.reshape(len(stiffness), -1, 6)
    pulled = np.einsum("nij,nj->ni", stiffness, turned.motion).reshape(parts.shape)
    angle, moment = parts[:, :, 3:], pulled[:, :, 3:]
    along = np.sum(angle * moment, axis=2)[..., None, None]
    outer = angle[..., :, None] * moment[..., None, :]
    cross = cross_matrices(moment.reshape(-1, 3)).reshape(outer.shape)
    return -0.5 * cross + (along * np.eye(3) + outer - 2.0 * np.swapaxes(outer, 2, 3)) / 12.0


def _rigid(arms: Array) -> Array:
    """Motion (n, 6k, 3) of nodes at arms (n, k, 3) under a spin about the centre."""
    count, nodes, _ = arms.shape
    result = np.zeros((count, nodes, 6, 3))
    result[:, :, :3] = -cross_matrices(arms.reshape(-1, 3)).reshape(count, nodes, 3, 3)
    result[:, :, 3:] = np.eye(3)
    return result.reshape(count, 6 * nodes, 3)


def _turned_back(turn: Array, matrices: Array) -> Array:
    """Matrices (n, 6k, 6k) from the turned axes to global ones."""
    count, size, _ = matrices.shape
    left = (turn[:, None] @ matrices.reshape(count, -1, 3, size)).reshape(count, size, size)
    right = np.swapaxes(left, 1, 2).reshape(count, -1, 3, size)
    return np.swapaxes((turn[:, None] @ right).reshape(count, size, size), 1, 2)


def _outer(left: Array, right: Array) -> Array:
    """Matrices (n, i, j) of vectors (n, i) and (n, j)."""
    return left[:, :, None] * right[:, None, :]
