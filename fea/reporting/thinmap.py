# SPDX-License-Identifier: MIT
"""The map of where a wall may be thin: what the governing factor loses for each gram taken off."""

import numpy as np

from fea.check.wording import factor_texts
from fea.drawing.picture import Callout, Picture, Scale
from fea.reporting.sketch import Draft, bar_lines, bar_radius, round_up, two_views
from fea.reporting.words import place_text, plain
from fea.study.gradient import Gradient, Gradients

_TOP = 98.0
"""Percentile of the cells at the dark end: few small cells beside the hardest place stand above."""


def thin_map(found: Gradients, one: Gradient | None = None) -> Draft:
    """Every triangle coloured by what a check loses where it is made thinner.

    Args:
        found: sensitivities of an assessment.
        one: of a check; None takes the hardest.
    """
    one = found.gradients[0] if one is None else one
    result, check = found.result, one.check
    mesh, lost = result.device.mesh, 100.0 * found.cells_per_gram(one)
    known = lost[~np.isnan(lost)]
    high = round_up(max(float(np.percentile(known, _TOP)), 1e-6)) if len(known) else 1.0
    scale = Scale(
        "factor lost per gram taken off, %/g: thin light parts first, dark ones never", 0.0, high,
        bands=8, no_value_text="weight not known",
    )
    ring = () if check.place is None else (Callout("governs here", check.place),)
    picture = Picture(
        mesh.points, mesh.cells["triangle"], two_views(result.device.side), triangle_values=lost,
        lines=bar_lines(result), line_radius=bar_radius(result), scale=scale, callouts=ring,
    )
    gains = 100.0 * float(np.mean(known < 0.0)) if len(known) else 0.0
    above = int((known > high).sum())
    where = "" if check.place is None else f", {place_text(check.place, result.device.side)}"
    factor = " where required is ".join(factor_texts(check.factor, check.required))
    facts = (
        f"The check that uses most is {check.topic} of {plain(check.zone)} in “{check.case}” "
        f"({check.horizon}): factor {factor}{where}. In {gains:.0f} % of the cells the factor does "
        f"not fall at all when they get thinner; they have the lightest colour. {above} cells lose "
        f"more than {high:g} % a gram and have the darkest."
    )
    alt = ("The device from the front and outer side and from behind and the inner side, coloured "
           f"by what the governing factor loses for each gram taken off. {facts}")
    caption = (f"{facts} The map is of this one check and of small changes: other checks have "
               "their own, and a wall that gets much thinner bends otherwise.")
    return "thin", picture, alt, caption
