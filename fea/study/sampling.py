# SPDX-License-Identifier: MIT
"""Chances by solving anew for walls and moduli that are drawn evenly over their scatter.

The rest of the scatter is counted in closed form in each draw, so that a chance is the mean of the
chances of all draws. Its confidence interval is Student's for a mean. Draws of a Latin hypercube
are spread more evenly than those that the interval is for, which at worst makes it wider than it
need be; where a few draws make nearly all of a small chance, it is only a rough one.

Source: mckay-1979, stein-1987 (Latin hypercube), student-1908 (interval of a mean).
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc, t

from fea.check.check import BUCKLING, Check
from fea.check.judgement import judge
from fea.check.stiffness import TOPIC as ROTATION
from fea.device.device import Device
from fea.errors import StanchionError
from fea.solver.solution import Solution
from fea.structure.sections import Section
from fea.study.asking import Asking, NoResponseError
from fea.study.scatter import Scatter, below
from fea.study.thickening import Grow, stiffened, thickened

Array = NDArray[np.float64]

CONFIDENCE = 0.95
STIFF = (ROTATION, BUCKLING)
"""Topics in which strength takes no part."""


@dataclass(frozen=True)
class Sampled:
    """What sampling says of the chance that a check's factor falls below 1 and below the required.

    Attributes:
        breaks, misses: chances.
        breaks_band, misses_band: confidence intervals of 95 %.
        count: samples.
    """

    breaks: float
    misses: float
    breaks_band: tuple[float, float]
    misses_band: tuple[float, float]
    count: int


Groups = Sequence[tuple[str, ...]]
"""Zones that vary as one."""


Varied = tuple[str, Grow, Groups]
"""Name of a quantity, what grows with it, and where it does so as one."""


def varied_of(device: Device, walls: Groups) -> Iterator[Varied]:
    """What is varied by solving anew: walls as they hang together, each material by itself."""
    zones = (*device.walls, *device.bars)
    yield "wall", thickened, walls
    materials: dict[str, list[str]] = {}
    for zone in zones:
        part = device.walls.get(zone) or device.bars[zone]
        materials.setdefault(part.material.name, []).append(zone)
    yield "modulus", stiffened, [tuple(group) for group in materials.values()]


def sample(
    asking: Asking, check: Check, scatter: Scatter, varied: Sequence[Varied], count: int,
    seed: int, progress: Callable[[str], None],
) -> Sampled:
    """Solve the case of a check anew for walls and moduli that scatter.

    Args:
        asking: of the assessment;  check: one of it;  scatter: of all quantities.
        varied: what is drawn.
        count: of samples;  seed: of their drawing.
        progress: called before each sample.

    Raises:
        NoResponseError: it cannot be judged anew, or not in every sample.
    """
    if check.topic == BUCKLING:
        raise NoResponseError("only its first order is known")
    solution = asking.response(check).solution
    size = sum(len(groups) for _, _, groups in varied)
    drawn = norm.ppf(qmc.LatinHypercube(size, rng=np.random.default_rng(seed)).random(count))
    rest = math.sqrt(
        scatter.log("body_weight") ** 2 + scatter.log("load") ** 2
        + (0.0 if check.topic in STIFF else scatter.log("strength") ** 2)
    )  # fmt: skip
    breaks, misses = np.empty(count), np.empty(count)
    for number, row in enumerate(drawn):
        progress(f"sample {number + 1} of {count}: {check.topic} of the {check.zone}")
        times = _times(varied, scatter, row)
        demand = _demand(asking, check, solution, times)
        factor = check.capacity / demand
        breaks[number] = below(1.0, factor, rest)
        misses[number] = below(check.required, factor, rest)
    return Sampled(
        float(breaks.mean()), float(misses.mean()), band(breaks), band(misses), count
    )


Times = Mapping[str, list[tuple[Grow, float]]]
"""Zone to what grows of it, and by how much."""


def _times(
    varied: Sequence[Varied], scatter: Scatter, row: Array
) -> Times:
    found: dict[str, list[tuple[Grow, float]]] = {}
    column = 0
    for name, grow, groups in varied:
        for group in groups:
            times = math.exp(scatter.log(name) * float(row[column]))
            column += 1
            for zone in group:
                found.setdefault(zone, []).append((grow, times))
    return found


def _demand(asking: Asking, check: Check, solution: Solution, times: Times) -> float:
    """The demand of a check with other walls and moduli."""
    sections: dict[str, Section] = {}
    device = asking.result.device
    for zone, steps in times.items():
        section = solution.system.structure.sections[zone]
        for grow, by in steps:
            section = grow(section, by)
            if grow is thickened and zone in device.bars:
                bar = device.bars[zone]
                deeper = replace(bar, depth=by * bar.depth)
                device = replace(device, bars={**device.bars, zone: deeper})
        sections[zone] = section
    try:
        again = asking.solved_with(check, sections)
    except StanchionError as error:
        raise NoResponseError(f"a sample could not be solved: {error}") from None
    if check.topic == ROTATION:
        return asking.rotation(again)
    asked = [
        one.demand
        for one in judge(device, {check.case: again}, asking.factors(check)).findings
        if isinstance(one, Check) and (one.topic, one.zone) == (check.topic, check.zone)
    ]
    if not asked:
        raise NoResponseError("it is not checked for some samples")
    return max(asked)


def band(values: Array) -> tuple[float, float]:
    """Confidence interval of a mean of chances; draws that are spread evenly only make it wide."""
    count = len(values)
    half = float(t.ppf(0.5 + 0.5 * CONFIDENCE, count - 1) * values.std(ddof=1) / math.sqrt(count))
    return max(0.0, float(values.mean()) - half), min(1.0, float(values.mean()) + half)
