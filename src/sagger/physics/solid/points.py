"""Points of a body that are told apart: its feet on the setter, the customer's vertices, held places."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.compiled import fast, fast_parallel, kernel, prange
from sagger.physics.solid import brick
from sagger.physics.solid.brick import CHILD
from sagger.physics.solid.levels import Level
from sagger.physics.solid.pattern import PAIRS
from sagger.physics.solid.stiffness import System
from sagger.physics.solid.topology import Pieces

Array = np.ndarray
_Level = tuple[Array, Array, Array, Array, Array]  # nodes, slots, octants, blocks, diagonal
DIAGONAL = (0, 3, 5)  # where xx, yy, zz stand in a symmetric block
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
    owner = np.full(len(small), -1, np.int64)
    reach = np.arange(-SEARCH, SEARCH + 1)
    steps = np.stack(np.meshgrid(reach, reach, reach, indexing="ij"), -1).reshape(-1, 3)
    for step in steps[np.argsort((steps**2).sum(axis=1), kind="stable")]:
        open_ = np.flatnonzero(owner < 0)
        if not len(open_):
            break
        owner[open_] = _material(pieces, small[open_] + step, s)
    lost = np.flatnonzero(owner < 0)
    if len(lost):
        from scipy.spatial import cKDTree

        owner[lost] = cKDTree(pieces.places + 0.5).query(cell_place[lost])[1]
    return Points(owner, brick.weights(2 * (cell_place - pieces.places[owner]) - 1))


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
    out = np.empty((len(points.brick), field.shape[1]))
    _carry(points.brick, points.weights, nodes, field, out)
    return out


@fast_parallel
def _carry(bricks: Array, weights: Array, nodes: Array, field: Array, out: Array) -> None:
    for p in prange(bricks.size):
        e = np.uint64(bricks[p])
        for c in range(out.shape[1]):
            total = 0.0
            for a in range(8):
                total += weights[p, a] * field[np.uint64(nodes[e, a]), c]
            out[p, c] = total


def gathered(points: Points, nodes: Array, forces: Array, count: int) -> Array:
    """Forces at the points (p, c) on the nodes: float64 (count, c)."""
    out = np.zeros((count, forces.shape[1]))
    _gather(points.brick, points.weights, nodes, forces, out)
    return out


@kernel
def _gather(bricks: Array, weights: Array, nodes: Array, forces: Array, out: Array) -> None:
    for p in range(bricks.size):
        e = np.uint64(bricks[p])
        for a in range(8):
            i = np.uint64(nodes[e, a])
            for c in range(forces.shape[1]):
                out[i, c] += weights[p, a] * forces[p, c]


def by_brick(points: Points) -> Array:
    """Order of points in which those of one brick follow each other: work on them is then done in cache."""
    return np.argsort(points.brick, kind="stable")


def stiffened(points: Points, level: Level, springs: Array, system: System) -> None:
    """Add springs along x, y, z (p, 3) [N/m] under the points to the two finest levels.

    Fastest on points in the order of `by_brick`.
    """
    fine = (level.nodes, level.pattern.slots, level.octant, system.whole, system.diagonal[0])
    coarse = system.bricks[0] if system.bricks else np.zeros((0, 576), np.float32)
    _stiffen(points.brick, points.weights, springs, fine, (level.parent, coarse))


@fast
def _stiffen(of: Array, weights: Array, springs: Array, fine: _Level, coarse: tuple[Array, Array]) -> None:
    """Springs of points in one brick are summed before they are spread."""
    own, parents, wide = np.empty((3, 8, 8)), np.empty((3, 8, 8)), np.empty((8, 8))
    p = 0
    while p < of.size:
        e, p, some = _own(of, weights, springs, p, own)
        if not some:
            continue
        _spread(e, own, fine)
        if coarse[1].shape[0] > 0:
            _wide(CHILD[fine[2][e]], own, wide, parents)
            for i in range(3):
                for a in range(8):
                    for b in range(8):
                        coarse[1][coarse[0][e], 24 * (8 * i + a) + 8 * i + b] += parents[i, a, b]


@fast
def _spread(e: int, own: Array, fine: _Level) -> None:
    nodes, slots, octants, blocks, diagonal = fine
    for i in range(3):
        for a in range(8):
            diagonal[nodes[e, a], DIAGONAL[i]] += own[i, a, a]
        for t in range(28):
            a, b = PAIRS[t, 0] ^ octants[e], PAIRS[t, 1] ^ octants[e]
            blocks[np.uint64(slots[e, t]), np.uint64(4 * i)] += own[i, a, b]


@fast
def _own(of: Array, weights: Array, springs: Array, p: int, own: Array) -> tuple[int, int, bool]:
    """Sum the springs of the brick of point p: that brick, the point after, whether there is any spring."""
    e, some = of[p], False
    own[:] = 0.0
    while p < of.size and of[p] == e:
        if springs[p, 0] != 0 or springs[p, 1] != 0 or springs[p, 2] != 0:
            some = True
            for i in range(3):
                for a in range(8):
                    part = springs[p, i] * weights[p, a]
                    for b in range(8):
                        own[i, a, b] += part * weights[p, b]
        p += 1
    return e, p, some


@fast
def _wide(child: Array, own: Array, half: Array, out: Array) -> None:
    """What springs of a child are on its parent's nodes."""
    for i in range(3):
        for a in range(8):
            for b in range(8):
                half[a, b] = 0.0
                for c in range(8):
                    half[a, b] += own[i, a, c] * child[c, b]
        for a in range(8):
            for b in range(8):
                out[i, a, b] = 0.0
                for c in range(8):
                    out[i, a, b] += child[c, a] * half[c, b]
