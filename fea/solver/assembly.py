# SPDX-License-Identifier: MIT
"""Assembly by node blocks: the pattern once, values as often as they change.

Every elastic part is a set of cells whose k owners (nodes or bodies) have six degrees of freedom
each, with matrices (c, 6k, 6k). Sorting pairs of owners instead of single entries makes the
pattern 36 times shorter. Entries that happen to be zero stay, so the pattern never changes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import bsr_matrix, csr_matrix

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class Pattern:
    """Where the 6 × 6 blocks of all cells go.

    Attributes:
        owners: number of block rows.
        order: blocks of all cells, sorted by block row and column.
        starts: where each distinct block starts in that order.
        columns: block column of each distinct block;  pointers: (owners + 1,) row starts.
    """

    owners: int
    order: IntArray
    starts: IntArray
    columns: IntArray
    pointers: IntArray

    @classmethod
    def of(cls, cells: Sequence[IntArray], owners: int) -> "Pattern":
        """Pattern of parts with cells (c, k) of owner numbers below ``owners``."""
        keys = [
            (part[:, :, None] * owners + part[:, None, :]).ravel() for part in cells if len(part)
        ]
        flat = np.concatenate(keys) if keys else np.empty(0, np.int64)
        order = np.argsort(flat, kind="stable")
        ordered = flat[order]
        starts = np.flatnonzero(np.diff(ordered, prepend=-1))
        rows, columns = np.divmod(ordered[starts], owners)
        return cls(owners, order, starts, columns, np.searchsorted(rows, np.arange(owners + 1)))

    def assemble(self, matrices: Sequence[Array], total: int) -> csr_matrix:
        """Sum the parts' matrices (c, 6k, 6k), in the order of the pattern, into (total, total).

        ``total`` may exceed 6 · owners; the rows beyond are empty.
        """
        if not len(self.order):
            return csr_matrix((total, total))
        blocks = np.concatenate([_blocks(part) for part in matrices if len(part)])
        data = np.add.reduceat(blocks[self.order], self.starts, axis=0)
        size = 6 * self.owners
        matrix = bsr_matrix(
            (data.reshape(-1, 6, 6), self.columns, self.pointers), shape=(size, size)
        ).tocsr()
        matrix.resize((total, total))
        return csr_matrix(matrix)


def _blocks(matrices: Array) -> Array:
    """Cell matrices (c, 6k, 6k) as rows of 36 numbers, one row a pair of owners."""
    count = matrices.shape[1] // 6
    split = matrices.reshape(-1, count, 6, count, 6)
    return split.transpose(0, 1, 3, 2, 4).reshape(-1, 36)
