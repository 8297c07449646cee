# SPDX-License-Identifier: MIT
"""Forces on named places and zones, and how they become nodal forces."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.solid import face_integrals
from fea.errors import LoadError, ModelError
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.solid import facing_outward

Array = NDArray[np.float64]
Vector = tuple[float, float, float]


@dataclass(frozen=True)
class PointForce:
    """A total force (and moment) on a place or a body, shared equally by the place's nodes.

    Nodes of solids take no moment, and equal shares are no even traction on a solid's face:
    there use `SurfaceForce`, or tie a node to the face and load that.
    """

    place: str
    force: Vector
    moment: Vector | None = None


@dataclass(frozen=True)
class EdgeForce:
    """A force per length, constant along the chain of cell edges that the place's nodes form."""

    place: str
    per_length: Vector


@dataclass(frozen=True)
class SurfaceForce:
    """A force per area, in a fixed direction, on a triangle zone or on faces of solids.

    Faces of solids are a zone of triangle6, see `Mesh.with_faces`.
    """

    zone: str
    traction: Vector


@dataclass(frozen=True)
class Pressure:
    """A pressure on a triangle zone or on faces of solids (a zone of triangle6).

    Positive pushes along +normal of triangles (right-hand rule), and into a solid.
    """

    zone: str
    value: float


@dataclass(frozen=True)
class PatchForce:
    """A force whose line of action passes exactly through a point, spread over a patch.

    The nodes of the zones within `radius` of the line take shares of the force that are never
    negative and whose resultant has exactly this line of action: of all such shares the one
    closest to the nodes' tributary areas in relative entropy.

    Attributes:
        zones: triangle zones that take the force.
        force: (3,) total.
        at: (3,) a point on the line of action.
        radius: half-size of the patch, measured from the line of action.
        moment: (3,) total of a moment that the nodes share in the same way; None for none.
    """

    zones: tuple[str, ...]
    force: Vector
    at: Vector
    radius: float
    moment: Vector | None = None


Load = PointForce | EdgeForce | SurfaceForce | Pressure | PatchForce


def nodal_forces(load: Load, mesh: Mesh) -> Array:
    """Nodal forces and moments (n, 6) of a load on places and zones of the mesh."""
    result = np.zeros((len(mesh.points), 6))
    match load:
        case PointForce(place, force, moment):
            nodes = mesh.place(place)
            result[nodes, :3] = np.asarray(force) / len(nodes)
            if moment is not None:
                result[nodes, 3:] = np.asarray(moment) / len(nodes)
        case EdgeForce(place, per_length):
            ends, edge = _edge_chain(mesh, place)
            length = np.linalg.norm(edge, axis=1)[:, None]
            couple = length * _drilling(np.cross(edge, per_length), _edge_normals(mesh, ends)) / 8.0
            for end, sign in ((0, 1.0), (1, -1.0)):
                np.add.at(result[:, :3], ends[:, end], 0.5 * length * np.asarray(per_length))
                np.add.at(result[:, 3:], ends[:, end], sign * couple)
        case SurfaceForce(zone, traction):
            nodes, area, _ = _surface_shares(mesh, zone)
            np.add.at(result[:, :3], nodes, area[:, :, None] * np.asarray(traction))
        case Pressure(zone, value):
            nodes, _, vector = _surface_shares(mesh, zone)
            np.add.at(result[:, :3], nodes, value * vector)
        case PatchForce():
            nodes, share = patch_shares(load, mesh)
            result[nodes, :3] = share[:, None] * np.asarray(load.force)
            if load.moment is not None:
                result[nodes, 3:] = share[:, None] * np.asarray(load.moment)
    return result


def tributary_areas(mesh: Mesh, zone: str) -> Array:
    """Area (n,) that each node carries of a triangle zone: a third of each triangle."""
    area, _ = _zone_triangles(mesh, zone)
    result = np.zeros(len(mesh.points))
    np.add.at(result, mesh.zone_cells(zone), (area / 3.0)[:, None])
    return result


def patch_shares(load: PatchForce, mesh: Mesh) -> tuple[NDArray[np.int64], Array]:
    """Nodes (m,) of the patch and their shares (m,) of the force, which sum to one.

    Raises:
        LoadError: the line of action misses the zones, or passes too close to their edge for
            any patch of this radius to carry it.
    """
    size = float(np.linalg.norm(load.force))
    if not size > 0.0:
        raise LoadError(f"the force of a patch must not vanish; got {load.force}")
    if not load.radius > 0.0:
        raise LoadError(f"the patch radius must be positive; got {load.radius}")
    direction = np.asarray(load.force) / size
    areas = np.sum([tributary_areas(mesh, zone) for zone in load.zones], axis=0)
    across = _across(direction)
    lever = (mesh.points - np.asarray(load.at)) @ across.T
    distance = np.linalg.norm(lever, axis=1)
    nodes = np.flatnonzero((areas > 0.0) & (distance <= load.radius))
    prior = areas[nodes] * (1.0 - (distance[nodes] / load.radius) ** 2 * (1.0 - 1e-3))
    share = _centred_shares(lever[nodes] / load.radius, prior) if len(nodes) >= 3 else None
    if share is None:
        place = ", ".join(f"{value:.1f}" for value in load.at)
        raise LoadError(
            f"a force with its line of action through ({place}) cannot be carried by zones "
            f"{', '.join(load.zones)}: the line lies beyond them or within less than a patch of "
            f"radius {load.radius:g} of their edge; move the centre of pressure inwards"
        )
    return nodes, share


