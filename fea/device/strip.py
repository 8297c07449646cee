# SPDX-License-Identifier: MIT
"""The cells under a strip or a patch; its edges are cut into the walls."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.device.carving import cut_walls
from fea.device.changefile import Overlay, PartTable, Run
from fea.device.device import Device
from fea.device.facing import landmark
from fea.device.selection import Ground, inside
from fea.errors import DeviceError, MeshError
from fea.mesh.mesh import triangle_geometry
from fea.mesh.midline import Midline, midline
from fea.mesh.topology import edges_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_AXES = {"forward": 0, "up": 2}
_CRUMB = 0.02  # share of the area below which a part is a corner that the cells cut off
_SHORT = 5.0  # mm, about half a cell, by which a strip may fall short without a word
_FAR = 1e6  # mm beside a strip, of nodes of no part under it


@dataclass(frozen=True, eq=False)
class Covered:
    """What a strip or patch covers.

    Attributes:
        device: with walls cut along its edges.
        cells: (c,) True of the triangles under it.
        length: mm, of the strips of all parts together; None of a patch without a width.
        shortfall: a sentence where zones end before the ends asked for; else empty.
    """

    device: Device
    cells: Mask
    length: float | None
    shortfall: str

    @property
    def area(self) -> float:
        """mm²."""
        mesh = self.device.mesh
        return float(triangle_geometry(mesh.points, mesh.cells["triangle"][self.cells])[0].sum())


def meant(device: Device, table: PartTable, what: str) -> Mask:
    """The triangles (c,) that zones, boxes and planes mean, by their middles.

    Raises:
        DeviceError: an unknown zone or landmark, or no cell.
    """
    mesh, triangles = device.mesh, device.mesh.cells["triangle"]
    chosen = np.zeros(len(triangles), dtype=bool)
    for zone in table.zones or device.walls:
        parts = device.parts(zone)
        if not parts:
            raise DeviceError(f"'{what}' names the zone '{zone}'; device '{device.name}' has "
                              f"{', '.join(device.walls)}")
        for part in parts:
            chosen[mesh.zone(part)[1]] = True
    ground = Ground(mesh.points, mesh.points, device.landmarks, device.side)
    chosen &= inside(triangles, table.boxes, table.planes, ground)
    if not chosen.any():
        raise DeviceError(f"'{what}' takes no cell of device '{device.name}': its zones do not "
                          "reach into its boxes or beyond its planes; mend them")
    return chosen


def covered(device: Device, overlay: Overlay) -> Covered:
    """The cells under an overlay.

    Raises:
        DeviceError: zones, landmarks or planes that are not there, ends the wrong way round, or
            nothing between them.
    """
    chosen, axis = meant(device, overlay, overlay.name), _AXES[overlay.along]
    low, high = ends_of(device, overlay, axis)
    triangles = device.mesh.cells["triangle"]
    values = np.stack([device.mesh.points[:, axis], np.zeros(len(device.mesh.points))], axis=1)
    lines: list[Midline] = []
    half, owner = _FAR, np.full(len(triangles), -1)
    if overlay.width_mm is not None:
        half = 0.5 * overlay.width_mm
        values[:, 1] = _FAR
        for part, line in lines_along(device, overlay, chosen):
            nodes = np.unique(triangles[part])
            values[nodes, 1] = line.beside(device.mesh.points[nodes])
            owner[part] = len(lines)
            lines.append(line)
    bounds = ((low, high), (-half, half))
    for column, level in ((0, low), (0, high), (1, -half), (1, half)):
        other = 1 - column
        at = values[device.mesh.cells["triangle"], other]
        near = (at.max(axis=1) >= bounds[other][0]) & (at.min(axis=1) <= bounds[other][1])
        device, values, parts = cut_walls(device, values, column, level, chosen & near)
        chosen, owner = np.repeat(chosen, parts), np.repeat(owner, parts)
    middle = values[device.mesh.cells["triangle"]].mean(axis=1)
    for column, (least, most) in enumerate(bounds):
        chosen &= (middle[:, column] > least) & (middle[:, column] < most)
    if not chosen.any():
        raise DeviceError(f"'{overlay.name}' covers nothing: {_place(device, overlay)}")
    reach = device.mesh.points[device.mesh.cells["triangle"][chosen], axis]
    short = shortfall((low, high), (float(reach.min()), float(reach.max())))
    length = sum(_on_wall(line, reach[owner[chosen] == k], axis) for k, line in enumerate(lines))
    return Covered(device, chosen, length if lines else None, short)


def _on_wall(line: Midline, reach: Array, axis: int) -> float:
    """Length of a line as far as the cells under it reach along an axis, mm.

    It may run on beyond the wall, where the rim curves back from both sides.
    """
    share = np.ptp(reach) / np.ptp(line.points[[0, -1], axis]) if reach.size else 0.0
    return line.length * min(1.0, float(share))


def shortfall(asked: tuple[float, float], got: tuple[float, float]) -> str:
    """A sentence where zones end well before both ends that were asked for, mm; else empty.

    Example:
        >>> shortfall((80.0, 200.0), (125.0, 200.5))
        ' Its zones begin at 125 mm, not at the 80 mm asked for.'
        >>> shortfall((-np.inf, 200.0), (125.0, 198.0))
        ''
    """
    words = []
    if np.isfinite(asked[0]) and got[0] - asked[0] > _SHORT:
        words.append(f"begin at {got[0]:.0f} mm, not at the {asked[0]:.0f} mm asked for")
    if np.isfinite(asked[1]) and asked[1] - got[1] > _SHORT:
        words.append(f"end at {got[1]:.0f} mm, not at the {asked[1]:.0f} mm asked for")
    return f" Its zones {', and '.join(words)}." if words else ""


def ends_of(device: Device, overlay: Run, axis: int) -> tuple[float, float]:
    """Where an overlay or bar begins and ends along an axis; infinite where it is not said."""
    ends = []
    for name, by, open_end in ((overlay.from_, overlay.from_mm, -np.inf),
                               (overlay.to, overlay.to_mm, np.inf)):
        at = 0.0 if name is None else landmark(device, name)[axis]
        if name is None and axis == 0:
            at = landmark(device, "ankle_axis")[0]
        ends.append(open_end if name is None and by is None else at + (by or 0.0))
    if ends[0] >= ends[1]:
        raise DeviceError(f"'{overlay.name}' runs {overlay.along} from {ends[0]:.1f} to "
                          f"{ends[1]:.1f} mm; let it begin below, or behind, where it ends")
    return ends[0], ends[1]


def lines_along(device: Device, overlay: Run, chosen: Mask) -> list[tuple[Mask, Midline]]:
    """Cells (c,) and middle line of each part that zones form end to end, where a strip runs.

    Raises:
        DeviceError: there is no such part, or one without a middle line.
    """
    mesh, axis = device.mesh, _AXES[overlay.along]
    triangles, found = mesh.cells["triangle"], []
    ends = ends_of(device, overlay, axis)
    part = _end_to_end(device, overlay, chosen)
    area, _ = triangle_geometry(mesh.points, triangles)
    for number in np.unique(part[chosen]):
        under = chosen & (part == number)
        if area[under].sum() < _CRUMB * area[chosen].sum():
            continue
        own = triangles[under]
        reach = mesh.points[own][..., axis]
        low, high = max(ends[0], float(reach.min())), min(ends[1], float(reach.max()))
        if low >= high:
            continue
        try:
            found.append((under, midline(mesh.points, own, axis, low, high, overlay.aside_mm)))
        except MeshError as error:
            raise DeviceError(f"'{overlay.name}': {error}") from None
    if not found:
        raise DeviceError(f"'{overlay.name}' covers nothing: {_place(device, overlay)}")
    return found


def _end_to_end(device: Device, overlay: Run, chosen: Mask) -> NDArray[np.int64]:
    """The part (c,) that each triangle belongs to: zones that follow on each other along the strip.

    Zones that lie side by side, so that their common border runs along the strip, are parts of
    their own: a strip on the medial and one on the lateral wall, though both meet at the back.
    """
    mesh = device.mesh
    zone = np.zeros(len(chosen), dtype=np.int64)
    for number, name in enumerate(overlay.zones):
        for wall in device.parts(name):
            zone[mesh.zone(wall)[1]] = number
    pairs, _ = edges_of(mesh.cells["triangle"]).two_sided_pairs()
    a, b = pairs[chosen[pairs].all(axis=1)].T
    border = zone[a] != zone[b]
    count = max(1, len(overlay.zones))
    run = np.zeros((count, count, 2))
    for first, second in zip(a[border], b[border], strict=True):
        ends = np.intersect1d(mesh.cells["triangle"][first], mesh.cells["triangle"][second])
        step = np.abs(np.diff(mesh.points[ends], axis=0)[0])
        along = step[_AXES[overlay.along]]
        pair = sorted((zone[first], zone[second]))
        run[pair[0], pair[1]] += along, np.sqrt(max(step @ step - along**2, 0.0))
    follows = run[..., 1] > run[..., 0]
    low, high = np.minimum(zone[a], zone[b]), np.maximum(zone[a], zone[b])
    joined = ~border | follows[low, high]
    graph = coo_matrix((joined[joined], (a[joined], b[joined])), shape=(len(zone), len(zone)))
    return np.asarray(connected_components(graph, directed=False)[1])


def _place(device: Device, overlay: Run) -> str:
    zones: Sequence[str] = overlay.zones or tuple(device.walls)
    cells = meant(device, overlay, overlay.name)
    axis = _AXES[overlay.along]
    at = device.mesh.points[device.mesh.cells["triangle"][cells]][..., axis]
    begins, ends = ends_of(device, overlay, axis)
    runs = [f"{word} at {end:.0f} mm" for word, end in (("begins", begins), ("ends", ends))
            if np.isfinite(end)]  # fmt: skip
    return (f"it {' and '.join(runs)}, where {', '.join(zones)} reach from {at.min():.0f} to "
            f"{at.max():.0f} mm; move its ends")
