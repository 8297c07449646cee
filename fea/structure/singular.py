# SPDX-License-Identifier: MIT
"""Where linear-elastic stress does not converge: the finer the cells, the higher the peak.

At a re-entrant corner of a free rim the stress grows like r^(λ−1), at the end of a held edge, at
the rim of a rigid piece and where a rib ends on a wall likewise, and under a force on a point like
ln r or faster. No mesh is fine enough there, so such places are found from the structure itself,
left out of the plain maximum of stress, and judged by other means.

Beds and forces spread over an area are not singular; ribs that run on to the rim and steps in wall
thickness hardly are (tests/check/test_singular_convergence.py).

Only shells are searched. At every edge of a solid that turns inward stress grows likewise, and no
list of its places is made here: a structure with solids is refused rather than called free of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra

from fea.errors import ModelError
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.rim import Rim, rim_of
from fea.mesh.topology import edges_of
from fea.structure.coupling import DOF_NAMES
from fea.structure.loads import Load, PointForce
from fea.structure.model import Structure
from fea.structure.region import Region
from fea.structure.sections import ShellSection, SolidSection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Mask = NDArray[np.bool_]

CORNER = "re-entrant corner"
HELD = "held edge"
RIGID = "rigid edge"
WASHER = "under a washer"
RIB = "end of a rib"
STRUT = "end of a strut"
POINT = "point load"

HARDLY_SINGULAR = np.radians(6.816)
"""Turning of a rim from which it is a corner: halving the cells raises the peak there by 5 %.

