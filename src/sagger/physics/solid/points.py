"""Points of a body that are told apart: its feet on the setter, the customer's vertices, held places."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from sagger.physics.solid import brick
from sagger.physics.solid.brick import CHILD
from sagger.physics.solid.kernel import exact
from sagger.physics.solid.levels import Level
from sagger.physics.solid.topology import Pieces

Array = np.ndarray
SEARCH = 4  # small cubes around a point in which its material is looked for


class Points(NamedTuple):
    """Where points stand in the bricks that carry them."""

    brick: Array  # int64 (p,)
    weights: Array  # float64 (p, 8): of the brick's nodes


def located(pieces: Pieces, cell_place: Array, inward: Array | None = None) -> Points:
    """Points as weights of nodes.

    Parameters
    ----------
    cell_place : float64 (p, 3)
        In cells from the grid's origin; a point outside all material is carried by the nearest piece.
    inward : float64 (p, 3), optional
        Unit vectors into the material: which side of a narrow gap a point belongs to.
    """
    s = pieces.labels.shape[1] if len(pieces.labels) else 1
    look = cell_place if inward is None else cell_place + inward * (0.5 / s)
    small = np.floor(look * s).astype(np.int64)
    found = np.full(len(small), -1, np.int64)
    reach = np.arange(-SEARCH, SEARCH + 1)
    steps = np.stack(np.meshgrid(reach, reach, reach, indexing="ij"), -1).reshape(-1, 3)
    for step in steps[np.argsort((steps**2).sum(axis=1), kind="stable")]:
        open_ = np.flatnonzero(found < 0)
        if not len(open_):
            break
        found[open_] = _material(pieces, small[open_] + step, s)
    lost = np.flatnonzero(found < 0)
    if len(lost):
        from scipy.spatial import cKDTree

        found[lost] = cKDTree(pieces.places + 0.5).query(cell_place[lost])[1]
    return Points(found, brick.weights(2 * (cell_place - pieces.places[found]) - 1))


def _material(pieces: Pieces, small: Array, s: int) -> Array:
    """Piece that holds each small cube, -1 for none."""
    cell = small // s
    inside = np.all((cell >= 0) & (cell < np.array(pieces.at.shape)), axis=1)
    at = pieces.at[tuple(np.where(inside[:, None], cell, 0).T)]
    out = np.where(inside & (at >= 0), at, -1).astype(np.int64)
    cut = np.flatnonzero(inside & (at <= -2))
    which = -2 - at[cut]
    label = pieces.labels[(which, *(small[cut] % s).T)]
    out[cut] = np.where(label > 0, pieces.of_label[which, label], -1)
    return out


def carried(points: Points, nodes: Array, field: Array) -> Array:
    """A field of the nodes (n, c) at the points: float64 (p, c)."""
    return np.asarray(np.einsum("pa,pac->pc", points.weights, field[nodes[points.brick]]))


def gathered(points: Points, nodes: Array, forces: Array, count: int) -> Array:
    """Forces at the points (p, c) on the nodes: float64 (count, c)."""
    out = np.zeros((count, forces.shape[1]))
    shared = points.weights[:, :, None] * forces[:, None, :]
    for a in range(8):
        for c in range(forces.shape[1]):
            out[:, c] += np.bincount(nodes[points.brick, a], shared[:, a, c], minlength=count)
    return out


def stiffened(points: Points, level: Level, springs: Array, blocks: Array, bricks: Array) -> None:
    """Add springs along x, y, z (p, 3) [N/m] under the points to the two finest levels."""
    some = np.flatnonzero(springs.any(axis=1))
    which, weights, springs = points.brick[some], points.weights[some], springs[some]
    _stiffen(level.pattern.slots[which], weights, springs, blocks)
    if len(bricks):
        coarse = np.einsum("pa,pab->pb", weights, CHILD[level.octant[which]])
        _stiffen_coarse(level.parent[which], coarse, springs, bricks)


@exact
def _stiffen(slots: Any, weights: Any, springs: Any, blocks: Any) -> None:
    for p in range(springs.shape[0]):
        for a in range(8):
            for b in range(8):
                w = weights[p, a] * weights[p, b]
                for i in range(3):
                    blocks[slots[p, a, b], 4 * i] += w * springs[p, i]


@exact
def _stiffen_coarse(parents: Any, weights: Any, springs: Any, bricks: Any) -> None:
    for p in range(springs.shape[0]):
        for a in range(8):
            for b in range(8):
                w = weights[p, a] * weights[p, b]
                for i in range(3):
                    bricks[parents[p], 3 * a + i, 3 * b + i] += w * springs[p, i]
