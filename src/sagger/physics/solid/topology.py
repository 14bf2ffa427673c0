"""Which cells hold together: pieces of material inside cells, glued only across faces that carry material.

A cell that two walls pass through becomes two bricks in one place, so that a narrow gap stays a gap.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import kernel
from sagger.goods.cells import Cells
from sagger.physics.solid import brick

LEAST_SHARE = 0.01  # pieces that fill less of their cell are left out
LEAST_BODY = 1e-3  # loose pieces with less than this share of the volume are crumbs, and are left out


class Pieces(NamedTuple):
    """Pieces of material, at most one for each full cell, any number for a cut one."""

    places: np.ndarray  # int32 (m, 3): cell of the grid
    share: np.ndarray  # float64 (m,)
    points: np.ndarray  # float64 (m, 8, 3)
    links: np.ndarray  # int32 (k, 3): two pieces with material in common, and the axis along which they lie
    at: np.ndarray  # int32 (nx, ny, nz): piece of a full cell; -1 nothing; -2 - b for cut cell b
    labels: np.ndarray  # uint8 (b, s, s, s): which local piece a small cube belongs to, from 1
    of_label: np.ndarray  # int32 (b, most + 1): the piece, -1 where left out
    bodies: np.ndarray  # int32 (m,): which connected body each belongs to
    lost: float  # material left out, in cells


def pieces(cells: Cells) -> Pieces:
    """The pieces of a body, and how they hang together."""
    labels = cells.labels
    owner, label = cells.owner.T
    keep = np.flatnonzero(cells.share > LEAST_SHARE)
    full = np.argwhere(cells.full).astype(np.int32)
    at = np.full(cells.full.shape, -1, np.int32)
    at[tuple(full.T)] = np.arange(len(full))
    at[tuple(cells.cut.T)] = -2 - np.arange(len(cells.cut))
    of_label = np.full((max(len(cells.cut), 1), int(label.max(initial=1)) + 1), -1, np.int32)
    of_label[owner[keep], label[keep]] = len(full) + np.arange(len(keep))
    links = np.concatenate([_links(at, labels, of_label, axis) for axis in range(3)])
    gauss = np.broadcast_to(brick.GAUSS, (len(full), 8, 3))
    whole = Pieces(
        places=np.concatenate([full, cells.cut[owner[keep]]]).astype(np.int32),
        share=np.concatenate([np.ones(len(full)), cells.share[keep]]),
        points=np.concatenate([gauss, brick.points(cells.mean[keep], cells.spread[keep])]),
        links=links,
        at=at,
        labels=labels,
        of_label=of_label,
        bodies=np.zeros(len(full) + len(keep), np.int32),
        lost=float(cells.share[cells.share <= LEAST_SHARE].sum()),
    )
    return _without_crumbs(whole)


def _without_crumbs(all_: Pieces) -> Pieces:
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    count = len(all_.share)
    pairs = (all_.links[:, 0], all_.links[:, 1])
    graph = coo_array((np.ones(len(all_.links)), pairs), shape=(count, count))
    _, body = connected_components(graph, directed=False)
    volume = np.bincount(body, all_.share)
    big = volume > LEAST_BODY * volume.sum()
    keep = big[body]
    name = np.full(count + 1, -1, np.int32)  # the last entry is for -1
    name[:-1][keep] = np.arange(keep.sum())
    links = all_.links[keep[all_.links[:, 0]]].copy()
    links[:, :2] = name[links[:, :2]]
    at = all_.at.copy()
    at[at >= 0] = name[at[at >= 0]]
    return all_._replace(
        places=all_.places[keep],
        share=all_.share[keep],
        points=np.ascontiguousarray(all_.points[keep]),
        links=links,
        at=at,
        of_label=name[all_.of_label],
        bodies=(np.cumsum(big) - 1)[body[keep]].astype(np.int32),
        lost=all_.lost + float(all_.share[~keep].sum()),
    )


def _links(at: np.ndarray, labels: np.ndarray, of_label: np.ndarray, axis: int) -> np.ndarray:
    room = 2 * int((at != -1).sum()) + 10
    while True:
        out = np.empty((room, 3), np.int32)
        count = _link(np.moveaxis(at, axis, 0), labels, of_label, axis, out)
        if count <= room:
            return out[:count]
        room = count


@kernel
def _link(at: ndarray, labels: ndarray, of_label: ndarray, axis: int, out: ndarray) -> int:
    """Pairs of pieces that share material across faces of this axis; how many there are."""
    n, count = labels.shape[1] if labels.shape[0] else 1, 0
    seen = np.empty((64, 2), np.int64)
    for i in range(at.shape[0] - 1):
        for j in range(at.shape[1]):
            for k in range(at.shape[2]):
                one, two = at[i, j, k], at[i + 1, j, k]
                if one == -1 or two == -1:
                    continue
                known = 0
                for p in range(1 if one >= 0 and two >= 0 else n * n):
                    a = _piece(one, labels, of_label, axis, n - 1, p)
                    b = _piece(two, labels, of_label, axis, 0, p)
                    if a < 0 or b < 0 or _met(seen, known, a, b):
                        continue
                    if known < 64:
                        seen[known] = (a, b)
                        known += 1
                    if count < out.shape[0]:
                        out[count] = (a, b, axis)
                    count += 1
    return count


@kernel
def _piece(cell: int, labels: ndarray, of_label: ndarray, axis: int, layer: int, p: int) -> int:
    """Piece behind small face `p` of a cell's side; -1 for nothing."""
    if cell >= 0:
        return cell
    n = labels.shape[1]
    u, v = p // n, p % n
    if axis == 0:
        label = labels[-2 - cell, layer, u, v]
    elif axis == 1:
        label = labels[-2 - cell, u, layer, v]
    else:
        label = labels[-2 - cell, u, v, layer]
    return -1 if label == 0 else of_label[-2 - cell, label]


