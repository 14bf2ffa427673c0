"""Ties between nodes that share no brick, as the sweeps of the levels see them: each node for itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sagger.physics.solid.levels import Level
from sagger.physics.solid.stiffness import FineBody, System, inverted

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Array = np.ndarray
UPPER = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))


def spread(body: FineBody, system: System, bonds: csr_matrix) -> csr_matrix:
    """Ties (k, 3 n) added to what sweeps take for the diagonal; as the coarsest level's nodes see them."""
    for depth, level in enumerate(body.levels):
        _stiffened(system.diagonal[depth], bonds, system.inverse[depth])
        if depth < len(body.levels) - 1:
            bonds = _coarser(level, bonds, len(body.levels[depth + 1].lattice))
    return bonds


def _stiffened(diagonal: Array, bonds: csr_matrix, inverse: Array) -> None:
    tied = bonds.tocoo()
    nodes = np.unique(tied.col // 3)
    at = np.searchsorted(nodes, tied.col // 3)
    rows = np.zeros((bonds.shape[0], 3, len(nodes)))
    np.add.at(rows, (tied.row, tied.col % 3, at), tied.data)
    own = np.ascontiguousarray(diagonal[nodes].astype(float))
    for k, (i, j) in enumerate(UPPER):
        own[:, k] += (rows[:, i] * rows[:, j]).sum(axis=0)
    out = np.empty(own.shape, np.float32)
    inverted(own, out)
    inverse[nodes] = out


def _coarser(level: Level, bonds: csr_matrix, count: int) -> csr_matrix:
    """The same ties (k, 3 n) on the nodes of the next level."""
    from scipy import sparse

    tied = bonds.tocoo()
    up, share = level.up[tied.col // 3], level.up_weights[tied.col // 3].astype(float)
    columns = np.where(up >= 0, 3 * up.astype(np.int64) + (tied.col % 3)[:, None], 0)
    rows = np.repeat(tied.row, up.shape[1])
    values = np.where(up >= 0, share * tied.data[:, None], 0.0)
    out = sparse.coo_matrix((values.ravel(), (rows, columns.ravel())), shape=(bonds.shape[0], 3 * count))
    return out.tocsr()
