# SPDX-License-Identifier: MIT
"""The file of a sweep: what it may hold is shown at the head of `fea.study.sweepplan`."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import Field, model_validator

from fea.check.requirements import read_requirements
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.device.changefile import read_change
from fea.device.reader import read_device
from fea.errors import FileError, InputError, Problem
from fea.inputfile import Schema, read_toml
from fea.loadcase.reader import read_load_set
from fea.material.library import LibraryMaterial, read_library
from fea.shipped import AUTO_STEP
from fea.study.parameter import NONE, WHOLES, Design, Named, whole
from fea.study.sweepplan import MOST, How, Plan, Values, grid, hypercube
from fea.wearer import read_wearer

Found = TypeVar("Found")

_OTHERS = {"construction": "device", "mass_kg": "wearer", "overlays": "change", "set": "change",
           "add": "change", "provenance": "load set"}  # fmt: skip
"""Keys that only files of another kind have."""


class HypercubeTable(Schema):
    """Designs drawn in place of all combinations."""

    count: Annotated[int, Field(ge=1, le=MOST)]
    seed: Annotated[int, Field(ge=0)]


class SweepFile(Schema):
    """Everything that a plan may hold.

    Names are those of shipped content, or files: beside the plan, or from where the program runs.
    `fall` and `step` may be "none", which is quicker and leaves the first fall or life open. So is
    `large_rotation = false`: instants that turn the ankle far are then judged on a linear solve.
    """

    title: str = ""
    device: str
    wearer: str
    change: str | None = None
    loads: str = "walking-envelope"
    fall: str = "stumble"
    step: str = AUTO_STEP
    materials: str | None = None
    requirements: str | None = None
    large_rotation: bool = True
    size_mm: Annotated[float, Field(ge=1.0, le=25.0)] | None = None
    vary: dict[str, Any] = Field(default_factory=dict)
    hypercube: HypercubeTable | None = None
    designs: tuple[dict[str, Any], ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _is_a_plan(cls, data: Any) -> Any:
        """Names the file of another kind, of which every key would be wrong."""
        for key, kind in _OTHERS.items():
            if isinstance(data, Mapping) and key in data and not {"device", "vary"} & set(data):
                raise ValueError(f"this is the file of a {kind}, not a plan; a plan names device "
                                 "and wearer and says under [vary] what varies")  # fmt: skip
        return data

    def values(self) -> tuple[Values, ...]:
        """The values of every design; raises `InputError` where they are not told in one way."""
        if bool(self.vary) == bool(self.designs):
            raise InputError("give either [vary] or [[designs]]")
        if self.designs:
            if self.hypercube:
                raise InputError("[hypercube] draws from [vary], not from [[designs]]")
            return self.designs
        if self.hypercube:
            table = self.hypercube
            return hypercube(self.vary, count=table.count, seed=table.seed)
        return grid(self.vary)


def read_plan(path: str | Path) -> Plan:
    """Read a plan.

    Args:
        path: TOML file.

    Raises:
        FileError: the plan, or a file that it names, is unusable; every problem is listed.
    """
    content = read_toml(path, SweepFile)
    beside = Path(path).parent
    problems: list[Problem] = []

    def read(where: str, reader: Callable[[], Found]) -> Found | None:
        try:
            return reader()
        except InputError as error:
            problems.append(Problem(where, str(error)))
            return None

    def named(name: str) -> str:
        return str((beside / name).resolve()) if (beside / name).is_file() else name

    wearer = read("wearer", lambda: read_wearer(named(content.wearer)))
    loads = read("loads", lambda: read_load_set(named(content.loads)))
    extra = None if content.materials is None else named(content.materials)
    library = read("materials", lambda: read_library(extra))
    device = read("device", lambda: read_device(named(content.device), library))
    change = None
    if content.change is not None:
        change = read("change", partial(read_change, named(content.change), library))
    listed = "vary" if content.vary else "designs"
    designs = read(listed, content.values)
    if designs and library:
        designs = read(listed, partial(_with_wholes, designs, named, library))
    how = _how(content, named)
    files: list[object] = [read("requirements", lambda: read_requirements(how.requirements))]
    for key in ("fall", "step"):
        name = getattr(how, key)
        if name not in (None, AUTO_STEP):
            files.append(read(key, partial(read_load_set, name)))
    if problems or not (wearer and loads and library and device and designs):
        raise FileError(path, problems)
    try:
        base = Design(device, wearer, loads, library, change)
        return Plan(base, designs, how, content.title, tuple(files))
    except InputError as error:
        raise FileError(path, [Problem("", str(error))]) from None


def _with_wholes(
    designs: tuple[Values, ...], named: Callable[[str], str], library: Mapping[str, LibraryMaterial]
) -> tuple[Values, ...]:
    """The designs with each device, wearer, load set and change read, once for all of them."""
    found: dict[tuple[str, str], Named] = {}
    mistakes = []
    for path, value in ((path, design[path]) for design in designs for path in WHOLES
                        if path in design):  # fmt: skip
        if (path, str(value)) in found:
            continue
        try:
            content = whole(path, named(value) if isinstance(value, str) else value, library)
        except InputError as error:
            mistakes.append(str(error))
            content = None
        found[path, str(value)] = Named(str(value), content)
    if mistakes:
        raise InputError("; ".join(mistakes))
    return tuple(
        {path: found.get((path, str(value)), value) for path, value in design.items()}
        for design in designs
    )


def _how(content: SweepFile, named: Callable[[str], str]) -> How:
    fall, step = (None if each == NONE else named(each) for each in (content.fall, content.step))
    requirements = None if content.requirements is None else named(content.requirements)
    large_from_deg = ROTATION_LIMIT_DEG if content.large_rotation else None
    return How(content.size_mm, fall, step, requirements, large_from_deg)
