# SPDX-License-Identifier: MIT
"""What the figures of a report share: their words, views, sizes and lines."""

import base64
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.wording import percent_text, quantity_text
from fea.drawing.charts import Limit, Series
from fea.drawing.picture import Picture, View
from fea.judging import AppliedResult
from fea.reporting.words import plain
from fea.stance import CaseResult

MOST_LINES = 6
DRAWN_SHARE = 0.08
ROUND = (1.0, 1.2, 1.6, 2.0, 2.4, 3.2, 4.0, 4.8, 6.4, 8.0, 10.0)  # quarters of these are short
LIMIT = Limit(100.0, "limit: 100 %")


Draft = tuple[str, Picture, str, str]
"""Key, picture, alternative text and caption."""


@dataclass(frozen=True)
class Figure:
    """A picture of the page: `key`, file content, its media type, and its words."""

    key: str
    content: bytes
    media: str
    alt: str
    caption: str

    @property
    def address(self) -> str:
        """The content as an address that needs no file and no network."""
        return f"data:{self.media};base64,{base64.b64encode(self.content).decode('ascii')}"


def drawn_times(movement: float, size: float) -> float:
    """How many times larger than real a movement is drawn: a round number, at least 1.

    Example:
        >>> drawn_times(2.0, 400.0), drawn_times(80.0, 400.0)
        (15.0, 1.0)
    """
    if movement <= 0.0:
        return 1.0
    wanted = DRAWN_SHARE * size / movement
    steps = [m * 10.0**k for k in range(7) for m in (1.0, 1.5, 2.0, 3.0, 5.0, 7.0)]
    return max((step for step in steps if step <= wanted), default=1.0)


def utilisation_lines(
    result: Assessment, cases: Sequence[CaseResult], x: NDArray[np.float64]
) -> tuple[list[Series], str]:
    """Lines of the hardest worked zones over x (k,) of the cases, and a sentence on the highest.

    Cases at the same x are drawn as one point, the hardest.
    Zones are ranked by the instants of the verdict, so that a zone looks the same in every chart;
    where it judges none, by the cases themselves, of which at least one must judge a zone.
    """
    peaks: dict[str, float] = {}
    for case in [case for case in result.cases if case.utilisation] or cases:
        for zone, value in case.utilisation.items():
            peaks[zone] = max(value, peaks.get(zone, 0.0))
    hardest = sorted(peaks, key=lambda zone: -peaks[zone])[:MOST_LINES]
    places, at = np.unique(np.round(x, 1), return_inverse=True)
    series = []
    for zone in hardest:
        values = np.full(len(places), -math.inf)
        np.maximum.at(values, at, [100.0 * case.utilisation.get(zone, -math.inf) for case in cases])
        series.append(Series(plain(zone), places, np.where(np.isinf(values), math.nan, values)))
    top = max(cases, key=lambda case: max(case.utilisation.values(), default=0.0))
    zone = max(top.utilisation, key=lambda name: top.utilisation[name])
    sentence = (f"The highest, {percent_text(top.utilisation[zone])}, is {plain(zone)} in case "
                f"“{top.name}”.")
    if len(peaks) > MOST_LINES:
        sentence += f" Shown are the {MOST_LINES} hardest worked zones of {len(peaks)}."
    return series, sentence


def turn_text(case: CaseResult | AppliedResult) -> str:
    degrees = math.degrees(case.ankle_rotation)
    way = "dorsiflexion" if degrees >= 0 else "plantarflexion"
    return f"{quantity_text(abs(degrees))}° towards {way}"


def two_views(side: str) -> tuple[View, View]:
    outward = 1.0 if side == "left" else -1.0
    return (View("from the front, outer side", (1.0, 0.8 * outward, 0.45)),
            View("from behind, inner side", (-1.0, -0.8 * outward, 0.45)))


def side_view(result: Assessment) -> View:
    outward = 1.0 if result.device.side == "left" else -1.0
    return View("from the outer side", (0.0, outward, 0.0))


def bar_lines(result: Assessment) -> NDArray[np.int64]:
    return result.device.mesh.cells.get("line", np.empty((0, 2), dtype=np.int64))


def bar_radius(result: Assessment) -> float:
    bars = result.device.bars.values()
    return float(np.mean([0.5 * math.sqrt(bar.width * bar.depth) for bar in bars] or [1.0]))


def round_up(value: float) -> float:
    if value <= 0.0:
        return 1.0
    step = 10.0 ** math.floor(math.log10(value))
    return next(m * step for m in ROUND if m * step >= value)
