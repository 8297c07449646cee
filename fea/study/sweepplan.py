# SPDX-License-Identifier: MIT
"""What a sweep is to judge: a base design, and which of its values are varied how.

    device = "ribbed-polypropylene-child"
    wearer = "demo-child"
    size_mm = 12.0

    [vary]                                       # every combination of these
    "device.walls.ankle.sheet_mm" = [5.0, 6.0, 7.0]
    "device.ankle.anterior_trim_mm" = { from = 20.0, to = 28.0, count = 3 }
    "material.polypropylene-homopolymer.youngs_modulus_mpa" = { times = [0.8, 1.0] }

With ``[hypercube]`` (``count``, ``seed``) so many designs are drawn instead, spread evenly over all
values at once; ``[[designs]]`` in place of ``[vary]`` lists them one by one. Under ``[vary]``,
``wearer = ["demo-child", "mine.toml"]`` varies all of the wearer; so do device, loads and change.
"""

import itertools
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from numbers import Integral
from typing import Any

import numpy as np
from scipy.stats import qmc

from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.errors import InputError
from fea.inputfile import LONGEST
from fea.provenance import fingerprint, package_versions
from fea.shipped import AUTO_STEP
from fea.study.parameter import STEPS, Design, Named, Value

MOST = 100_000
"""Designs of one plan; more are a slip in a count."""

Values = Mapping[str, Value]


@dataclass(frozen=True)
class Axis:
    """One varied value.

    Attributes:
        path: dotted, see `fea.study.parameter`.
        step: "times" or "add" where the value that is there is multiplied or added to; else "".
        values: that it takes, in order; of a hypercube range its two ends.
        spans: whether it may take any value between those ends.
    """

    path: str
    step: str
    values: tuple[Any, ...]
    spans: bool = False

    @classmethod
    def of(cls, path: str, given: object, *, drawn: bool = False) -> "Axis":
        """From what a plan says of a path.

        Args:
            path: dotted.
            given: a list of values, ``{from, to, count}``, or either of them after ``times`` or
                ``add``.
            drawn: for a hypercube, where a range has no count.

        Raises:
            InputError: it is none of these.

        Example:
            >>> Axis.of("device.gap_mm", {"from": 4.0, "to": 6.0, "count": 3}).values
            (4.0, 5.0, 6.0)
            >>> Axis.of("loads.fz_bw", {"times": [0.9, 1.1]}).designs
            ({'times': 0.9}, {'times': 1.1})
        """
        step = ""
        if isinstance(given, Mapping) and len(given) == 1 and next(iter(given)) in STEPS:
            ((step, given),) = given.items()
        if isinstance(given, Mapping):
            low, high, count = _range(path, given, drawn)
            if count is None:
                return cls(path, step, (low, high), spans=True)
            return cls(path, step, tuple(_short(v) for v in np.linspace(low, high, count)))
        if isinstance(given, str) or not isinstance(given, Sequence) or not given:
            raise InputError(
                f"'{path}' is varied over {given!r}; give a list of values, as in [4.0, 5.0], or a "
                f"range, as in {{ from = 4.0, to = 6.0{'' if drawn else ', count = 5'} }}"
            )
        return cls(path, step, tuple(given))

    @property
    def designs(self) -> tuple[Value, ...]:
        """Every value as a change."""
        return tuple(map(self._value, self.values))

    def at(self, share: float) -> Value:
        """The value at a share from 0 to below 1 of the way through."""
        if self.spans:
            low, high = self.values
            return self._value(_short(low + share * (high - low)))
        return self._value(self.values[int(share * len(self.values))])

    def _value(self, value: Any) -> Value:
        return {self.step: value} if self.step else value


@dataclass(frozen=True)
class How:
    """How each design is judged, see `fea.assess`.

    Attributes:
        size: cell size of a recipe, mm; None for the recipe's own.
        fall, step: load sets of the first fall and of the step; None goes without.
        requirements: file of the user's own; None for the shipped ones.
        large_from_deg: rotation from which instants are solved with large rotations; None never.
    """

    size: float | None = None
    fall: str | None = "stumble"
    step: str | None = AUTO_STEP
    requirements: str | None = None
    large_from_deg: float | None = ROTATION_LIMIT_DEG


