# SPDX-License-Identifier: MIT
"""Citation keys: every number and formula names its source by a key of ``sources.toml``."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from fea.errors import InputError
from fea.inputfile import Schema, read_toml


@dataclass(frozen=True)
class Source:
    """A published source, or the honest statement that there is none."""

    key: str
    citation: str


class _SourceFile(Schema):
    sources: dict[str, str]


def _read_sources() -> Mapping[str, Source]:
    content = read_toml(Path(__file__).with_name("sources.toml"), _SourceFile)
    return MappingProxyType({key: Source(key, text) for key, text in content.sources.items()})


SOURCES: Mapping[str, Source] = _read_sources()


def cite(key: str) -> str:
    """The citation behind ``key``.

    A text with a space in it is a citation by itself (a user's own test report) and comes back
    unchanged; keys never contain spaces.

    Raises:
        InputError: an unknown key.

    Example:
        >>> cite("jones-1999")
        'Jones R M. Mechanics of Composite Materials, 2nd ed. Taylor & Francis, 1999.'
        >>> cite("own tensile tests, batch 12")
        'own tensile tests, batch 12'
    """
    if key in SOURCES:
        return SOURCES[key].citation
    if " " in key.strip():
        return key
    raise InputError(
        f"unknown source key '{key}'; use a key of sources.toml, or write the citation out"
    )
