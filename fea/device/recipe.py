# SPDX-License-Identifier: MIT
"""What every parametric recipe has: its file, and the materials that the file names."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar, Generic, Self, TypeVar

from fea.device.dotted import Rows, changed_content
from fea.errors import FileError, Problem
from fea.inputfile import Name, Schema, Title
from fea.material.library import LibraryMaterial


class RecipeFile(Schema):
    """The head of a recipe's file."""

    name: Name
    title: Title

    def problems(self, library: Mapping[str, LibraryMaterial]) -> list[Problem]:
        """Materials that are unknown, or do not suit what they are named for."""
        raise NotImplementedError


Content = TypeVar("Content", bound=RecipeFile)


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

    def changed(
        self,
        values: Mapping[str, object],
        added: Rows | None = None,
        library: Mapping[str, LibraryMaterial] | None = None,
    ) -> Self:
        """The recipe with other values in its file.

        Args:
            values: by dotted key, such as {"walls.heel.sheet_mm": 4.0} (`fea.device.dotted`).
            added: entries appended to lists of the file, such as {"ribs": [{...}]}.
            library: materials by name; None keeps those of the recipe.

        Raises:
            FileError: keys that lead nowhere, or values that the recipe refuses.
        """
        library = self.library if library is None else library
        content = changed_content(self.content, self.name, values, added)
        if problems := content.problems(library):
            raise FileError(self.name, problems)
        return replace(self, content=content, library=library)
