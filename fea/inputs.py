# SPDX-License-Identifier: MIT
"""All that a command was given, read before any work: the mistakes of all inputs at once."""

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pydantic import ConfigDict

from fea.check.requirements import Requirements, read_requirements
from fea.device.change import Readable as Changed
from fea.device.change import apply_change
from fea.device.changefile import Change, read_change
from fea.device.reader import Readable, read_device
from fea.errors import InputError
from fea.inputfile import Schema, read_toml
from fea.loadcase.change import parse_changes
from fea.loadcase.instant import LoadSet
from fea.loadcase.reader import read_load_set
from fea.material.library import LibraryMaterial, read_library
from fea.reporting.writing import check_folder
from fea.shipped import AUTO_STEP, resolve, shipped_names
from fea.study.rig import rig_of
from fea.wearer import Wearer, read_wearer

Found = TypeVar("Found")


class _Head(Schema):
    """What tells the file of a device from that of a change."""

    model_config = ConfigDict(extra="ignore")

    construction: object = None


@dataclass(frozen=True)
class Inputs:
    """What was read.

    Attributes:
        device, wearer, requirements: as named.
        loads: None for a command that takes no load set.
        change: of the device; None where none was named.
        after: the device after a change; None for a command that takes one device and no change.
    """

    device: Readable
    wearer: Wearer
    loads: LoadSet | None
    requirements: Requirements
    change: Change | None = None
    after: Changed | None = None

    @property
    def judged(self) -> Changed:
        """The device that is asked about: after the change, where there is one."""
        return self.device if self.after is None else self.after


def read_inputs(
    device: str,
    *,
    after: str | None = None,
    change: str | None = None,
    wearer: str | None,
    measures: Mapping[str, float | str | None],
    cases: str | None = None,
    changes: Sequence[str] = (),
    step: str | None = None,
    materials: Path | None = None,
    requirements: Path | None = None,
    rig: str | None = None,
    out: str | None = None,
) -> Inputs:
    """Read everything that a command was given.

    Args:
        device: shipped name or file.
        after: the device after a change: the same, or a change, by shipped name or file.
        change: of the device, by shipped name or file; in place of `after`.
        wearer: shipped name or file, or None where `measures` give one: option to value.
        cases, changes, step: load set, what is changed in it, and the step; None for neither.
        materials, requirements: files of the user's own.
        rig: name of a bench rig.
        out: folder for files.

    Raises:
        InputError: every mistake of all inputs.
    """
    mistakes: list[str] = []
    who = _attempt(lambda: _wearer(wearer, measures), mistakes)
    library = _attempt(lambda: read_library(materials), mistakes)
    judged = _attempt(lambda: read_device(device, library), mistakes)
    changed, made = None, None
    if after is not None and library is not None:
        changed = _attempt(lambda: _after(after, judged, library), mistakes)
    if change is not None and library is not None:
        made = _attempt(lambda: read_change(change, library), mistakes)
    if made is not None and judged is not None and library is not None:
        changed = _attempt(lambda: apply_change(judged, made, library), mistakes)
    adult = who is None or who.is_adult
    asked = _attempt(lambda: read_requirements(requirements, adult=adult), mistakes)
    loads = None
    if cases is not None:
        loads = _attempt(lambda: read_load_set(cases).changed(parse_changes(changes)), mistakes)
    if step not in (None, AUTO_STEP):
        _attempt(lambda: read_load_set(str(step)), mistakes)
    if rig is not None:
        _attempt(lambda: rig_of(rig), mistakes)
    if out is not None or (judged is not None and cases is not None):
        _attempt(lambda: check_folder(folder_of(out, changed or judged)), mistakes)
    if who is None or judged is None or asked is None or mistakes:
        raise InputError("\nstanchion: ".join(mistakes))
    return Inputs(judged, who, loads, asked, made, changed)


def _after(
    after: str, before: Readable | None, library: Mapping[str, LibraryMaterial]
) -> Changed | None:
    """A device, or a change of the one before; None where that could not be read.

    A file of a device says how it is constructed; a change does not.
    """
    shipped = not Path(after).suffix and Path(after).name == after
    if shipped and after in shipped_names("changes"):
        change = read_change(after, library)
    elif shipped and after not in shipped_names("meshes"):
        raise InputError(
            f"no shipped device and no shipped change '{after}'; there are the devices "
            f"{', '.join(shipped_names('meshes'))}, and the changes "
            f"{', '.join(shipped_names('changes'))}; a file is named with its suffix")
    elif shipped or read_toml(resolve("meshes", after), _Head).construction is not None:
        return read_device(after, library)
    else:
        change = read_change(after, library)
    return None if before is None else apply_change(before, change, library)


def folder_of(out: str | None, device: Changed | None) -> str:
    """Where files go: as asked, or into a folder named after the device."""
    return os.path.join("out", device.name) if out is None and device is not None else out or ""


def _attempt(read: Callable[[], Found], mistakes: list[str]) -> Found | None:
    try:
        return read()
    except InputError as error:
        mistakes.append(str(error))
        return None


def _wearer(wearer: str | None, measures: Mapping[str, float | str | None]) -> Wearer:
    given = [name for name, value in measures.items() if value is not None]
    missing = [name for name, value in measures.items() if value is None]
    if wearer is not None:
        if given:
            raise InputError(f"--wearer and {', '.join(given)} exclude each other; drop one")
        return read_wearer(resolve("wearers", wearer))
    if missing:
        raise InputError(f"the wearer is incomplete: add {', '.join(missing)}, or give --wearer")
    return Wearer(mass_kg=measures["--mass-kg"], height_mm=measures["--height-mm"],  # type: ignore[arg-type]
                  side=measures["--side"])  # type: ignore[arg-type]
