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


def study():
    """The study, the first mesh being judged."""
    result = assessment(0.9)
    first, *finer = (findings(result.checks, level) for level in range(3))
    return compared(replace(result, checks=first), LEVELS, [first, *finer])