@kernel
def _met(seen: ndarray, known: int, a: int, b: int) -> bool:
    met = False
    for t in range(known):
        met = met or (seen[t, 0] == a and seen[t, 1] == b)
    return met


@kernel
def root(parent: ndarray, i: int) -> int:
    """The name of i's set."""
    while parent[i] != i:
        parent[i] = parent[parent[i]]
        i = parent[i]
    return i


@kernel
def join(parent: ndarray, a: int, b: int) -> None:
    """Make one set of two."""
    a, b = root(parent, a), root(parent, b)
    if a < b:
        parent[b] = a
    elif b < a:
        parent[a] = b


@kernel
def named(parent: ndarray) -> tuple[ndarray, int]:
    """Sets numbered from 0 in the order in which they are met, and how many there are."""
    name, out, count = np.full(parent.size, -1, np.int32), np.empty(parent.size, np.int32), 0
    for i in range(parent.size):
        r = root(parent, i)
        if name[r] < 0:
            name[r] = count
            count += 1
        out[i] = name[r]
    return out, count


@kernel
def glued(count: int, links: ndarray) -> tuple[ndarray, int]:
    """Nodes (count, 8) of pieces whose faces are glued where they are linked, and how many nodes."""
    parent = np.arange(8 * count).astype(np.int32)
    for t in range(links.shape[0]):
        bit = 4 >> links[t, 2]
        for a in range(8):
            if a & bit:
                join(parent, 8 * links[t, 0] + a, 8 * links[t, 1] + (a ^ bit))
    nodes, total = named(parent)
    return nodes.reshape(count, 8), total


@kernel
def grouped(places: ndarray, links: ndarray) -> tuple[ndarray, int]:
    """The coarse piece that each piece becomes part of: linked ones in one block of eight cells."""
    parent = np.arange(places.shape[0]).astype(np.int32)
    for t in range(links.shape[0]):
        a, b = links[t, 0], links[t, 1]
        if (
            places[a, 0] >> 1 == places[b, 0] >> 1
            and places[a, 1] >> 1 == places[b, 1] >> 1
            and places[a, 2] >> 1 == places[b, 2] >> 1
        ):
            join(parent, a, b)
    return named(parent)
