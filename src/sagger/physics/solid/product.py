"""Products of the finest level's matrix, of which only one half is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sagger.compiled import fast_parallel, prange
from sagger.physics.solid.pattern import Pattern
from sagger.physics.solid.stiffness import FineBody, System

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Array = np.ndarray
PARTS = 2  # of the rows, each with a sum of its own: then two threads do not meet, and sums keep their order


class Whole(NamedTuple):
    """A symmetric matrix in float64, and room to multiply by it."""

    starts: Array  # int64 (n + 1,)
    columns: Array  # int32 (blocks,)
    blocks: Array  # float64 (blocks, 9): right of the diagonal
    diagonal: Array  # float64 (n, 6)
    cuts: Array  # int64 (PARTS + 1,): rows at which parts of about as many blocks begin
    more: Array  # float64 (PARTS - 1, n, 3): what the parts after the first make


def whole(body: FineBody, system: System) -> Whole:
    """The finest level's matrix."""
    pattern, count = body.levels[0].pattern, len(body.levels[0].lattice)
    wanted = len(pattern.columns) * np.arange(1, PARTS) / PARTS
    cuts = np.concatenate([[0], np.searchsorted(pattern.starts, wanted), [count]]).astype(np.int64)
    return Whole(
        pattern.starts,
        pattern.columns,
        system.whole,
        system.diagonal[0],
        cuts,
        np.empty((PARTS - 1, count, 3)),
    )


def square(pattern: Pattern, blocks: Array, diagonal: Array) -> csr_matrix:
    """Both halves of a level's matrix, as scipy's sparse matrix in float64."""
    from scipy import sparse

    size = 3 * len(diagonal)
    given = (blocks.reshape(-1, 3, 3).astype(float), pattern.columns, pattern.starts)
    right = sparse.bsr_matrix(given, shape=(size, size))
    own = diagonal[:, [[0, 1, 2], [1, 3, 4], [2, 4, 5]]].astype(float)
    each = np.arange(len(diagonal) + 1)
    return right + right.T + sparse.bsr_matrix((own, each[:-1], each), shape=(size, size))


def multiply(a: Whole, x: Array, y: Array) -> None:
    """y = A x."""
    _multiply((a.starts, a.columns, a.blocks, a.diagonal), a.cuts, x, y, a.more)
    for more in a.more:
        _add(more, y)


@fast_parallel
def _multiply(
    matrix: tuple[Array, Array, Array, Array], cuts: Array, x: Array, first: Array, others: Array
) -> None:
    """Each block is used where it stands and, rows for columns, on the other side of the diagonal."""
    starts, columns, a, d = matrix
    for part in prange(cuts.size - 1):
        y = first if part == 0 else others[part - 1]
        y[:] = 0.0
        for i in range(cuts[part], cuts[part + 1]):
            x0, x1, x2 = x[i, 0], x[i, 1], x[i, 2]
            s0 = d[i, 0] * x0 + d[i, 1] * x1 + d[i, 2] * x2
            s1 = d[i, 1] * x0 + d[i, 3] * x1 + d[i, 4] * x2
            s2 = d[i, 2] * x0 + d[i, 4] * x1 + d[i, 5] * x2
            for t in range(starts[i], starts[i + 1]):
                k, j = np.uint64(t), np.uint64(columns[t])
                z0, z1, z2 = x[j, 0], x[j, 1], x[j, 2]
                a0, a1, a2, a3, a4, a5 = a[k, 0], a[k, 1], a[k, 2], a[k, 3], a[k, 4], a[k, 5]
                a6, a7, a8 = a[k, 6], a[k, 7], a[k, 8]
                s0 += a0 * z0 + a1 * z1 + a2 * z2
                s1 += a3 * z0 + a4 * z1 + a5 * z2
                s2 += a6 * z0 + a7 * z1 + a8 * z2
                y[j, 0] += a0 * x0 + a3 * x1 + a6 * x2
                y[j, 1] += a1 * x0 + a4 * x1 + a7 * x2
                y[j, 2] += a2 * x0 + a5 * x1 + a8 * x2
            y[i, 0] += s0
            y[i, 1] += s1
            y[i, 2] += s2


@fast_parallel
def _add(more: Array, y: Array) -> None:
    for i in prange(y.shape[0]):
        for c in range(3):
            y[i, c] += more[i, c]
