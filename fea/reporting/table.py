# SPDX-License-Identifier: MIT
"""A table as the page shows it: text only, already rounded."""

from collections.abc import Sequence
from dataclasses import dataclass

from fea.errors import InputError


@dataclass(frozen=True)
class Table:
    """A table with a caption; the first cell of each row names the row.

    Attributes:
        caption: what the table says, one sentence.
        headers: column titles; one that starts with ">" is aligned right, without the sign.
        rows: cells, as many as headers.
        strong: numbers of rows that are set in bold.
        details: for each row a line that stands under it, or nothing for no row.
    """

    caption: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    strong: frozenset[int] = frozenset()
    details: tuple[str, ...] = ()

    @property
    def columns(self) -> tuple[tuple[str, bool], ...]:
        """Title of each column, and whether it is aligned right."""
        return tuple((title.removeprefix(">"), title.startswith(">")) for title in self.headers)


def table(
    caption: str,
    headers: Sequence[str],
    rows: Sequence[Sequence[object]],
    *,
    strong: Sequence[int] = (),
    details: Sequence[str] = (),
) -> Table:
    """A `Table` of anything that prints; None is shown as a dash.

    Example:
        >>> table("Walls", ["zone", ">mm"], [["shell", 4.0], ["plate", None]]).rows
        (('shell', '4.0'), ('plate', '–'))
    """
    texts = tuple(tuple(_text(cell) for cell in row) for row in rows)
    if any(len(row) != len(headers) for row in texts) or len(details) not in (0, len(texts)):
        raise InputError(f"table '{caption}': every row needs {len(headers)} cells and its detail")
    return Table(caption, tuple(headers), texts, frozenset(strong), tuple(details))


def _text(cell: object) -> str:
    if cell is None:
        return "–"
    text = str(cell)
    return "−" + text[1:] if text[:1] == "-" and text[1:2].isdigit() else text
