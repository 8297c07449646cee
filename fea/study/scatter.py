# SPDX-License-Identifier: MIT
"""How body weight, loads, walls and materials scatter, and from where that is known.

The shipped numbers are in ``scatter.toml``; a user's file of the same form replaces any of them::

    wall = 0.05
    strength = { value = 0.04, source = "ten coupons of our own", status = "measured" }
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field
from scipy.stats import norm

from fea.check.requirements import Origin
from fea.errors import InputError
from fea.inputfile import Schema, read_toml
from fea.material.library import Status

SHIPPED = Path(__file__).with_name("scatter.toml")
GIVEN = "given in the scatter file"


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """Coefficients of variation: standard deviation over mean.

    All five are asked for. `fea.read_scatter` reads them: as shipped, or with those of a file.

    Attributes:
        body_weight: of the wearer, as between visits.
        load: of the loads, as between steps.
        wall: of each wall and bar by itself, after forming.
        modulus: of each material by itself.
        strength: of each material.

    Raises:
        InputError: a number that is not finite, below 0, or above 1, which no factor stands for.

    Example:
        >>> import fea
        >>> from dataclasses import replace
        >>> shipped, origins = fea.read_scatter()
        >>> own = replace(shipped, wall=0.05)
        >>> own.wall, own.load == shipped.load
        (0.05, True)
    """

    body_weight: float
    load: float
    wall: float
    modulus: float
    strength: float

    def __post_init__(self) -> None:
        for entry in fields(self):
            value = getattr(self, entry.name)
            if not (math.isfinite(value) and 0.0 <= value <= 1.0):
                raise InputError(
                    f"scatter of {entry.name} is {value}; give standard deviation over mean, "
                    "between 0 and 1, as in 0.1"
                )

    def log(self, name: str) -> float:
        """Standard deviation of the logarithm of a quantity."""
        return math.sqrt(math.log1p(getattr(self, name) ** 2))


class _Number(Schema):
    value: Annotated[float, Field(ge=0.0, le=1.0)]
    source: str
    status: Status | Literal["given"]
    note: str = ""


def _plain(number: Any) -> Any:
    """A number alone is what its writer says."""
    if isinstance(number, int | float) and not isinstance(number, bool):
        return {"value": number, "source": GIVEN, "status": "given"}
    if not isinstance(number, dict | _Number):
        raise ValueError("must be a number, or { value = …, source = …, status = … }")
    return number


_Entry = Annotated[_Number, BeforeValidator(_plain)]


class ScatterFile(Schema):
    """Every key may be left out."""

    body_weight: _Entry | None = None
    load: _Entry | None = None
    wall: _Entry | None = None
    modulus: _Entry | None = None
    strength: _Entry | None = None


assert set(ScatterFile.model_fields) == {entry.name for entry in fields(Scatter)}


def read_scatter(path: str | Path | None = None) -> tuple[Scatter, Mapping[str, Origin]]:
    """The scatter of a file, and where each number comes from.

    Args:
        path: of the user's file; what it leaves out stays as shipped. None for the shipped one.

    Raises:
        FileError: every mistake of the file.

    Example:
        >>> import fea
        >>> scatter, origins = fea.read_scatter()
        >>> 0.0 < scatter.wall < 0.2, origins["wall"].status
        (True, 'assumed')
    """
    shipped = read_toml(SHIPPED, ScatterFile)
    own = ScatterFile() if path is None else read_toml(path, ScatterFile)
    found: dict[str, _Number] = {}
    for name in ScatterFile.model_fields:
        number = getattr(own, name) or getattr(shipped, name)
        assert number is not None  # the shipped file has all
        found[name] = number
    values = {name: number.value for name, number in found.items()}
    origins = {
        name: Origin(number.source, number.status, number.note) for name, number in found.items()
    }
    return Scatter(**values), origins


def below(limit: float, factor: float, deviation: float) -> float:
    """Chance that a lognormal factor is below a limit.

    Args:
        limit: above 0.
        factor: its median, above 0.
        deviation: standard deviation of its logarithm; 0 leaves no scatter.

    Source: shigley-2011.

    Example:
        >>> round(below(1.0, 1.2, 0.1), 4)      # normal: ln 1.2 / 0.1 = 1.823 deviations
        0.0341
    """
    if not deviation > 0.0:
        return float(factor < limit)
    return float(norm.cdf((math.log(limit) - math.log(factor)) / deviation))
