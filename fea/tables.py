# SPDX-License-Identifier: MIT
"""Plain-text tables."""

from collections.abc import Sequence


def text_table(headers: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Lay out rows under headers as aligned plain text.

    Args:
        headers: column titles.
        rows: one sequence of cells per row, as long as the headers. Floats are shown with four
            significant digits and aligned right like all numbers; None is shown as "-".

    Returns:
        The table, without a newline at its end.

    Raises:
        ValueError: a row is longer or shorter than the headers.

    Example:
        >>> print(text_table(["zone", "factor"], [["plate", 2.5], ["shell", 12.34567]]))
        zone   factor
        -----  ------
        plate     2.5
        shell   12.35
    """
    cells = [[_text(cell) for cell in row] for row in rows]
    for number, row in enumerate(cells, start=1):
        if len(row) != len(headers):
            raise ValueError(f"row {number} has {len(row)} cells under {len(headers)} headers")
    widths = [max(map(len, column)) for column in zip(headers, *cells, strict=True)]
    numeric = [
        bool(rows) and all(_is_number(cell) for cell in column) for column in _columns(rows)
    ] or [False] * len(headers)
    lines = [list(headers), ["-" * width for width in widths], *cells]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(line, widths, numeric, strict=True)
        ).rstrip()
        for line in lines
    )


def _columns(rows: Sequence[Sequence[object]]) -> list[tuple[object, ...]]:
    return list(zip(*rows, strict=True))


def _is_number(cell: object) -> bool:
    return cell is None or (isinstance(cell, (int, float)) and not isinstance(cell, bool))


def _text(cell: object) -> str:
    if cell is None:
        return "-"
    return f"{cell:.4g}" if isinstance(cell, float) else str(cell)