@dataclass(frozen=True, eq=False)
class Plan:
    """A base design and the values of each design of a sweep.

    Attributes:
        base: what is varied;  designs: path to value of each, all with the same paths.
        how: they are judged.
        title: one line for people.
        files: content of files that `how` names, so that another content is another plan.

    Raises:
        InputError: no design, too many, one with other paths than the rest, a number that is not
            finite, a path that is set in some designs and stepped in others, or one of which no
            value can be set.
    """

    base: Design
    designs: tuple[Values, ...]
    how: How = How()
    title: str = ""
    files: tuple[object, ...] = ()

    def __post_init__(self) -> None:
        if not self.designs:
            raise InputError("the plan has no design; vary something, or list designs")
        if len(self.designs) > MOST:
            raise InputError(f"the plan has {len(self.designs)} designs; at most {MOST} are taken")
        for number, design in enumerate(self.designs, 1):
            if set(design) != set(self.paths):
                raise InputError(
                    f"design {number} sets {', '.join(sorted(design)) or 'nothing'}, the first one "
                    f"{', '.join(sorted(self.paths)) or 'nothing'}; set the same in every design"
                )
        problems = [problem for path in self.paths
                    if (problem := self._mixed(path) or self._refused(path))]  # fmt: skip
        if problems:
            raise InputError("\nstanchion: ".join(problems))

    @property
    def paths(self) -> tuple[str, ...]:
        """What is varied."""
        return tuple(self.designs[0])

    @cached_property
    def key(self) -> str:
        """Hash of all that the rows follow from."""
        named = {(path, value.name): value.content for design in self.designs
                 for path, value in design.items() if isinstance(value, Named)}  # fmt: skip
        return fingerprint(
            [self.base, self.designs, named, self.how, self.files, package_versions()])

    def order(self) -> list[int]:
        """Numbers of the designs, those that share a shape together, so that they share work."""
        shapes: dict[str, list[int]] = {}
        for number, values in enumerate(self.designs):
            shape = {path: value for path, value in values.items() if not keeps_shape(path)}
            shapes.setdefault(json.dumps(shape, sort_keys=True, default=str), []).append(number)
        return list(itertools.chain.from_iterable(shapes.values()))

    def _mixed(self, path: str) -> str:
        """Why the values of a path do not fit one column; empty where they do."""
        first = _mode(self.designs[0][path])
        for number, value in enumerate((design[path] for design in self.designs), 1):
            if not _finite(value):
                return f"'{path}' is {_shown(value)} in design {number}; give finite numbers"
            if (mode := _mode(value)) != first:
                one, other = (f"stepped by {each}" if each else "set" for each in (first, mode))
                return (f"'{path}' is {one} in design 1 and {other} in design {number}; write it "
                        "alike in all designs")  # fmt: skip
        return ""

    def _refused(self, path: str) -> str:
        """Why no value of a path can be set by itself; empty where one can."""
        told = ""
        for value in _distinct(design[path] for design in self.designs):
            try:
                self.base.changed({path: value}).device_as_changed()
            except InputError as error:
                named = str(error).startswith(f"'{path}'")
                told = told or (str(error) if named else f"'{path}': {error}")
            else:
                return ""
        return told


def keeps_shape(path: str) -> bool:
    """Whether a value mostly leaves the mesh as it is: loads, materials and walls.

    Only the order in which designs are judged rests on it; whether structures can be used again is
    found from the structures.

    Example:
        >>> keeps_shape("device.walls.ankle.sheet_mm"), keeps_shape("device.ribs.0.height_mm")
        (True, False)
    """
    room, last = path.partition(".")[0], path.rpartition(".")[2]
    walls = ("sheet_mm", "measured_mm", "thickness_mm", "thicknesses_mm", "angles_deg", "material",
             "thinning", "depth_mm")  # fmt: skip
    return room in ("loads", "material") or (room == "device" and last in walls)


def grid(vary: Mapping[str, object]) -> tuple[Values, ...]:
    """Every combination of values; the last path runs fastest.

    Args:
        vary: path to what it is varied over, see `Axis.of`.

    Raises:
        InputError: a list or range that is none, or more than `MOST` combinations.

    Example:
        >>> grid({"wearer.mass_kg": [30, 35], "loads.fz_bw": {"times": [1.0]}})
        ({'wearer.mass_kg': 30, 'loads.fz_bw': {'times': 1.0}},
         {'wearer.mass_kg': 35, 'loads.fz_bw': {'times': 1.0}})
    """
    axes = [Axis.of(path, given) for path, given in vary.items()]
    count = math.prod(len(axis.values) for axis in axes)
    if count > MOST:
        raise InputError(f"[vary] makes {count} designs; at most {MOST} are taken: vary fewer "
                         "values, or draw some of them with [hypercube]")  # fmt: skip
    rows = itertools.product(*(axis.designs for axis in axes))
    return tuple(dict(zip(vary, row, strict=True)) for row in rows) if axes else ()


