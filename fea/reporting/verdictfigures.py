# SPDX-License-Identifier: MIT
"""A picture for each check that governs: its zone marked, its place ringed where it shows."""

import math

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.check import Check, Point
from fea.check.verdict import governing_three
from fea.drawing.camera import fit_camera, is_hidden
from fea.drawing.picture import Callout, Mark, Picture, View
from fea.reporting.answers import card_key, place_of, requirement
from fea.reporting.sketch import Draft, bar_lines, bar_radius, two_views
from fea.reporting.words import plain

AZIMUTHS, HEIGHTS = range(0, 360, 30), (0.3, 1.0)
"""Directions that are tried, degrees from ahead to the wearer's left, and their rise."""


def governing_pictures(result: Assessment) -> list[Draft]:
    """One picture for each of the checks that govern."""
    three = governing_three(result.checks)
    return [_picture(result, check, number) for number, check in enumerate(three, start=1)]


def best_view(result: Assessment, place: Point) -> View:
    """The direction from which a place is not hidden: from outside, and most square to the eye."""
    mesh = result.device.mesh
    triangles, at = mesh.cells["triangle"], np.asarray(place)
    corners = mesh.points[triangles]
    near = corners[np.argmin(np.linalg.norm(corners.mean(axis=1) - at, axis=1))]
    normal = np.cross(near[1] - near[0], near[2] - near[0])

    outward = np.array([place[0], place[1], 0.0])

    def worth(view: View) -> tuple[bool, float]:
        towards = np.asarray(view.towards)
        hidden = is_hidden(at, mesh.points, triangles, fit_camera(mesh.points, view))
        return not hidden, round(abs(_cosine(normal, towards)) + _cosine(outward, towards), 3)

    return max(_views(result.device.side), key=worth)


def _views(side: str) -> list[View]:
    outward = 1.0 if side == "left" else -1.0
    views = []
    for rise in HEIGHTS:
        for azimuth in AZIMUTHS:
            x, y = math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))
            names = ["front"] if x > 0.4 else ["back"] if x < -0.4 else []
            if abs(y) > 0.4:
                names.append("outer side" if y * outward > 0.0 else "inner side")
            above = ", from above" if rise > 0.5 else ""
            views.append(View(f"seen from the {' and '.join(names)}{above}", (x, y, rise)))
    return views


def _cosine(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    size = float(np.linalg.norm(one) * np.linalg.norm(other))
    return float(one @ other) / size if size else 0.0


def _picture(result: Assessment, check: Check, number: int) -> Draft:
    mesh = result.device.mesh
    triangles, bars = mesh.cells["triangle"], bar_lines(result)
    marked, lines = np.zeros(len(triangles), dtype=bool), np.zeros(len(bars), dtype=bool)
    if check.zone in mesh.zones:
        kind, numbers = mesh.zone(check.zone)
        (marked if kind == "triangle" else lines)[numbers] = True
    view, callouts = two_views(result.device.side)[0], tuple[Callout, ...]()
    if check.place is not None:
        view, callouts = best_view(result, check.place), (Callout("here", check.place),)
    picture = Picture(
        mesh.points, triangles, (view,), lines=bars, line_radius=bar_radius(result),
        marks=(Mark("", marked, lines),), callouts=callouts, tight=True)
    what = requirement(check.topic, check.zone)
    zone = f"{plain(check.zone)} is marked" if marked.any() or lines.any() else "no zone is marked"
    ring = "; a ring shows the place" if callouts else ""
    seen = f"{view.name[:1].upper()}{view.name[1:]}: {zone}{ring}"
    alt = f"{number}. {what}. The device. {seen}, {place_of(result, check)}."
    return card_key(number), picture, alt, f"{seen}."
