# SPDX-License-Identifier: MIT
"""The lightest layout in files: a change that makes it, and the map of where to thin."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap
from typing import Any

import tomlkit
from tomlkit.items import KeyType, SingleKey, Table

from fea.drawing.render import render
from fea.outputfile import made, replacing
from fea.reporting.thinmap import thin_map
from fea.study.gradient import Gradients
from fea.study.lightest import Lightest

_CHANGE = "lightest.toml"


@dataclass(frozen=True)
class LightestPaths:
    """Where they lie; None for what there is not.

    Attributes:
        change: file of a change that makes the lightest of the device's file.
        map: picture.
        caption: of the picture, and what it does not cover; it lies beside it as text.
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
        document.add(key, _table(value) if key == "set" else tomlkit.item(_inline(value)))
    return tomlkit.dumps(document)


def _table(values: Mapping[str, Any]) -> Table:
    """Dotted keys as one key each."""
    table = tomlkit.table()
    for path, value in values.items():
        table.add(SingleKey(path, KeyType.Basic), _inline(value))
    return table


def _inline(value: Any) -> Any:
    """The same with the tables within a row, such as a layup, on one line."""
    if isinstance(value, list):
        return [{k: _inline(v) for k, v in each.items()} if isinstance(each, dict) else each
                for each in value]  # fmt: skip
    if not isinstance(value, dict):
        return value
    line = tomlkit.inline_table()
    line.update(value)
    return line


def write_lightest(result: Lightest, found: Gradients, out: str | Path) -> LightestPaths:
    """Write the change and the map. Where nothing holds, a change of an earlier run is taken away.

    Args:
        result: the lightest.
        found: sensitivities of it, or of the device as given where nothing holds.
        out: folder, made where it is missing.

    Raises:
        FileError: the folder cannot be written to.
    """
    folder = made(out)
    change, picture, caption = None, None, ""
    if not (text := change_text(result)):
        (folder / _CHANGE).unlink(missing_ok=True)
    else:
        change = folder / _CHANGE
        with replacing(change) as draft:
            draft.write_text(text, encoding="utf-8")
    if found.gradients:
        _, drawn, _, caption = thin_map(found)
        picture = folder / "thin-here-first.png"
        with replacing(picture) as draft:
            draft.write_bytes(render([drawn]).images[0])
        with replacing(picture.with_suffix(".txt")) as draft:
            draft.write_text("\n".join(wrap(caption, 100)) + "\n", encoding="utf-8")
    return LightestPaths(change, picture, caption)
