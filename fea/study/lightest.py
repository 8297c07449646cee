# SPDX-License-Identifier: MIT
"""The lightest layout of sheets and plies that exist under which a device holds.

Every layout that counts is judged in full, as `fea.assess` judges it: all cases and all checks.
Sensitivities only say where to look (`fea.study.layout`). So what is found holds; that nothing
lighter does is known for one size less of each part by itself, not for every layout there is.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.check import Check
from fea.check.requirements import Requirements
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.check.wording import percent_text
from fea.device.changefile import Change
from fea.device.device import Device
from fea.device.meshdevice import changed_mesh_device
from fea.errors import InputError, StanchionError
from fea.limb import Limb
from fea.shipped import AUTO_STEP
from fea.study.layout import Search, Trial, search
from fea.study.parameter import Design, Value
from fea.study.stock import Choice, choices, read_stock, together
from fea.study.trying import Trying, judged
from fea.tables import text_table

Array = NDArray[np.float64]

MOST = 40
"""Layouts that are judged, unless more are asked for."""
ACTIVE = 0.9
"""Share used from which a check is called a limit that is reached."""
_TITLE = "Lightest layout found"


@dataclass(frozen=True, eq=False)
class Lightest:
    """The lightest layout that was found to hold.

    Attributes:
        design: as given.
        parts: what was chosen for.
        before: the device as given.
        after: the lightest that holds; None where none did.
        search: every trial.
    """

    design: Design
    parts: tuple[Choice, ...]
    before: Assessment
    after: Assessment | None
    search: Search

    @property
    def saving(self) -> float | None:
        """Grams saved against the device as given; None where nothing holds."""
        if self.after is None:
            return None
        return 1e3 * (self.before.device_mass_kg - self.after.device_mass_kg)

    @property
    def values(self) -> Mapping[str, Value]:
        """What the lightest sets, by dotted path; nothing where nothing holds."""
        best = self.search.best
        if best is None:
            return {}
        return {
            path: part.values[number]
            for part, number in zip(self.parts, best.layout, strict=True)
            for path in part.paths
        }

    @property
    def change(self) -> Change | None:
        """What makes the lightest of the device's own file; None where nothing holds.

        It holds what the change in force asks for, with the sizes that were found.
        """
        if not self.values:
            return None
        rooms: dict[str, dict[str, Value]] = {"device": {}, "overlay": {}}
        for path, value in self.values.items():
            room, _, key = path.partition(".")
            rooms[room][key] = value
        design = self.design.changed({f"overlay.{k}": v for k, v in rooms["overlay"].items()})
        given = design.change
        if given is None:
            return Change(title=_TITLE, values=rooms["device"])
        names = " and ".join(each.name for each in given.overlays)
        title = f"{_TITLE}, with {names}" if names else _TITLE
        return given.model_copy(
            update={"title": title, "values": given.values | rooms["device"]}
        )

    @property
    def active(self) -> tuple[Check, ...]:
        """Checks of the lightest that use at least `ACTIVE` of what is allowed."""
        if self.after is None:
            return ()
        return tuple(each for each in self.after.checks if each.utilisation >= ACTIVE)

    @property
    def sentence(self) -> str:
        """What was found, in one or two sentences."""
        count = len(self.search.trials)
        if self.after is None:
            return self._none(count)
        assert self.saving is not None
        change = (
            f"{abs(self.saving):.0f} g {'less' if self.saving >= 0.0 else 'more'} than as given"
        )
        given = "" if self.before.verdict != "not met" else ", which does not hold"
        proof = (
            "no part by itself can be one size thinner"
            if self.search.complete
            else "not every part was tried one size thinner: allow more layouts"
        )
        return (
            f"The lightest layout found to hold weighs {1e3 * self.after.device_mass_kg:.0f} g, "
            f"{change}{given}; {_layouts(count)} judged in full, and {proof}."
        )

    def _none(self, count: int) -> str:
        closest = self._closest
        key, why = closest.governing, "none of them could be judged"
        if key is not None:
            why = (
                f"the one that comes nearest uses {percent_text(closest.worst)} of what is allowed "
                f"in {key[0]} of {key[1]} ({key[2]})"
            )
            if closest.worst <= 1.0:
                why = f"the one that comes nearest leaves open: {', '.join(closest.extra)}"
        if self.search.exhausted:
            return f"No layout of these sizes holds: all {count} were judged, and {why}."
        thickest = tuple(len(each.sizes) - 1 for each in self.parts)
        tried = [each for each in self.search.trials if each.layout == thickest]
        most = ", the thickest of all among them" if tried else ""
        return (
            f"No layout of these sizes was found to hold: {_layouts(count)} judged{most}, "
            f"and {why}."
        )

    @property
    def _closest(self) -> Trial:
        return min(self.search.trials, key=lambda each: each.worst)

    def __str__(self) -> str:
        best = self.search.best
        shown = best or self._closest
        rows = [
            (part.name, part.words(part.now) if part.now is not None else f"{part.size_now:g} mm",
             part.words(number), *((self._stop(place),) if best else ()))
            for place, (part, number) in enumerate(zip(self.parts, shown.layout, strict=True))
        ]  # fmt: skip
        head = ("part", "as given", *(("lightest", "why no thinner") if best else ("nearest",)))
        text = f"{self.sentence}\n\n{text_table(head, rows)}"
        if self.active:
            limits = [
                (f"{one.topic}, {one.zone}, {one.horizon}", percent_text(one.utilisation))
                for one in self.active
            ]
            text += f"\n\n{text_table(('limit reached', 'used'), limits)}"
        return text

    def _stop(self, number: int) -> str:
        """Why a part of the best layout is no thinner."""
        best = self.search.best
        assert best is not None
        if best.layout[number] == 0:
            return "is the thinnest there is"
        trial = self.search.thinner[number]
        if trial is None:
            return "not tried"
        if trial.failure:
            return trial.failure
        if trial.extra:
            return f"leaves open: {', '.join(trial.extra)}"
        key = trial.governing
        assert key is not None
        return f"{key[0]} of {key[1]} ({key[2]}) at {percent_text(trial.worst)}"


def _layouts(count: int) -> str:
    return "1 layout was" if count == 1 else f"{count} layouts were"


def lightest(
    design: Design,
    *,
    stock: str | Path | None = None,
    one_sheet: bool = False,
    most: int = MOST,
    fall: str | Path | None = "stumble",
    step: str | Path | None = AUTO_STEP,
    size: float | None = None,
    requirements: Requirements | None = None,
    large_from_deg: float | None = ROTATION_LIMIT_DEG,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Lightest:
    """Find the lightest layout of sheets and plies that exist under which a device holds.

    Args:
        design: device, wearer, loads, materials and change in force.
        stock: file of what exists; None for the shipped one.
        one_sheet: parts that are of one size now stay of one size.
        most: layouts that are judged.
        fall, step, size, requirements, large_from_deg, solver: as for `assess`.
        progress: called with a few words as the work goes on.

    Returns:
        The lightest layout, the limits that it reaches, and why each part is no thinner; or that
        none holds.

    Raises:
        InputError: nothing can be chosen, or the device as given cannot be judged.

    Example:
        >>> import fea
        >>> design = fea.Design(fea.read_device("ribbed-polypropylene-child"),
        ...                     fea.read_wearer("demo-child"), fea.read_load_set("sitting"))
        >>> found = fea.lightest(design, step=None, fall=None, size=24.0, most=2)
        >>> len(found.search.trials)
        2
    """
    if most < 1:
        raise InputError(f"{most} layouts are too few; allow some")
    how = {
        "fall": fall, "step": step, "size": size, "requirements": requirements,
        "large_from_deg": large_from_deg, "solver": solver,
    }  # fmt: skip
    progress("looking which sizes can be made")
    given, design, limb = design, _in_its_file(design), Limb.of(design.wearer)
    parts = choices(design, design.device_as_changed().fit(limb, size), read_stock(stock))
    parts = together(parts) if one_sheet else parts
    parts = tuple(_buildable(part, design, limb, size) for part in parts)
    progress("judging the device as given")
    before = judged(given, how, None)
    trying = Trying(design, parts, how, before, progress, most)
    found = search(
        [part.sizes for part in parts], trying, tuple(part.nearest for part in parts), most=most
    )
    return Lightest(given, parts, before, trying.kept, found)


def _in_its_file(design: Design) -> Design:
    """The same with what the change sets and adds in the file of the device, where it can vary."""
    change, device = design.change, design.device
    if change is None:
        return design
    if isinstance(device, Device):
        if change.values or change.added:
            device = changed_mesh_device(
                device, change.values, change.added, library=design.library
            )
    else:
        device = device.changed(change.values, change.added, library=design.library)
    rest = change.model_copy(update={"values": {}, "added": {}})
    left = rest.model_dump(exclude_defaults=True, exclude={"title"})
    return replace(design, device=device, change=rest if left else None)


def _buildable(part: Choice, design: Design, limb: Limb, size: float | None) -> Choice:
    """The part without its thickest values, as far as they cannot be built beside the others."""
    count = len(part.values)
    while count > 1 and part.sizes[count - 1] > part.size_now:
        value = part.values[count - 1]
        try:
            other = design.changed(dict.fromkeys(part.paths, value))
            other.device_as_changed().fit(limb, size)
            break
        except StanchionError:
            count -= 1
    return replace(part, values=part.values[:count], sizes=part.sizes[:count])
