# SPDX-License-Identifier: MIT
"""The door for devices: a shipped name or a file, read by its construction."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Literal

from pydantic import ConfigDict, model_validator

from fea.device.bars import BarsRecipe, read_bars_recipe
from fea.device.device import Device
from fea.device.meshdevice import read_mesh_device
from fea.device.moulded import MouldedRecipe, read_moulded_recipe
from fea.inputfile import Schema, read_toml
from fea.material.library import LibraryMaterial, read_library
from fea.shipped import resolve

Readable = BarsRecipe | MouldedRecipe | Device

_READERS: Mapping[str, Callable[[Path, Mapping[str, LibraryMaterial]], Readable]] = {
    "bars": read_bars_recipe,
    "mesh": read_mesh_device,
    "moulded": read_moulded_recipe,
}


class _Head(Schema):
    """The one key that every device file has; the rest is read by its construction."""

    model_config = ConfigDict(extra="ignore")

    construction: Literal["bars", "mesh", "moulded"]

    @model_validator(mode="before")
    @classmethod
    def _is_a_device(cls, data: Any) -> Any:
        """Names the file of another kind, of which every key would be wrong."""
        if isinstance(data, Mapping) and "construction" not in data:
            if "mass_kg" in data:
                raise ValueError("this is the file of a wearer, not of a device")
            if {"set", "add", "overlays"} & set(data):
                raise ValueError("this is the file of a change, not of a device: name it after the "
                                 "device to compare, or behind --change")
        return data


def read_device(
    name_or_path: str | Path, library: Mapping[str, LibraryMaterial] | None = None
) -> Readable:
    """Read a device: a recipe, to be fitted to a limb, or a mesh, which is never resized.

    Args:
        name_or_path: name of a shipped device, or path of a device file (TOML).
        library: materials by name; None for the shipped ones.

    Returns:
        A recipe or a `Device`.

    Raises:
        InputError: there is no such file or shipped name.
        FileError: the file is unusable; every problem is listed.
    """
    path = resolve("meshes", name_or_path)
    read = _READERS[read_toml(path, _Head).construction]
    return read(path, read_library() if library is None else library)
