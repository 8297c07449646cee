# SPDX-License-Identifier: MIT
"""A change applied to a device: a recipe is changed and fitted as before, a mesh at once."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fea.device.bars import BarsRecipe
from fea.device.changefile import Change
from fea.device.device import Device
from fea.device.meshdevice import changed_mesh_device
from fea.device.meshfile import MeshDeviceFile
from fea.device.moulded import MouldedRecipe
from fea.device.overlay import overlaid
from fea.device.rewalling import rewalled
from fea.device.riveting import riveted
from fea.errors import DeviceError, FileError, InputError, Problem
from fea.limb import Limb
from fea.material.library import LibraryMaterial, read_library

Changeable = MouldedRecipe | BarsRecipe | Device
"""What `fea.read_device` returns."""

_NAME = "changed"


@dataclass(frozen=True)
class ChangedRecipe:
    """A recipe with a change of its walls, to be fitted to a limb.

    Attributes:
        recipe: with what the change sets and adds in its file.
        change: of which zones and overlays remain.
        library: materials by name.
    """

    recipe: MouldedRecipe | BarsRecipe
    change: Change
    library: Mapping[str, LibraryMaterial]

    @property
    def name(self) -> str:
        """Short name, not that of the recipe."""
        return f"{self.recipe.name}-{_NAME}"

    @property
    def title(self) -> str:
        """One line for people."""
        return _title(self.recipe.title, self.change)

    @property
    def size(self) -> float:
        """Default edge length of the mesh, mm."""
        return self.recipe.size

    def fit(self, limb: Limb, size: float | None = None) -> Device:
        """The changed device on a limb; arguments and errors as of the recipe.

        Raises:
            DeviceError: besides, a change that does not fit the device, or the room to the skin.
        """
        fitted = self.recipe.fit(limb, size)
        device = _walls_changed(fitted, self.change, self.library)
        self._require_clear_of_skin(device)
        return replace(device, name=self.name, title=self.title)

    def _require_clear_of_skin(self, device: Device) -> None:
        gap = self.recipe.content.gap_mm
        for zone, wall in device.walls.items():
            inwards = float(np.max(0.5 * np.asarray(wall.thickness))) - wall.offset
            if inwards > gap + 1e-9:
                raise DeviceError(
                    f"with '{self.change.title}' the wall of '{zone}' reaches {inwards:.3g} mm "
                    f"inwards from the middle of the old wall, but the skin is gap_mm = {gap:g} mm "
                    f'away: bond it on the outer face, or set "gap_mm" = {inwards:.3g}'
                )


Readable = Changeable | ChangedRecipe


def apply_change(
    device: Readable, change: Change, library: Mapping[str, LibraryMaterial] | None = None
) -> Readable:
    """The device as a change makes it.

    Args:
        device: from `fea.read_device`.
        change: from `fea.read_change`, or made of values.
        library: materials by name; None for the shipped ones.

    Returns:
        For a recipe something to be fitted to a limb; for a mesh a `Device`.

    Raises:
        InputError: a name in place of a device or change.
        FileError: keys that lead nowhere, or values and materials that are refused.
        DeviceError: a part of the change does not fit the device; of a recipe when it is fitted.

    Example:
        >>> import fea
        >>> device = fea.read_device("ribbed-polypropylene-child")
        >>> change = fea.Change(title="7 mm", values={"walls.heel.sheet_mm": 7})
        >>> thicker = fea.apply_change(device, change)
        >>> thicker.recipe.content.walls.heel.sheet_mm, thicker.name
        (7.0, 'ribbed-polypropylene-child-changed')
    """
    if not isinstance(device, Readable):
        raise InputError(f"{device!r} is no device; give a device from fea.read_device")
    if not isinstance(change, Change):
        raise InputError(f"{change!r} is no change; give a change from fea.read_change")
    library = read_library() if library is None else library
    if problems := change.problems(library):
        raise FileError(change.title, problems)
    if isinstance(device, ChangedRecipe):
        raise DeviceError(f"device '{device.name}' has been changed already: put all of a change "
                          "into one")
    if isinstance(device, Device):
        if change.values or change.added:
            device = _made_again(device, change, library)
        device = _walls_changed(device, change, library)
        return replace(device, name=f"{device.name}-{_NAME}", title=_title(device.title, change))
    return ChangedRecipe(device.changed(change.values, change.added, library), change, library)


def _made_again(
    device: Device, change: Change, library: Mapping[str, LibraryMaterial]
) -> Device:
    """A mesh device with other values in its file, which does not say what shape it has."""
    try:
        return changed_mesh_device(device, change.values, change.added, library)
    except FileError as error:
        raise FileError(error.path, [_of_a_mesh(each) for each in error.problems]) from None


def _of_a_mesh(problem: Problem) -> Problem:
    first = problem.where.removeprefix("add.").partition(".")[0]
    if first in (*MeshDeviceFile.model_fields, "device", ""):
        return problem
    return replace(problem, what=(
        f"{problem.what}; this device is a mesh, whose shape stays: change walls by [[zones]], "
        "bond on by [[overlays]], rivet on by [[bars]]"))


def _walls_changed(
    device: Device, change: Change, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device with other walls, and with what is bonded and riveted on."""
    for part in change.zones:
        device = rewalled(device, part, library)
    for overlay in change.overlays:
        device = overlaid(device, overlay, library)
    for bar in change.bars:
        device = riveted(device, bar, library)
    return replace(device, notes=(*device.notes, f"Changed: {change.title}."))


def _title(title: str, change: Change) -> str:
    return f"{title}; changed: {change.title}"
