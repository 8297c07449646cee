# SPDX-License-Identifier: MIT
"""Whether a surface mesh stands where its device file says: frame, landmarks and sole."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.device.meshfile import REQUIRED_LANDMARKS, MeshDeviceFile
from fea.errors import Problem
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.quality import place

ANKLE_OFF_AXIS = 10.0
"""How far (mm) the ankle axis may lie from x = y = 0 before the frame is doubted. Source:
assumed."""

OFF_EDGE = 5.0
"""How far (mm) heel and plate end may lie from the edges of the mesh. Source: assumed."""

OFF_SOLE = 3.0
"""How far (mm) the flat of the plate may lie from the stated height of the sole. Source:
assumed."""

LEVEL_DEG = 8.0
"""Slope up to which a cell of the plate counts as flat. Source: assumed."""


def frame_problems(
    content: MeshDeviceFile, mesh: Mesh, landmarks: Mapping[str, NDArray[np.float64]]
) -> list[Problem]:
    """Signs that the mesh does not stand in the device frame.

    Args:
        content: the device file.
        mesh: with the zones of the file, in the device frame, mm.
        landmarks: name to (3,) in the device frame, mm.
    """
    ankle, heel, end = (landmarks[name] for name in REQUIRED_LANDMARKS)
    plate = np.concatenate([mesh.points[mesh.zone_nodes(zone)] for zone in content.plate_zones])
    shank = np.concatenate([mesh.points[mesh.zone_nodes(zone)] for zone in content.shank_zones])
    problems = []
    if not plate[:, 2].mean() < ankle[2] < shank[:, 2].max():
        problems.append(Problem("axes", (
            f"the ankle axis (z = {ankle[2]:.4g} mm) must lie above the plate (mean z = "
            f"{plate[:, 2].mean():.4g} mm) and below the top of the shank zones (z = "
            f"{shank[:, 2].max():.4g} mm); name the mesh axes that point forward, left and up, "
            'such as axes = ["x", "-z", "y"] for a mesh with y up')))
    if not heel[0] < ankle[0] < end[0]:
        problems.append(Problem("axes", (
            f"x must point forward, but heel, ankle_axis and plate_end lie at x = {heel[0]:.4g}, "
            f"{ankle[0]:.4g} and {end[0]:.4g} mm; turn the mesh with `axes`, or mend [landmarks]")))
    if np.hypot(*ankle[:2]) > ANKLE_OFF_AXIS:
        problems.append(Problem("frame_origin", (
            f"the origin must lie on the floor under the ankle axis, but the ankle axis lies at "
            f"x = {ankle[0]:.4g}, y = {ankle[1]:.4g} mm; give frame_origin = the point of the "
            "mesh that is there")))
    if not problems:
        problems = _edge_problems(content, mesh, plate, landmarks)
    return problems + _far_landmarks(mesh.points, landmarks)


def _edge_problems(
    content: MeshDeviceFile,
    mesh: Mesh,
    plate: NDArray[np.float64],
    landmarks: Mapping[str, NDArray[np.float64]],
) -> list[Problem]:
    """Heel, plate end and sole against the plate (n, 3) and the foot zones of the mesh."""
    heel, end = landmarks["heel"][0], landmarks["plate_end"][0]
    foot = np.concatenate([mesh.points[mesh.zone_nodes(zone)] for zone in content.foot_zones])
    rear, front = plate[:, 0].min(), plate[:, 0].max()
    rearmost = min(foot[:, 0].min(), rear)
    room = OFF_EDGE + 1e-6  # a landmark in another unit carries rounding
    problems = []
    if abs(end - front) > room:
        problems.append(Problem("landmarks.plate_end", (
            f"lies at x = {end:.4g} mm, but the plate zones end at x = {front:.4g} mm; put it "
            f"within {OFF_EDGE:g} mm of the plate's end, or mend plate_zones")))
    # the heel of the foot stands between the wall behind it and the rear edge of the plate
    if not rearmost - room <= heel <= rear + room:
        problems.append(Problem("landmarks.heel", (
            f"lies at x = {heel:.4g} mm, but the plate begins at x = {rear:.4g} mm and the foot "
            f"zones at x = {rearmost:.4g} mm; put it between them, within {OFF_EDGE:g} mm, or mend "
            "plate_zones and foot_zones")))
    flat = flat_height(mesh, content.plate_zones)
    if abs(flat - content.sole.height_mm) > OFF_SOLE:
        problems.append(Problem("sole.height_mm", (
            f"says that the plate lies {content.sole.height_mm:g} mm above the floor, but its flat "
            f"lies {flat:.4g} mm above the origin; move frame_origin to the floor, or mend the "
            "sole")))
    return problems


def flat_height(mesh: Mesh, plate_zones: Sequence[str]) -> float:
    """Mean height (mm) of the level cells of the plate by area; of all cells if none is level."""
    cells = np.concatenate([mesh.zone_cells(zone) for zone in plate_zones])
    area, normal = triangle_geometry(mesh.points, cells)
    level = np.abs(normal[:, 2]) >= np.cos(np.radians(LEVEL_DEG))
    weight = area * level if level.any() else area
    return float(np.average(mesh.points[cells].mean(axis=1)[:, 2], weights=weight))


def _far_landmarks(
    points: NDArray[np.float64], landmarks: Mapping[str, NDArray[np.float64]]
) -> list[Problem]:
    """Landmarks well outside of the mesh: most likely in another unit or frame."""
    low, high = points.min(axis=0), points.max(axis=0)
    room = 0.5 * float((high - low).max())
    return [
        Problem(f"landmarks.{name}", (
            f"lies at {place(point)} mm in the device frame, far outside of the mesh (from "
            f"{place(low)} to {place(high)}); is it in the mesh's unit and axes?"))
        for name, point in landmarks.items()
        if ((point < low - room) | (point > high + room)).any()
    ]
