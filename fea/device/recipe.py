# SPDX-License-Identifier: MIT
"""What every parametric recipe has: its file, and the materials that the file names."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Generic, Protocol, TypeVar

from fea.material.library import LibraryMaterial


class Named(Protocol):
    """The head of a recipe's file."""

    @property
    def name(self) -> str:
        """Short name."""

    @property
    def title(self) -> str:
        """One line for people."""


Content = TypeVar("Content", bound=Named)


@dataclass(frozen=True)
class FileRecipe(Generic[Content]):
    """A recipe that was read from a file, to be fitted to a limb.

    Attributes:
        content: the recipe's file.
        library: materials by name.
    """

    content: Content
    library: Mapping[str, LibraryMaterial]
    size: ClassVar[float]
    """Default edge length of the mesh, mm."""

    @property
    def name(self) -> str:
        """Short name."""
        return self.content.name

    @property
    def title(self) -> str:
        """One line for people."""
        return self.content.title
