# SPDX-License-Identifier: MIT
"""The lightest layout in files: a change that makes it, and the map of where to thin."""

from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap

import tomlkit
from tomlkit.items import KeyType, SingleKey

from fea.drawing.render import render
from fea.errors import FileError, Problem
from fea.outputfile import replacing
from fea.reporting.thinmap import thin_map
from fea.study.gradient import Gradients
from fea.study.lightest import Lightest


@dataclass(frozen=True)
class LightestPaths:
    """Where they lie; None for what there is not.

    Attributes:
        change: file of a change that makes the lightest of the device's file.
        map: picture.
        caption: of the picture.
    """

    change: Path | None
    map: Path | None
    caption: str


def change_text(result: Lightest) -> str:
    """The file of a change that makes the lightest of the device's file; empty without one."""
    change = result.change
    if change is None:
        return ""
    document = tomlkit.document()
    for line in wrap(result.sentence, 98):
        document.add(tomlkit.comment(line))
    for key, value in change.model_dump(mode="json", by_alias=True, exclude_defaults=True).items():
        if key == "set":
            table = tomlkit.table()
            for path, setting in value.items():
                table.add(SingleKey(path, KeyType.Basic), setting)
            value = table
        document.add(key, tomlkit.item(value))
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