def _centred_shares(lever: Array, prior: Array) -> Array | None:
    """Positive shares with zero mean lever that are closest to the prior; None if there are none.

    Newton's method on the convex dual: share ∝ prior · exp(lever · λ).
    """
    multiplier = np.zeros(lever.shape[1])
    for _ in range(100):
        exponent = lever @ multiplier
        share = prior * np.exp(exponent - exponent.max())
        share /= share.sum()
        mean = share @ lever
        if np.linalg.norm(mean) < 1e-13:
            return share
        spread = (share[:, None] * lever).T @ lever - np.outer(mean, mean)
        if np.linalg.cond(spread) > 1e12:
            return None
        step = np.linalg.solve(spread, mean)
        multiplier -= step * min(1.0, 2.0 / np.linalg.norm(step))
    return None


def _across(direction: Array) -> Array:
    """Two unit vectors (2, 3) across a unit direction."""
    start = np.eye(3)[np.argmin(np.abs(direction))]
    first = np.cross(direction, start)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(direction, first)])


def _zone_triangles(mesh: Mesh, zone: str) -> tuple[Array, Array]:
    kind, _ = mesh.zone(zone)
    if kind != "triangle":
        raise ModelError(f"zone '{zone}' is made of {kind} cells; this load needs triangles")
    return triangle_geometry(mesh.points, mesh.zone_cells(zone))


def _surface_shares(mesh: Mesh, zone: str) -> tuple[NDArray[np.int64], Array, Array]:
    """Nodes (f, k) of a zone's cells, their shares (f, k) of area and (f, k, 3) of pressure."""
    cells = mesh.zone_cells(zone)
    kind, _ = mesh.zone(zone)
    if kind == "tetra10":
        raise ModelError(f"zone '{zone}' is a solid; load its faces, see Mesh.with_faces")
    if kind == "triangle6":
        cells, _ = facing_outward(cells, mesh.table("tetra10"))
        area, outward = face_integrals(mesh.points[cells])
        return cells, area, -outward
    area, normal = _zone_triangles(mesh, zone)
    shares = np.broadcast_to(area[:, None] / 3.0, cells.shape)
    return cells, shares, shares[:, :, None] * normal[:, None, :]


def _edge_chain(mesh: Mesh, place: str) -> tuple[NDArray[np.int64], Array]:
    """Edges (e, 2) of cells whose both ends belong to the place, each once, as vectors (e, 3).

    Where the place holds whole cells, only edges on the mesh's border count.
    """
    nodes = mesh.place(place)
    inside = np.zeros(len(mesh.points), dtype=bool)
    inside[nodes] = True
    edges = [mesh.cells["line"]] if "line" in mesh.cells else []
    border: list[NDArray[np.int64]] = []
    if "triangle" in mesh.cells:
        triangles = mesh.cells["triangle"]
        unique, count = np.unique(_triangle_edges(triangles), axis=0, return_counts=True)
        whole = bool(inside[triangles].all(axis=1).any())
        border = [unique[count == 1] if whole else unique]
    chain = np.concatenate([*edges, *border]) if edges or border else np.empty((0, 2), np.int64)
    chain = chain[inside[chain].all(axis=1)]
    if not len(chain):
        raise ModelError(
            f"place '{place}' forms no edge of the mesh's shells or struts; name at least two "
            "neighbours (on a solid, use a SurfaceForce on faces: a line load has endless stress)"
        )
    return chain, mesh.points[chain[:, 1]] - mesh.points[chain[:, 0]]


def _edge_normals(mesh: Mesh, ends: NDArray[np.int64]) -> Array:
    """Unit normals (e, 3) of the triangles at edges (e, 2); zero at an edge of no triangle."""
    triangles = mesh.cells.get("triangle", np.empty((0, 3), np.int64))
    count = len(mesh.points)
    _, normal = triangle_geometry(mesh.points, triangles)
    edges = _triangle_edges(triangles)
    keys, where = np.unique(edges[:, 0] * count + edges[:, 1], return_inverse=True)
    total = np.zeros((len(keys) + 1, 3))  # the last row serves edges of no triangle
    np.add.at(total, where, np.tile(normal, (3, 1)))
    wanted = np.sort(ends, axis=1) @ np.array([count, 1])
    row = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    found = keys[row] == wanted if len(keys) else np.zeros(len(ends), dtype=bool)
    normals = total[np.where(found, row, -1)]
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    return normals / np.where(length > 0.0, length, 1.0)


def _drilling(vectors: Array, normals: Array) -> Array:
    """The part (e, 3) of vectors along normals.

    An in-plane line load q on an edge of length l belongs to end couples q l²/8 about the normal,
    because the edge deflects with three halves of the cubic of its drilling rotations.
    """
    return np.sum(vectors * normals, axis=1)[:, None] * normals


def _triangle_edges(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    return np.sort(np.concatenate([triangles[:, [i, (i + 1) % 3]] for i in range(3)]), axis=1)
