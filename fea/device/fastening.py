# SPDX-License-Identifier: MIT
"""Rivets and screws: the node of a bar and the patch of shell nodes under its washer."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fea.device.device import Fastening
from fea.errors import DeviceError
from fea.material.library import LibraryMaterial
from fea.mesh.mesh import Mesh

ENOUGH_NODES = 6
"""Nodes a washer patch should hold, so that it can pass on a moment. Source: practice."""


def fasten(
    mesh: Mesh,
    name: str,
    *,
    at: NDArray[np.float64],
    bar_zone: str,
    shell_zones: Sequence[str],
    washer_diameter: float,
    diameter: float,
    reach: float,
    material: LibraryMaterial | None = None,
    hole_diameter: float | None = None,
    others: Sequence[Fastening] = (),
) -> tuple[Mesh, Fastening]:
    """Hold the bar's node nearest to a point by the shell nodes under a washer.

    The washer lies on the shell where it comes nearest to the bar's node; the patch is every
    node of the zones within the washer's radius of that place.

    Args:
        mesh: mesh of the device, mm.
        name: name of the fastening; its places are called "NAME bar" and "NAME shell".
        at: (3,) where the fastening sits, mm.
        bar_zone: zone of line cells.
        shell_zones: zones of triangles that the fastening may hold.
        washer_diameter: mm.
        diameter: of the shank of the rivet or screw, mm; of a thread its core.
        reach: the furthest that the bar's node may lie from `at`, and from the shell, mm.
        material: of the rivet or screw; None where it is not known.
        hole_diameter: mm; None where the shank fills its hole.
        others: fastenings of the mesh so far.

    Returns:
        The mesh with the two places, and the fastening.

    Raises:
        DeviceError: nothing within reach, a patch too small to pass on a moment, or a node of the
            shell that another fastening holds the same bar at.
    """
    node = _bar_node(mesh, bar_zone, at, reach)
    shell_nodes = np.unique(np.concatenate([mesh.zone_nodes(zone) for zone in shell_zones]))
    gaps = np.linalg.norm(mesh.points[shell_nodes] - mesh.points[node], axis=1)
    centre = mesh.points[shell_nodes[np.argmin(gaps)]]
    if gaps.min() > reach:
        raise DeviceError(
            f"the shell ({', '.join(shell_zones)}) lies {gaps.min():.1f} mm from the bar, more "
            f"than {reach:.1f} mm; move the fastening to where they overlap"
        )
    within = np.linalg.norm(mesh.points[shell_nodes] - centre, axis=1) <= 0.5 * washer_diameter
    patch = np.setdiff1d(shell_nodes[within], [node])
    if len(patch) < ENOUGH_NODES:
        raise DeviceError(
            f"the washer of {washer_diameter:g} mm covers only {len(patch)} nodes of the shell; "
            f"{ENOUGH_NODES} are needed: refine the mesh there, or give the real washer"
        )
    _refuse_shared(mesh, bar_zone, centre, others)
    places = {f"{name} bar": np.array([node]), f"{name} shell": patch}
    fastening = Fastening(
        name, f"{name} bar", f"{name} shell", diameter, washer_diameter, material,
        hole_diameter,
    )
    return mesh.with_places(places), fastening


def _bar_node(mesh: Mesh, bar_zone: str, at: NDArray[np.float64], reach: float) -> int:
    """The bar's node nearest to a point."""
    nodes = mesh.zone_nodes(bar_zone)
    gaps = np.linalg.norm(mesh.points[nodes] - at, axis=1)
    if gaps.min() > reach:
        raise DeviceError(
            f"the nearest node of '{bar_zone}' lies {gaps.min():.1f} mm from the fastening, more "
            f"than {reach:.1f} mm; give the bar a node there"
        )
    return int(nodes[np.argmin(gaps)])


def _refuse_shared(
    mesh: Mesh, bar_zone: str, centre: NDArray[np.float64], others: Sequence[Fastening]
) -> None:
    """Two fastenings of one bar at one node of the shell would share no moment."""
    for other in others:
        bar, shell = mesh.place(other.bar_place)[0], mesh.place(other.shell_place)
        gaps = np.linalg.norm(mesh.points[shell] - mesh.points[bar], axis=1)
        same = np.array_equal(mesh.points[shell[np.argmin(gaps)]], centre)
        if same and bar in mesh.zone_nodes(bar_zone):
            raise DeviceError(
                f"fastening '{other.name}' holds '{bar_zone}' at the same node of the shell; set "
                "them further apart, or refine the shell there"
            )
