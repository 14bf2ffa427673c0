"""Where the blocks of a level's matrix stand: three rows by three for each two nodes that share a brick."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import fast_parallel, kernel, prange


class Pattern(NamedTuple):
    """Where the blocks of a symmetric sparse matrix stand that lie right of its diagonal; and left of it."""

    starts: np.ndarray  # int64 (n + 1,)
    columns: np.ndarray  # int32 (blocks,), rising in each row
    left_starts: np.ndarray  # int64 (n + 1,)
    left_columns: np.ndarray  # int32 (blocks,)
    mirror: np.ndarray  # int32 (blocks,): of each block on the left, the one on the right
    slots: np.ndarray  # int32 (m, 28): block on the right of each pair of a brick's nodes, see `PAIRS`


# nodes are numbered colour by colour: of a brick in octant o, corner a has colour a ^ o
PAIRS = np.array([(a, b) for a in range(8) for b in range(a + 1, 8)])  # (28, 2) colours of two nodes


def pattern(nodes: np.ndarray, octant: np.ndarray, count: int) -> Pattern:
    """Blocks of all pairs of nodes that share a brick."""
    around = np.argsort(nodes.ravel(), kind="stable").astype(np.int64) // 8
    first = np.concatenate([[0], np.cumsum(np.bincount(nodes.ravel(), minlength=count))])
    sizes = np.zeros(count + 1, np.int64)
    _rows(nodes, around, first, sizes, np.empty(0, np.int32))
    starts = np.cumsum(sizes)
    columns = np.empty(starts[-1], np.int32)
    _rows(nodes, around, first, starts, columns)
    left_starts = np.concatenate([[0], np.cumsum(np.bincount(columns, minlength=count))]).astype(np.int64)
    left_columns, mirror = np.empty_like(columns), np.empty_like(columns)
    _mirror(starts, columns, left_starts.copy(), left_columns, mirror)
    slots = np.empty((len(nodes), 28), np.int32)
    _slots(nodes, octant, starts, columns, slots)
    return Pattern(starts, columns, left_starts, left_columns, mirror, slots)


@fast_parallel
def _rows(nodes: ndarray, around: ndarray, first: ndarray, starts: ndarray, columns: ndarray) -> None:
    """Sizes of rows into `starts` if there is no room for columns yet; else the columns."""
    count = first.size - 1
    for part in prange(64):
        row = np.empty(512, np.int32)
        for i in range(count * part // 64, count * (part + 1) // 64):
            size = _neighbours(i, nodes, around, first, row)
            if columns.size == 0:
                starts[i + 1] = size
            else:
                columns[starts[i] : starts[i + 1]] = np.sort(row[:size])


@kernel
def _neighbours(i: int, nodes: ndarray, around: ndarray, first: ndarray, row: ndarray) -> int:
    size = 0
    for t in range(first[i], first[i + 1]):
        for b in range(8):
            j = nodes[around[t], b]
            known = j <= i
            for k in range(size):
                known = known or row[k] == j
            if not known:
                row[size] = j
                size += 1
    return size


@kernel
def _mirror(starts: ndarray, columns: ndarray, ends: ndarray, left: ndarray, mirror: ndarray) -> None:
    for i in range(starts.size - 1):
        for t in range(starts[i], starts[i + 1]):
            at = ends[columns[t]]
            left[at], mirror[at] = i, t
            ends[columns[t]] += 1


@fast_parallel
def _slots(nodes: ndarray, octant: ndarray, starts: ndarray, columns: ndarray, out: ndarray) -> None:
    for e in prange(nodes.shape[0]):
        for t in range(28):
            i, j = nodes[e, PAIRS[t, 0] ^ octant[e]], nodes[e, PAIRS[t, 1] ^ octant[e]]
            low, high = starts[i], starts[i + 1]
            out[e, t] = low + np.searchsorted(columns[low:high], j)
