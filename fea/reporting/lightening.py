# SPDX-License-Identifier: MIT
"""The lightest layout in files: a change that makes it, and the map of where to thin."""

from dataclasses import dataclass
from pathlib import Path

import tomlkit
from tomlkit.items import KeyType, SingleKey

from fea.drawing.render import render
from fea.errors import FileError, Problem
from fea.outputfile import replacing
from fea.reporting.thinmap import thin_map
from fea.study.gradient import Gradients
from fea.study.lightest import Lightest

_DEVICE = "device."


@dataclass(frozen=True)
class LightestPaths:
    """Where they lie; None for what there is not.

    Attributes:
        change: file of a change for the device as given.
        map: picture.
        caption: of the picture.
    """

    change: Path | None
    map: Path | None
    caption: str


def change_text(result: Lightest) -> str:
    """The file of a change that makes the lightest of the device as given; empty without one.

    A layout of overlays is set in the file of their own change, so there is none of it.
    """
    values = result.values
    if not values or not all(path.startswith(_DEVICE) for path in values):
        return ""
    document = tomlkit.document()
    document.add(tomlkit.comment(" " + result.sentence))
    document.add("title", tomlkit.item("Lightest layout found"))
    table = tomlkit.table()
    for path, value in values.items():
        key = SingleKey(path.removeprefix(_DEVICE), KeyType.Basic)
        table.add(key, value)
    document.add("set", table)
    return tomlkit.dumps(document)


def write_lightest(result: Lightest, found: Gradients, out: str | Path) -> LightestPaths:
    """Write the change and the map.

    Args:
        result: the lightest.
        found: sensitivities of it, or of the device as given where nothing holds.
        out: folder, made where it is missing.

    Raises:
        FileError: the folder cannot be written to.
    """
    folder = Path(out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(folder, [Problem("", f"cannot be made ({error.strerror})")]) from error
    change, picture, caption = None, None, ""
    if text := change_text(result):
        change = folder / "lightest.toml"
        with replacing(change) as draft:
            draft.write_text(text, encoding="utf-8")
    if found.gradients:
        _, drawn, _, caption = thin_map(found)
        picture = folder / "thin-here-first.png"
        with replacing(picture) as draft:
            draft.write_bytes(render([drawn]).images[0])
    return LightestPaths(change, picture, caption)
