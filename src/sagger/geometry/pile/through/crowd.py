"""Shapes on a lattice, some perhaps reaching into each other: who does, how far, and how high they stand.

Arrays run [y, x, z] in steps of the lattice; ways out are those of `tables`, in steps of its rise.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.through.tables import PairTables

ONCE = 16  # weight of a pair at first


class Crowd(NamedTuple):
    """Where n shapes lie; changed in place."""

    pose: ndarray  # int64 (n,)
    at: ndarray  # int64 (n, 3): lower corner
    weight: ndarray  # int32 (n, n), symmetric: how much the way out of a pair counts, in shares of `ONCE`
    depth: ndarray  # int32 (n, n), symmetric: way out of each pair


class Turns(NamedTuple):
    """Which poses each shape may take, and which shapes may move."""

    kind: ndarray  # int64 (n,)
    first: ndarray  # int64 (kinds + 1,): shapes of kind k may take poses[first[k] : first[k + 1]]
    poses: ndarray  # int64
    free: ndarray  # bool (n,)


def crowd(tables: PairTables, pose: ndarray, at: ndarray) -> Crowd:
    """Shapes where they are said to lie, all pairs of equal weight."""
    count = len(pose)
    made = Crowd(
        pose.astype(np.int64),
        at.astype(np.int64, order="C"),  # one layout in memory, so that moves are compiled once
        np.full((count, count), ONCE, dtype=np.int32),
        np.zeros((count, count), dtype=np.int32),
    )
    measure(tables, made)
    return made


@checked
def way_out(t: PairTables, a: int, b: int, dy: int, dx: int, dz: int) -> int:
    """Least way out of pose a, this far from pose b."""
    y, x, z = dy + t.origin[a, b, 0], dx + t.origin[a, b, 1], dz + t.origin[a, b, 2]
    if y < 0 or x < 0 or z < 0:
        return 0
    if y >= t.size[a, b, 0] or x >= t.size[a, b, 1] or z >= t.size[a, b, 2]:
        return 0
    return int(t.pool[t.start[a, b] + (y * t.size[a, b, 1] + x) * t.size[a, b, 2] + z])


@checked
def between(t: PairTables, c: Crowd, i: int, j: int) -> int:
    """Least way out of two shapes of the crowd."""
    dy, dx, dz = c.at[i, 0] - c.at[j, 0], c.at[i, 1] - c.at[j, 1], c.at[i, 2] - c.at[j, 2]
    return way_out(t, c.pose[i], c.pose[j], dy, dx, dz)


@checked
def measure(t: PairTables, c: Crowd) -> int:
    """Write the ways out of all pairs down; their sum."""
    total = 0
    for i in range(c.pose.shape[0]):
        for j in range(i):
            much = between(t, c, i, j)
            c.depth[i, j] = c.depth[j, i] = much
            total += much
    return total


@checked
def measure_one(t: PairTables, c: Crowd, i: int) -> None:
    """Write the ways out of one shape down."""
    for j in range(c.pose.shape[0]):
        if j != i:
            c.depth[i, j] = c.depth[j, i] = between(t, c, i, j)


@checked
def top(t: PairTables, c: Crowd) -> int:
    """Top of the highest shape."""
    high = 0
    for i in range(c.pose.shape[0]):
        high = max(high, c.at[i, 2] + t.cells[c.pose[i], 2])
    return high


@checked
def sink(t: PairTables, c: Crowd, free: ndarray) -> None:
    """Let free shapes straight down, the lowest first, until none can sink a step without meeting another."""
    moved = True
    while moved:
        moved = False
        for i in np.argsort(c.at[:, 2]):
            while free[i] and c.at[i, 2] > 0:
                c.at[i, 2] -= 1
                if _meets(t, c, i):
                    c.at[i, 2] += 1
                    break
                moved = True


@checked
def _meets(t: PairTables, c: Crowd, i: int) -> bool:
    met = False
    for j in range(c.pose.shape[0]):
        met = met or (j != i and between(t, c, i, j) > 0)
    return met
