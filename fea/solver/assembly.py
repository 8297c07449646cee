# SPDX-License-Identifier: MIT
"""Assembly by node blocks: the pattern once, values as often as they change.

Every elastic part is a set of cells whose k owners (nodes or bodies) have six degrees of freedom
each, with matrices (c, 6k, 6k). Sorting pairs of owners instead of single entries makes the
pattern 36 times shorter. Entries that happen to be zero stay, so the pattern never changes.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import bsr_matrix, csr_matrix

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
CellMatrices = Callable[[slice], Array]
"""Matrices (m, 6k, 6k) of a slice of cells."""

_BATCH = 1024  # cells whose matrices exist at one time: the rest of memory is left untouched


@dataclass(frozen=True)
class _Batch:
    """Some cells of a part: `gather` (rows, blocks) sums their blocks, as far as they coincide."""

    part: int
    cells: slice
    rows: IntArray
    gather: csr_matrix

    @classmethod
    def of(cls, part: int, cells: slice, places: IntArray) -> "_Batch":
        """Batch whose blocks go to ``places``, in the order of its cells."""
        order, starts = _runs(places)
        pointers = np.append(starts, len(order))
        gather = csr_matrix((np.ones(len(order)), order, pointers), shape=(len(starts), len(order)))
        return cls(part, cells, places[order[starts]], gather)


@dataclass(frozen=True)
class Pattern:
    """Where the 6 × 6 blocks of all cells go.

    Attributes:
        owners: number of block rows.
        batches: the cells, a thousand at a time.
        columns: block column of each distinct block;  pointers: (owners + 1,) row starts.
    """

    owners: int
    batches: tuple[_Batch, ...]
    columns: IntArray
    pointers: IntArray

    @classmethod
    def of(cls, cells: Sequence[IntArray], owners: int) -> "Pattern":
        """Pattern of parts with cells (c, k) of owner numbers below ``owners``."""
        keys = [part[:, :, None] * owners + part[:, None, :] for part in cells]
        flat = np.concatenate([np.empty(0, np.int64), *(part.ravel() for part in keys)])
        order, starts = _runs(flat)
        rows, columns = np.divmod(flat[order[starts]], owners)
        places = np.empty(len(flat), np.int64)
        places[order] = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(flat)))
        batches, done = [], 0
        for number, part in enumerate(cells):
            for start in range(0, len(part), _BATCH):
                some = slice(start, min(start + _BATCH, len(part)))
                size = (some.stop - start) * part.shape[1] ** 2
                batches.append(_Batch.of(number, some, places[done : done + size]))
                done += size
        return cls(owners, tuple(batches), columns, np.searchsorted(rows, np.arange(owners + 1)))

    def assemble(self, matrices: Sequence[CellMatrices], total: int) -> csr_matrix:
        """Sum the parts' matrices, in the order of the pattern's parts, into (total, total).

        ``total`` may exceed 6 · owners; the rows beyond are empty.
        """
        data = np.zeros((len(self.columns), 36))
        for batch in self.batches:
            data[batch.rows] += batch.gather @ _blocks(matrices[batch.part](batch.cells))
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


def _runs(values: IntArray) -> tuple[IntArray, IntArray]:
    """A stable order (n,) that sorts values, and where in it each distinct value begins."""
    order = np.argsort(values, kind="stable")
    return order, np.flatnonzero(np.diff(values[order], prepend=-1))
