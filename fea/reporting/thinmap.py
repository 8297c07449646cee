# SPDX-License-Identifier: MIT
"""The map of where to thin: what each gram taken off costs, in the check that it costs most."""

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Check
from fea.check.wording import percent_text, quantity_text
from fea.drawing.picture import Callout, Picture, Scale
from fea.reporting.sketch import Draft, bar_lines, bar_radius, round_up, two_views
from fea.reporting.words import place_text, plain
from fea.study.gradient import Gradients

Array = NDArray[np.float64]

_TOP = 85.0
"""Percentile of the cells at the dark end: those beside the hardest places stand far above."""

_BANDS = 8

_MINDS = 0.5
"""Share used from which a check that the map does not count makes its wall unknown; judgement."""


def costs(found: Gradients) -> tuple[Array, Array]:
    """What a gram taken off costs, as a share of what is allowed, in the check it costs most; 1/g.

    Args:
        found: sensitivities of an assessment, of one check at least.

    Returns:
        Of each triangle (c,) and each bar's line (m,): highest of utilisation times relative loss
        of the factor; negative where every check gains, NaN where the weight is not known.
    """
    triangles = [one.check.utilisation * found.cells_per_gram(one) for one in found.gradients]
    grams = 1e3 * np.where(found.line_mass > 0.0, found.line_mass, np.nan)
    lines = [one.check.utilisation * -one.lines / grams for one in found.gradients]
    return np.max(triangles, axis=0), np.max(lines, axis=0)


def unknown_zones(found: Gradients) -> tuple[str, ...]:
    """Walls and bars in which a check without sensitivity uses most, so that none says all."""
    counted = dict.fromkeys(found.zones, _MINDS)
    for one in found.gradients:
        zone, used = one.check.zone, one.check.utilisation
        counted[zone] = max(counted.get(zone, 0.0), used)
    harder = {
        check.zone for check, _ in found.missing
        if check.zone in found.zones and check.utilisation > counted[check.zone]
    }  # fmt: skip
    return tuple(zone for zone in found.zones if zone in harder)


def _shown(found: Gradients) -> tuple[Array, Array]:
    """Costs in % per gram, NaN where they do not say all."""
    triangles, lines = (100.0 * each for each in costs(found))
    mesh = found.result.device.mesh
    for zone in unknown_zones(found):
        kind, numbers = mesh.zone(zone)
        (triangles if kind == "triangle" else lines)[numbers] = np.nan
    return triangles, lines


def thin_map(found: Gradients) -> Draft:
    """Every triangle and bar coloured by what a gram taken off it costs.

    Walls and bars that are governed by a check without sensitivity are netted: not known.

    Args:
        found: sensitivities of an assessment, of one check at least.
    """
    result, hardest = found.result, found.gradients[0].check
    mesh = result.device.mesh
    triangles, lines = _shown(found)
    known = np.concatenate([triangles, lines])
    known = known[~np.isnan(known)]
    high = round_up(max(float(np.percentile(known, _TOP)), 1e-6)) if len(known) else 1.0
    left_out = f" ({len(found.missing)} checks not counted)" if found.missing else ""
    scale = Scale(
        "share of what is allowed that a gram taken off uses up, %/g: thin light first, dark never"
        + left_out, 0.0, high, bands=_BANDS, no_value_text="not known: see text",
    )  # fmt: skip
    ring = () if hardest.place is None else (Callout("hardest place", hardest.place),)
    bars = bar_lines(result)
    picture = Picture(
        mesh.points, mesh.cells["triangle"], two_views(result.device.side),
        triangle_values=triangles, lines=bars, line_values=lines if len(bars) else None,
        line_radius=bar_radius(result), scale=scale, callouts=ring,
    )  # fmt: skip
    light = 100.0 * float(np.mean(known <= high / _BANDS)) if len(known) else 0.0
    dark = quantity_text(high * (1.0 - 1.0 / _BANDS))
    facts = (
        f"Each cell shows how much of what is allowed a gram taken off there uses up, in the check "
        f"that it costs most, of {len(found.gradients)} checks: strength of walls, plies and bars, "
        f"buckling and rotation, as far as they have sensitivities. {light:.0f} % of the cells "
        f"have the lightest colour: thin there first. The darkest cost more than {dark} % a gram: "
        f"never there. The hardest of these checks is {_words(found, hardest)}."
    )
    alt = ("The device from the front and outer side and from behind and the inner side, coloured "
           f"by what a gram taken off costs. {facts}")  # fmt: skip
    caption = f"{facts} {_uncovered(found)}It holds for small changes: judge what you change."
    return "thin", picture, alt, caption


def _words(found: Gradients, check: Check) -> str:
    place = ""
    if check.place is not None:
        place = f", {place_text(check.place, found.result.device.side)}"
    return (
        f"{check.topic} of {plain(check.zone)} in “{check.case}” ({check.horizon}){place}, which "
        f"uses {percent_text(check.utilisation)}"
    )


def _uncovered(found: Gradients) -> str:
    """What the map is silent about."""
    if not found.missing:
        return ""
    netted = ", ".join(map(plain, unknown_zones(found)))
    words = f"Netted walls are governed by checks that are not in the map: {netted}. "
    topics = ", ".join(dict.fromkeys(check.topic for check, _ in found.missing))
    worst = max((check for check, _ in found.missing), key=lambda check: check.utilisation)
    count = len(found.missing)
    are = "One check is" if count == 1 else f"{count} checks are"
    return (
        f"{words if netted else ''}{are} not in the map ({topics}); the hardest of them is "
        f"{_words(found, worst)}. "
    )
