"""The grid and its coarser copies, with everything about them that does not change while the body moves."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.physics.solid.brick import BITS, CHILD
from sagger.physics.solid.pattern import Pattern, pattern
from sagger.physics.solid.topology import glued, grouped

COARSEST = 200  # nodes: solved directly
MOST_LEVELS = 9
STALLED = 0.75  # a coarser level with more than this share of nodes is not worth having


class Slabs(NamedTuple):
    """Bricks in groups that threads may work on at once: all even ones, then all odd ones."""

    order: np.ndarray  # int32 (m,): bricks by slab, in space inside it
    starts: np.ndarray  # int64 (slabs + 1,)
    waves: tuple[np.ndarray, np.ndarray]  # int64: slabs that share no node


class Level(NamedTuple):
    nodes: np.ndarray  # int32 (m, 8), numbered colour by colour
    lattice: np.ndarray  # int32 (n, 3): corner of the grid at which each node stands
    colours: np.ndarray  # int64 (9,): where each of eight colours begins
    pattern: Pattern
    slabs: Slabs
    parent: np.ndarray  # int32 (m,): brick of the next level; empty on the last
    octant: np.ndarray  # int32 (m,): which corner of a block of eight cells it lies in
    children: np.ndarray  # int32 (m,): bricks by parent
    child_starts: np.ndarray  # int64 (parents + 1,)
    up: np.ndarray  # int32 (n, 8): nodes of the next level, -1 where the weight is 0
    up_weights: np.ndarray  # float32 (n, 8)
    down_starts: np.ndarray  # int64 (coarse nodes + 1,): the same the other way round
    down: np.ndarray  # int32
    down_weights: np.ndarray  # float32


def levels(places: np.ndarray, links: np.ndarray) -> tuple[Level, ...]:
    """The finest level and as many coarser ones as shrink it."""
    grids = [_level(places, links)]
    while len(grids[-1].lattice) > COARSEST and len(grids) < MOST_LEVELS:
        fine = grids[-1]
        parent, count = grouped(places, links)
        blocks = np.empty((count, 3), np.int32)
        blocks[parent] = places >> 1
        bonds = np.column_stack([parent[links[:, 0]], parent[links[:, 1]], links[:, 2]])
        bonds = np.unique(bonds[bonds[:, 0] != bonds[:, 1]], axis=0).astype(np.int32).reshape(-1, 3)
        coarse = _level(blocks, bonds)
        if len(coarse.lattice) > STALLED * len(fine.lattice):
            break
        grids[-1] = _joined(fine, coarse, parent)
        grids.append(coarse)
        places, links = blocks, bonds
    return tuple(grids)


def _level(places: np.ndarray, links: np.ndarray) -> Level:
    nodes, count = glued(len(places), links)
    lattice = np.zeros((count, 3), np.int32)
    for a in range(8):
        lattice[nodes[:, a]] = places + BITS[a]
    colour = (lattice & 1) @ np.array([4, 2, 1])
    order = np.lexsort((lattice[:, 2], lattice[:, 1], lattice[:, 0], colour))
    name = np.empty(count, np.int32)
    name[order] = np.arange(count, dtype=np.int32)
    nodes = np.ascontiguousarray(name[nodes])
    octant = ((places & 1) @ np.array([4, 2, 1])).astype(np.int32)
    none, nowhere = np.zeros(0, np.int32), np.zeros(0, np.int64)
    return Level(
        nodes=nodes,
        lattice=lattice[order],
        colours=np.concatenate([[0], np.cumsum(np.bincount(colour, minlength=8))]),
        pattern=pattern(nodes, octant, count),
        slabs=_slabs(places),
        parent=none,
        octant=octant,
        children=none,
        child_starts=nowhere,
        up=none.reshape(0, 8),
        up_weights=np.zeros((0, 8), np.float32),
        down_starts=nowhere,
        down=none,
        down_weights=np.zeros(0, np.float32),
    )


def _slabs(places: np.ndarray) -> Slabs:
    """Two layers of cells across x to a slab, so that parents belong to one slab too."""
    order = np.lexsort((places[:, 2], places[:, 1], places[:, 0])).astype(np.int32)
    slab = places[order, 0] >> 1
    starts = np.concatenate([[0], np.flatnonzero(np.diff(slab)) + 1, [len(order)]]).astype(np.int64)
    kinds = slab[starts[:-1]] & 1
    sizes = np.diff(starts)
    return Slabs(order, starts, (_dealt(sizes, kinds == 0), _dealt(sizes, kinds == 1)))


def _dealt(sizes: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """The chosen slabs so ordered that both halves of the list hold about as much work."""
    slabs = np.flatnonzero(chosen)
    slabs = slabs[np.argsort(-sizes[slabs], kind="stable")]
    first = np.arange(len(slabs)) % 4 % 3 == 0  # 1st, 4th, 5th, 8th, …
    return np.concatenate([slabs[first], slabs[~first]]).astype(np.int64)


def _joined(fine: Level, coarse: Level, parent: np.ndarray) -> Level:
    """The fine level with its ways up to the coarse one and down from it."""
    count, size = len(fine.lattice), len(fine.nodes)
    some_brick, its_corner = np.empty(count, np.int64), np.empty(count, np.int64)
    for a in range(8):
        some_brick[fine.nodes[:, a]] = np.arange(size)
        its_corner[fine.nodes[:, a]] = a
    weights = CHILD[fine.octant[some_brick], its_corner].astype(np.float32)
    up = np.where(weights > 0, coarse.nodes[parent[some_brick]], -1).astype(np.int32)
    rows, columns = np.nonzero(weights)
    targets = up[rows, columns]
    by_target = np.argsort(targets, kind="stable")
    per_target = np.bincount(targets, minlength=len(coarse.lattice))
    return fine._replace(
        parent=parent,
        children=np.argsort(parent, kind="stable").astype(np.int32),
        child_starts=np.concatenate([[0], np.cumsum(np.bincount(parent))]).astype(np.int64),
        up=up,
        up_weights=weights,
        down_starts=np.concatenate([[0], np.cumsum(per_target)]).astype(np.int64),
        down=rows[by_target].astype(np.int32),
        down_weights=weights[rows, columns][by_target],
    )
