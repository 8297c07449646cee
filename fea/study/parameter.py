# SPDX-License-Identifier: MIT
"""Everything that can be varied, by one dotted path: device, wearer, loads, materials, overlays.

    device.walls.ankle.sheet_mm               a key of the device's own file
    device.straps.calf strap.width_mm         of a list by name, or by number from 0
    wearer.mass_kg                            a measure of the wearer
    loads.fz_bw                               a number of every case that has it
    loads.heel strike, toes up.fz_bw          of one case
    material.polypropylene-homopolymer.youngs_modulus_mpa     a number of the library
    overlay.outer strip.width_mm              of an overlay of the change in force
    device, wearer, loads, change             the whole of it: a shipped name, a file, or `Named`

A value is a number, a word or a list; or ``{"times": 1.2}`` or ``{"add": 2.0}``, which change the
number that is there. What is set as a whole is there before its parts are changed. Each room checks
its own values; nothing else knows these prefixes.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from difflib import get_close_matches
from typing import Any

from fea.device.change import Changeable, Readable, apply_change
from fea.device.changefile import Change, read_change
from fea.device.device import Device
from fea.device.meshdevice import changed_mesh_device
from fea.device.reader import read_device
from fea.errors import InputError
from fea.loadcase.change import Change as LoadChange
from fea.loadcase.instant import LoadSet
from fea.loadcase.reader import read_load_set
from fea.material.library import LibraryMaterial, read_library, with_property
from fea.wearer import Wearer, read_wearer

Value = Any
"""A number, a word, a list, or a mapping of one of `STEPS` to a number."""

STEPS = ("times", "add")
"""Words that change the number that is there."""

ROOMS = ("device", "wearer", "loads", "material", "overlay")
WHOLES = ("device", "wearer", "loads", "change")
NONE = "none"
"""Word in place of a change, or of a load set, that is to be left out."""


@dataclass(frozen=True)
class Named:
    """A device, wearer, load set or change that was read before, and the name that tells it."""

    name: str
    content: Any = field(compare=False, repr=False)

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True)
class Design:
    """All that a variation may reach.

    Attributes:
        device: recipe, or device of fixed geometry, before the change.
        wearer: who wears it.
        loads: that the verdict rests on.
        library: materials by name.
        change: made of the device before it is judged; None leaves it as it is.
    """

    device: Changeable
    wearer: Wearer
    loads: LoadSet
    library: Mapping[str, LibraryMaterial] = field(default_factory=read_library)
    change: Change | None = None

    def device_as_changed(self) -> Readable:
        """The device that is judged; raises what `apply_change` raises."""
        if self.change is None:
            return self.device
        return apply_change(self.device, self.change, self.library)

    def changed(self, values: Mapping[str, Value]) -> "Design":
        """The design with other values.

        Args:
            values: by dotted path, see above.

        Raises:
            InputError: a path that leads nowhere, or a value that is refused there.

        Example:
            >>> import fea
            >>> design = Design(fea.read_device("bare-two-upright-polypropylene-child"),
            ...                 fea.read_wearer("demo-child"), fea.read_load_set("sitting"))
            >>> other = design.changed({"wearer.mass_kg": 30.0, "device.gap_mm": {"add": 1.0}})
            >>> other.wearer.mass_kg, other.device.content.gap_mm - design.device.content.gap_mm
            (30.0, 1.0)
        """
        wholes = {path: value for path, value in values.items() if path in WHOLES}
        if wholes:
            parts = {path: value for path, value in values.items() if path not in WHOLES}
            read = {path: whole(path, value, self.library) for path, value in wholes.items()}
            return replace(self, **read).changed(parts)
        rooms = _by_room(values)
        library = _materials(self.library, rooms["material"])
        device = self.device
        if rooms["device"] or rooms["material"]:
            self._require_free(rooms["device"])
            device = _device(device, rooms["device"], library)
        return replace(
            self,
            device=device,
            change=self._change(rooms["overlay"]),
            library=library,
            wearer=_wearer(self.wearer, rooms["wearer"]),
            loads=_loads(self.loads, rooms["loads"]),
        )

    def _require_free(self, values: Mapping[str, Value]) -> None:
        """Refuse keys that the change sets afterwards, so that nothing would come of them."""
        settled = [] if self.change is None else list(self.change.values)
        for key in values:
            if any(_overlap(key, other) for other in settled):
                assert self.change is not None
                raise InputError(
                    f"'device.{key}' is set by the change '{self.change.title}', so varying it "
                    "would do nothing: take it out of the change"
                )

    def _change(self, values: Mapping[str, Value]) -> Change | None:
        if not values:
            return self.change
        if self.change is None:
            raise InputError(f"'overlay.{next(iter(values))}' needs a change with that overlay; "
                             "name its file under `change`")  # fmt: skip
        return self.change.changed({f"overlays.{key}": value for key, value in values.items()})


def whole(path: str, value: Value, library: Mapping[str, LibraryMaterial]) -> Any:
    """What is set as a whole: read by its name or file, unless it was read before.

    Args:
        path: one of `WHOLES`;  value: name, file or `Named`;  library: materials by name.

    Raises:
        InputError: a value that is no name, or what its reader refuses.
    """
    if isinstance(value, Named):
        return value.content
    if not isinstance(value, str):
        raise InputError(f"'{path}' is set to {value!r}; give a shipped name or a file, in quotes")
    if path == "device":
        return read_device(value, library)
    if path == "change":
        return None if value == NONE else read_change(value, library)
    return read_wearer(value) if path == "wearer" else read_load_set(value)


def _by_room(values: Mapping[str, Value]) -> dict[str, dict[str, Value]]:
    """Room to key to value."""
    rooms: dict[str, dict[str, Value]] = {room: {} for room in ROOMS}
    for path, value in values.items():
        room, dot, key = path.partition(".")
        if not (dot and key) or room not in rooms:
            raise InputError(
                f"'{path}' names nothing that can be varied; begin with one of "
                f"{', '.join(f'{each}.' for each in ROOMS)}, as in device.walls.ankle.sheet_mm "
                f"or wearer.mass_kg, or name the whole: {', '.join(WHOLES)}"
            )
        rooms[room][key] = value
    return rooms


def _overlap(key: str, other: str) -> bool:
    """Whether two dotted keys mean the same, or one a part of the other."""
    return f"{key}.".startswith(f"{other}.") or f"{other}.".startswith(f"{key}.")


def stepped(value: Value) -> tuple[str, float] | None:
    """The step and its number where a value changes what is there; None where it replaces it.

    Raises:
        InputError: a step by what is no number.

    Example:
        >>> stepped({"times": 1.2}), stepped(4.0)
        (('times', 1.2), None)
    """
    if not (isinstance(value, Mapping) and len(value) == 1 and next(iter(value)) in STEPS):
        return None
    ((step, by),) = value.items()
    if isinstance(by, bool) or not isinstance(by, (int, float)):
        raise InputError(f"{step} = {by!r} is no number")
    return step, float(by)


def _moved(value: Value) -> Callable[[float], float]:
    """What a value makes of the number that is there."""
    step = stepped(value)
    if step is None:
        return lambda old: float(value)
    word, by = step
    return (lambda old: by * old) if word == "times" else (lambda old: by + old)


def _device(
    device: Changeable, values: Mapping[str, Value], library: Mapping[str, LibraryMaterial]
) -> Changeable:
    """The device with other values in its file, made of the materials of a library."""
    if isinstance(device, Device):
        return changed_mesh_device(device, values, library=library)
    return device.changed(values, library=library)


def _wearer(wearer: Wearer, values: Mapping[str, Value]) -> Wearer:
    found = {}
    known = [each.name for each in fields(wearer) if each.name != "clinical"]
    for key, value in values.items():
        if key not in known:
            raise InputError(f"a wearer has no '{key}'; {_nearest(key, known)}")
        if stepped(value) is None:
            found[key] = value
            continue
        old = wearer.measures[key].value if key in wearer.measures else getattr(wearer, key)
        if isinstance(old, bool) or not isinstance(old, (int, float)):
            raise InputError(f"'{key}' of the wearer is {old!r}, no number to change; set it")
        found[key] = _moved(value)(old)
    return replace(wearer, **found) if found else wearer


def _loads(loads: LoadSet, values: Mapping[str, Value]) -> LoadSet:
    for key, value in values.items():
        step = stepped(value)
        if step is None:
            loads = loads.changed({key: value})
        elif step[0] == "times":
            loads = loads.changed({f"{key}*": step[1]})
        else:
            loads = loads.changed(_added(loads, key, step[1]))
    return loads


def _added(loads: LoadSet, key: str, by: float) -> dict[str, float]:
    """Case by case, what adding to a number makes of it."""
    asked = LoadChange.of(key, by)
    found = {}
    for case in loads.cases:
        old = getattr(case, asked.key, None)
        if asked.case not in (None, case.name) or old is None:
            continue
        if not isinstance(old, (int, float)):
            raise InputError(f"'{asked.key}' of '{case.name}' is '{old}', which cannot be added to")
        found[f"{case.name}.{asked.key}"] = old + by
    return found or {key: by}  # nothing has it: the load set says so, and what there is


def _materials(
    library: Mapping[str, LibraryMaterial], values: Mapping[str, Value]
) -> Mapping[str, LibraryMaterial]:
    for path, value in values.items():
        name, dot, key = path.rpartition(".")
        if not dot:
            raise InputError(
                f"'material.{path}' names no number; give material and property, as in "
                "material.polypropylene-homopolymer.youngs_modulus_mpa"
            )
        if stepped(value) is None and (
            isinstance(value, bool) or not isinstance(value, (int, float))
        ):
            raise InputError(f"'material.{path}' is set to {value!r}, which is no number")
        library = with_property(library, name, key, _moved(value))
    return library


def _nearest(key: str, known: list[str]) -> str:
    alike = get_close_matches(key, known, 1)
    return f"perhaps '{alike[0]}'" if alike else f"there are {', '.join(known)}"