def hypercube(vary: Mapping[str, object], *, count: int, seed: int) -> tuple[Values, ...]:
    """Designs drawn so that each value on its own is spread evenly.

    Args:
        vary: path to what it is varied over; a range has no count.
        count: designs, from 1;  seed: of the draw, from 0, so that it can be made again.

    Raises:
        InputError: a list or range that is none, or a count or seed that cannot be.

    Source: mckay-1979 (Latin hypercube sampling).

    Example:
        >>> drawn = hypercube({"device.gap_mm": {"from": 4.0, "to": 8.0}}, count=4, seed=1)
        >>> sorted(int(design["device.gap_mm"]) for design in drawn)     # one in each quarter
        [4, 5, 6, 7]
    """
    _require_whole("count", count, 1, MOST)
    _require_whole("seed", seed, 0)
    axes = [Axis.of(path, given, drawn=True) for path, given in vary.items()]
    if not axes:
        return ()
    shares = qmc.LatinHypercube(len(axes), rng=np.random.default_rng(seed)).random(count)
    return tuple(
        {axis.path: axis.at(share) for axis, share in zip(axes, row, strict=True)}
        for row in shares
    )


def column_of(path: str, value: Value) -> tuple[str, Any]:
    """Name and content of the column of a varied value.

    Example:
        >>> column_of("loads.fz_bw", {"times": 1.1}), column_of("device.angles_deg", [0, 90])
        (('loads.fz_bw times', 1.1), ('device.angles_deg', '[0, 90]'))
    """
    if step := _mode(value):
        path, value = f"{path} {step}", value[step]
    if isinstance(value, Named):
        return path, value.name
    plain = isinstance(value, (int, float, str, bool))
    return path, value if plain else json.dumps(value, default=str)


def _range(path: str, given: Mapping[str, Any], drawn: bool) -> tuple[float, float, int | None]:
    wanted = {"from", "to"} if drawn else {"from", "to", "count"}
    shown = f"{{ from = 4.0, to = 6.0{'' if drawn else ', count = 5'} }}"
    if given and not set(given) & {"from", "to", "count"}:
        raise InputError(f"there is a table under '{path}'; write the whole path in one pair of "
                         f'quotes, as in "{path}.{next(iter(given))}" = [4.0, 5.0]')  # fmt: skip
    if set(given) != wanted:
        more = "; in a hypercube a range has no count" if drawn and "count" in given else ""
        raise InputError(f"the range of '{path}' has {', '.join(given) or 'nothing'}; write it as "
                         f"{shown}{more}")  # fmt: skip
    low, high, count = given["from"], given["to"], given.get("count")
    numbers = all(isinstance(v, (int, float)) and not isinstance(v, bool) and _finite(v)
                  for v in (low, high))  # fmt: skip
    if not numbers or not low < high:
        raise InputError(f"the range of '{path}' runs from {_shown(low)} to {_shown(high)}; give "
                         f"two finite numbers, the lower one first, as in {shown}")  # fmt: skip
    if not drawn:
        _require_whole(f"the range of '{path}' has count", count, 2, MOST)
    return float(low), float(high), count


def _require_whole(name: str, value: object, least: int, most: int | None = None) -> None:
    """Refuse what is no whole number between bounds, which are allowed themselves."""
    number = isinstance(value, (Integral, float)) and not isinstance(value, bool)
    fits = number and least <= value and (most is None or value <= most)  # type: ignore[operator]
    if fits and isinstance(value, Integral):
        return
    if fits and float(value).is_integer():  # type: ignore[arg-type]
        raise InputError(f"{name} = {value}; write it without a point, as a whole number: "
                         f"{value:.0f}")  # fmt: skip
    to = "" if most is None else f" to {most}"
    raise InputError(f"{name} = {_shown(value)}; give a whole number from {least}{to}")


def _mode(value: Value) -> str:
    """The step of a value; empty where it is set as it is."""
    stepped = isinstance(value, Mapping) and len(value) == 1 and next(iter(value)) in STEPS
    return str(next(iter(value))) if stepped else ""


def _finite(value: object) -> bool:
    """Whether all numbers in a value can be reckoned with."""
    if isinstance(value, Mapping):
        return all(map(_finite, value.values()))
    if isinstance(value, (list, tuple)):
        return all(map(_finite, value))
    try:
        return not isinstance(value, (int, float)) or math.isfinite(value)
    except OverflowError:  # a whole number of hundreds of digits
        return False


def _shown(value: object) -> str:
    """A value in a message, cut where it is long."""
    text = repr(value)
    return text if len(text) <= LONGEST else f"{text[:LONGEST]}…"


def _short(value: float) -> float:
    """Without the last digits, which are rounding and make no better design."""
    return float(f"{value:.9g}")


def _distinct(values: Iterator[Value]) -> list[Value]:
    found = {json.dumps(value, sort_keys=True, default=str): value for value in values}
    return list(found.values())
