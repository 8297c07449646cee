# SPDX-License-Identifier: MIT
"""A refinement study made to order on the invented assessment: known orders and limits."""

from dataclasses import replace

from fake_assessment import assessment

from fea.study.refine import Level, compared

SIZES = (6.0, 4.0, 3.0)
LEVELS = tuple(Level(size, round(36e3 / size**2), round(72e3 / size**2)) for size in SIZES)


def findings(checks, level):
    """The checks on a mesh: one settles with order 2 by 0.1 h², one swings, one hardly moves."""
    size = LEVELS[level].size
    demands = (20.0 + 0.1 * size**2, (5.0, 6.0, 5.5)[level], 61.0 + 1e-3 * size)
    return tuple(replace(check, demand=demand + 1.0, error=1.0)
                 for check, demand in zip(checks, demands, strict=True))


def study(*, moved=False):
    """The study, the first mesh being judged; the first peak may move by more than two cells."""
    result = assessment(0.9)
    first, *finer = (findings(result.checks, level) for level in range(3))
    if moved:
        first = (replace(first[0], place=(0.0, 0.0, 1.0)), *first[1:])
        finer = [(replace(one[0], place=(0.0, 13.0, 1.0)), *one[1:]) for one in finer]
    return compared(replace(result, checks=first), LEVELS, [first, *finer])
