# SPDX-License-Identifier: MIT
"""Where a device works hardest, for each of the three questions that has a place of its own."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.check import Check, Horizon
from fea.check.verdict import GOVERNING, HORIZONS, WHEN, governing_three, place_words
from fea.check.wording import percent_text
from fea.drawing.picture import Callout, Picture, Scale
from fea.reporting.answers import requirement
from fea.reporting.evidence import Part
from fea.reporting.sketch import Draft, bar_lines, bar_radius, two_views

APART = 30.0
"""Places nearer to each other than this, mm, are one. Status: assumed."""
SCALE = Scale("utilisation of the allowed stress, %", 0.0, 1.0, limit=1.0, bands=10, factor=100.0,
              limit_text="limit", no_value_text="not judged")  # fmt: skip
NOTHING = "Nothing in this picture could be judged."


@dataclass(frozen=True)
class _Shown:
    """One picture.

    Attributes:
        horizon: its question.
        places: the hardest checks of it that have a place of the device, the worst first.
        alike: worst checks of other questions, at the same place.
    """

    horizon: Horizon
    places: tuple[Check, ...]
    alike: tuple[Check, ...] = ()

    @property
    def key(self) -> str:
        return f"hardest-{self.horizon.replace(' ', '-')}"


def hardest_parts(result: Assessment) -> tuple[Part, ...]:
    """A heading for each picture, the question that governs the verdict first."""
    shown = _shown(result)
    governs = shown[0].horizon == _governing(result)
    return tuple(
        Part(_title(one, governs=governs and k == 0), _alike_words(one), (one.key,))
        for k, one in enumerate(shown)
    )


def hardest_pictures(result: Assessment) -> list[Draft]:
    """The pictures of `hardest_parts`."""
    return [_draw(result, one) for one in _shown(result)]


def hardest_today(result: Assessment) -> Draft:
    """Every part coloured by the hardest load case of a day, with rings at the hardest places."""
    return _draw(result, _Shown("today", _places(result, "today")))


def _governing(result: Assessment) -> Horizon | None:
    return next((check.horizon for check in governing_three(result.checks)), None)


def _shown(result: Assessment) -> list[_Shown]:
    """The questions to draw: that which governs, the day, whose colours know each cell, and each
    other one unless its hardest place is drawn already, beside which it is told."""
    governs = _governing(result)
    found: list[_Shown] = []
    for horizon in sorted(HORIZONS, key=lambda one: one != governs):
        places = _places(result, horizon)
        if not places:
            continue
        twin = next((k for k, one in enumerate(found) if _near(one.places[0], places[0])), None)
        if twin is None or horizon == "today":
            found.append(_Shown(horizon, places))
        else:
            one = found[twin]
            found[twin] = _Shown(one.horizon, one.places, (*one.alike, places[0]))
    return found or [_Shown("today", ())]


def _places(result: Assessment, horizon: Horizon) -> tuple[Check, ...]:
    """The hardest checks of a question, some way from each other; the skin has its own picture."""
    kept: list[Check] = []
    for check in sorted(result.checks, key=lambda each: -each.utilisation):
        if check.horizon != horizon or check.place is None or check.unit == "kPa":
            continue
        if len(kept) < GOVERNING and not any(_near(check, other) for other in kept):
            kept.append(check)
    return tuple(kept)


def _near(one: Check, other: Check) -> bool:
    assert one.place is not None and other.place is not None
    return math.dist(one.place, other.place) < APART


def _title(one: _Shown, *, governs: bool) -> str:
    when = WHEN[one.horizon]
    return f"{when[:1].upper()}{when[1:]}{', which governs the verdict' if governs else ''}"


def _alike_words(one: _Shown) -> tuple[str, ...]:
    return tuple(
        f"The hardest place {WHEN[check.horizon]} is the same: {_check_words(check)}."
        for check in one.alike
    )


def _check_words(check: Check) -> str:
    return f"{requirement(check.topic, check.zone)}, {percent_text(check.utilisation)}"


def _draw(result: Assessment, one: _Shown) -> Draft:
    mesh = result.device.mesh
    callouts = tuple(
        Callout(f"{k}: {percent_text(check.utilisation)}", check.place)
        for k, check in enumerate(one.places, start=1) if check.place is not None
    )
    picture = Picture(
        mesh.points, mesh.cells["triangle"], two_views(result.device.side), lines=bar_lines(result),
        line_radius=bar_radius(result), callouts=callouts,
    )
    words = _places_words(result, one.places)
    if one.horizon == "today":
        cells, bars = np.asarray(result.cell_utilisation, dtype=float), _bars(result)
        picture = replace(picture, triangle_values=cells, line_values=bars, scale=SCALE)
        words = " ".join([words, *_colour_words(cells, bars)])
    alt = (f"The device from the front and outer side and from behind and the inner side. "
           f"How hard it works {WHEN[one.horizon]}. {words}")
    return one.key, picture, alt, words


def _places_words(result: Assessment, places: Sequence[Check]) -> str:
    if not places:
        return NOTHING
    told = [f"{k}: {_check_words(check)}, {place_words(check, result.where, exact=True)}"
            for k, check in enumerate(places, start=1)]
    rings = "Rings mark the hardest places" if len(told) > 1 else "The ring marks the hardest place"
    return f"{rings}. {'; '.join(told)}."


def _colour_words(cells: NDArray[np.float64], bars: NDArray[np.float64]) -> list[str]:
    """What the colours stand for, and what is netted."""
    words = []
    if not np.isnan(cells).all():
        words.append("Colours: stress in the hardest load case of a day, with the required "
                     "factor, against what the material allows.")
    if (cells > 1.0).any():
        words.append("What exceeds the limit is netted.")
    if np.isnan(cells).any():
        words.append("White netted parts are judged by themselves or not at all; see “local peak” "
                     "and joints among the checks, and “Not checked”.")
    if len(bars):
        words.append("A bar carries one colour, its highest utilisation.")
    return words


def _bars(result: Assessment) -> NDArray[np.float64]:
    """The highest utilisation (m,) of the bar that each line cell belongs to; NaN unjudged."""
    values = np.full(len(bar_lines(result)), math.nan)
    for zone in result.device.bars:
        judged = [case.utilisation[zone] for case in result.every_case if zone in case.utilisation]
        if judged:
            values[result.device.mesh.zone(zone)[1]] = max(judged)
    return values