Derived: 2^(1−λ) = 1.05 gives λ = 0.9296, and Williams' equation of the symmetric mode between free
edges, sin(λα) = −λ sin α, then α = 186.816°. Source: williams-1952; the 5 % are our own measure of
a mesh that is fine enough.
"""
ALWAYS_CORNER = np.radians(45.0)
"""Turning at one node that no smooth curve has: fewer than nine cells round a circle; judgement."""
RESOLVED = np.radians(15.0)
"""Turning at each node of a curve that is well followed: 24 cells round a hole; judgement."""
SHARED = 0.4
"""Least curvature at one of the neighbours, over that at a node, of a smooth curve; judgement. At
the end of an arc the curvature is half that of the arc, and on irregular cells somewhat less."""
LONE_RADIUS = 5.0
"""Radius over wall thickness up to which a lone turning point is a corner; judgement. The radius is
that of an arc as long as a cell: beyond it the cells are too coarse to tell a corner from a curve
that turns within one of them, curves are the rule on a trim line, and finer cells tell."""
FEW_NODES = 3
"""Up to so many neighbouring nodes a force acts on a point, not along a line; judgement."""
WALLS_OUT, CELLS_OUT = 1.0, 2.0
"""Radius left out, in wall thicknesses and in cells, the larger counts; judgement. Nearer than a
wall thickness no theory of thin walls holds, and the first two rows of cells feel the peak."""

_DETOUR = 1.5  # most that a path along cell edges is longer than the straight way, √2 and some


@dataclass(frozen=True, eq=False)
class SingularPlace:
    """One place where stress does not converge.

    Attributes:
        reason: in words, one of the names above.
        name: of the place, patch or load that causes it; empty for a corner.
        nodes: (m,) the nodes where the peak stands.
        point: (3,) their mean position.
        cells: (c,) True for the triangles of the mesh that are left out for it.
        area_mm2: their area, mm² (the mesh's length unit squared).
    """

    reason: str
    name: str
    nodes: IntArray
    point: tuple[float, float, float]
    cells: Mask
    area_mm2: float


def singular_places(structure: Structure, loads: Sequence[Load] = ()) -> tuple[SingularPlace, ...]:
    """The places of a structure's shells where stress does not converge with the mesh.

    Args:
        structure: mesh, sections, supports and ties.
        loads: of all its cases together; forces on single nodes are among the places.

    Returns:
        Corners first, then held edges, ties, ends of ribs and of struts, and loads.

    Raises:
        ModelError: a zone is of solids, which are not searched: that none was found would not mean
            that none is there.

    Example:
        >>> import fea
        >>> points = [[0, 0, 0], [9, 0, 0], [9, 9, 0], [-9, 9, 0], [-9, -9, 0], [0, -9, 0]]
        >>> mesh = fea.Mesh(points, {"triangle": [[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]]},
        ...                 zones={"wall": ("triangle", range(4))})
        >>> steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
        >>> structure = fea.Structure(mesh, {"wall": fea.ShellSection(steel, thickness=2.0)})
        >>> [(place.reason, place.nodes.tolist()) for place in singular_places(structure)]
        [('re-entrant corner', [0])]
    """
    solid = [zone for zone, one in structure.sections.items() if isinstance(one, SolidSection)]
    if solid:
        raise ModelError(
            f"zone '{solid[0]}' is of solids, in which places where stress does not converge are "
            "not sought, and there may be some; judge its peaks on three meshes or more"
        )
    if not len(structure.mesh.cells.get("triangle", ())):
        return ()
    surface = _Surface.of(structure)
    found = (
        *_corners(surface),
        *_held(structure, surface),
        *_tied(structure),
        *_rib_ends(surface),
        *_strut_ends(structure.mesh, surface),
        *_loaded(structure, surface, loads),
    )
    strained = (surface.wall > 0.0) & ~surface.unstrained
    on_shell = ((reason, name, nodes[strained[nodes]]) for reason, name, nodes in found)
    return tuple(surface.place(*entry) for entry in on_shell if len(entry[2]))


def left_out(structure: Structure, places: Sequence[SingularPlace]) -> Region:
    """What places leave out of a structure's shells, held in space for other meshes of it."""
    count = len(structure.mesh.cells.get("triangle", ()))
    cells = np.any([np.zeros(count, dtype=bool), *(place.cells for place in places)], axis=0)
    return Region(structure.mesh, np.asarray(cells))


def corner_points(rim: Rim, wall: Array) -> Mask:
    """Which points (r,) of a rim are re-entrant corners.

    A point is one where the rim turns so much that no smooth curve on this mesh does, or stands
    alone in its turning, or belongs to a curve that is sharper than one wall thickness and not
    well followed by the cells. A smooth hollow curve shares its turning among its points.

    Args:
        rim: the rim.
        wall: (r,) wall thickness at its points.
    """
    turning, curvature = rim.turning, rim.curvature
    beside = np.where(rim.neighbours >= 0, curvature[rim.neighbours], 0.0).max(axis=1, initial=0.0)
    alone = (turning >= HARDLY_SINGULAR) & (beside < SHARED * curvature)
    alone &= curvature * wall * LONE_RADIUS > 1.0
    sharp = (turning > RESOLVED) & (curvature * wall > 1.0)
    return (turning > ALWAYS_CORNER - 1e-9) | alone | sharp


_Found = tuple[str, str, IntArray]


@dataclass(frozen=True, eq=False)
class _Surface:
    """All triangles of a structure as one surface, with wall thickness and cell size by node.

    `unstrained` (n,) are nodes all of whose cells move as one rigid piece: within a part that is
    held, or tied rigidly. There is no stress, so nothing is left out there but two rows of cells
    at its edge, of which recovered stress still knows.
    """

    points: Array
    triangles: IntArray
    area: Array
    wall: Array
    size: Array
    graph: csr_matrix
    unstrained: Mask

    @classmethod
    def of(cls, structure: Structure) -> "_Surface":
        points, triangles = structure.mesh.points, structure.mesh.cells["triangle"]
        thickness = np.zeros(len(triangles))
        for zone, section in structure.sections.items():
            if isinstance(section, ShellSection):
                numbers = structure.mesh.zone(zone)[1]
                thickness[numbers] = section.walls(len(numbers))
        wall = np.zeros(len(points))
        np.maximum.at(wall, triangles, thickness[:, None])
        ends = edges_of(triangles).ends
        length = np.linalg.norm(points[ends[:, 1]] - points[ends[:, 0]], axis=1)
        both = np.concatenate([ends, ends[:, ::-1]])
        graph = csr_matrix((np.tile(length, 2), both.T), shape=(len(points), len(points)))
        size = graph.sum(axis=1).A1 / np.maximum(np.diff(graph.indptr), 1)
        area, _ = triangle_geometry(points, triangles)
        piece = _rigid_pieces(structure)[triangles]
        rigid = (piece[:, 0] >= 0) & np.all(piece == piece[:, :1], axis=1)
        unstrained = np.ones(len(points), dtype=bool)
        unstrained[triangles[~rigid]] = False
        return cls(points, triangles, area, wall, size, graph, unstrained)

    def place(self, reason: str, name: str, nodes: IntArray) -> SingularPlace:
        """A place with the cells that reach nearer to one of its nodes than its radius."""
        radius = np.maximum(WALLS_OUT * self.wall, CELLS_OUT * self.size)
        _, _, nearest = dijkstra(
            self.graph,
            indices=nodes,
            min_only=True,
            return_predecessors=True,
            limit=_DETOUR * radius[nodes].max(),
        )
        reached = np.flatnonzero(nearest >= 0)
        source = nearest[reached]
        distance = np.linalg.norm(self.points[reached] - self.points[source], axis=1)
        near = np.zeros(len(self.points), dtype=bool)
        near[reached] = distance < radius[source] * (1.0 - 1e-9)
        beside = self.graph @ (~self.unstrained).astype(float) > 0.0
        unstrained = (self.unstrained & ~beside)[self.triangles].all(axis=1)
        cells = np.asarray(near[self.triangles].any(axis=1) & ~unstrained)
        x, y, z = self.points[nodes].mean(axis=0).tolist()
        return SingularPlace(reason, name, nodes, (x, y, z), cells, float(self.area[cells].sum()))

    def groups(self, nodes: IntArray) -> list[IntArray]:
        """Nodes that hang together by cell edges."""
        count, label = connected_components(self.graph[nodes][:, nodes], directed=False)
        return [nodes[label == k] for k in range(count)]


def _corners(surface: _Surface) -> Iterator[_Found]:
    rim = rim_of(surface.points, surface.triangles)
    nodes = np.unique(rim.nodes[corner_points(rim, surface.wall[rim.nodes])])
    for group in surface.groups(nodes):
        yield CORNER, "", group


def _held(structure: Structure, surface: _Surface) -> Iterator[_Found]:
    """Where supports on nodes begin, save those that only say that this is half of a whole.

    Inside of an area that is held throughout, as where all of a plate is kept in its plane, nothing
    changes from node to node: its edge is where a neighbour is free to move.
    """
    held: dict[str, set[int]] = {}
    free = np.ones((len(surface.points), len(DOF_NAMES)), dtype=bool)
    for support in structure.supports:
        if support.place not in structure.body_index:
            held.setdefault(support.place, set()).update(support.components)
            nodes = structure.mesh.place(support.place)
            free[nodes[:, None], list(support.components)] = False
    beside_free = surface.graph @ free.astype(float) > 0.0
    for place, components in held.items():
        nodes = structure.mesh.place(place)
        if not _is_symmetry(components, structure.mesh.points[nodes]):
            yield HELD, place, nodes[beside_free[nodes][:, sorted(components)].any(axis=1)]


def _rigid_pieces(structure: Structure) -> IntArray:
    """The number (n,) of the rigid piece that each node is part of; -1 of none.

    What is held in all components is one piece, and so is each patch that is tied rigidly.
    """
    count = len(structure.mesh.points)
    held = np.zeros((count, len(DOF_NAMES)), dtype=bool)
    for support in structure.supports:
        if support.place not in structure.body_index and not np.any(support.value):
            nodes = structure.mesh.place(support.place)
            held[nodes[:, None], list(support.components)] = True
    piece = np.where(held.all(axis=1), 0, -1)
    for number, tie in enumerate(structure.ties, start=1):
        if tie.rule == "rigid":
            piece[structure.mesh.place(tie.patch)] = number
            if tie.place not in structure.body_index:
                piece[structure.mesh.place(tie.place)] = number
    return piece


def _is_symmetry(components: set[int], points: Array) -> bool:
    flat = np.ptp(points, axis=0) <= 1e-6 * max(float(np.ptp(points)), 1e-12)
    return any(
        components == {k, 3 + (k + 1) % 3, 3 + (k + 2) % 3} and bool(flat[k])
        for k in range(len(DOF_NAMES) // 2)
    )


def _tied(structure: Structure) -> Iterator[_Found]:
    for tie in structure.ties:
        reason = RIGID if tie.rule == "rigid" else WASHER
        yield reason, tie.patch, structure.mesh.place(tie.patch)
        yield POINT, tie.place, structure.mesh.place(tie.place)


def _rib_ends(surface: _Surface) -> Iterator[_Found]:
    """Nodes where a T-joint ends inside a wall: of the rim only the rib's own end is there."""
    edges = edges_of(surface.triangles)
    count = len(surface.points)
    joints = np.bincount(edges.ends[edges.tee].ravel(), minlength=count)
    rims = np.bincount(edges.ends[edges.border].ravel(), minlength=count)
    for end in np.flatnonzero((joints == 1) & (rims == 1)):
        yield RIB, "", np.array([end])


def _strut_ends(mesh: Mesh, surface: _Surface) -> Iterator[_Found]:
    """Shell nodes at which a strut ends or leaves the shell; struts along it pass by."""
    lines = mesh.cells.get("line", np.empty((0, 2), dtype=np.int64))
    on_shell = surface.wall > 0.0
    leaving = lines[on_shell[lines].sum(axis=1) == 1].ravel()
    node, struts = np.unique(lines, return_counts=True)
    ends = np.unique(np.concatenate([leaving, node[struts == 1]]))
    for end in ends[on_shell[ends]]:
        yield STRUT, "", np.array([end])


def _loaded(structure: Structure, surface: _Surface, loads: Sequence[Load]) -> Iterator[_Found]:
    forces = (load for load in loads if isinstance(load, PointForce))
    places = dict.fromkeys(force.place for force in forces)
    for place in places:
        if place in structure.body_index:
            continue
        for group in surface.groups(structure.mesh.place(place)):
            if len(group) <= FEW_NODES:
                yield POINT, place, group
