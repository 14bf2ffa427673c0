"""Stiffness of a whole body on all levels, and the forces that a first guess leaves over."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from sagger.physics.solid import element
from sagger.physics.solid.brick import CHILD
from sagger.physics.solid.kernel import kernel, prange, shared
from sagger.physics.solid.levels import Level, Slabs

Array = np.ndarray


class Body(NamedTuple):
    """The body as the finest level sees it."""

    nodes: Array  # int32 (m, 8)
    points: Array  # float64 (m, 8, 3)
    share: Array  # float64 (m,)
    levels: tuple[Level, ...]


class Moduli(NamedTuple):
    """Of each brick, for one step: moduli of the increment, and the stress that makes it shrink."""

    shear: Array  # float64 (m,) [Pa]
    bulk: Array  # float64 (m,) [Pa]
    local: Array  # float64 (m,): bulk stiffness that acts on the full strain [Pa]
    pull: Array  # float64 (m, 3): stress along x, y, z, tension positive [Pa]


class System(NamedTuple):
    """Matrices of all levels: blocks (blocks, 9) float32, and bricks (m, 24, 24) of the coarser ones.

    Slender parts bend a thousand times more easily than they stretch: residuals need float64.
    """

    whole: Array  # float64 (blocks, 9): of the finest level, for residuals
    blocks: tuple[Array, ...]
    bricks: tuple[Array, ...]  # of levels 1, 2, …
    inverse: tuple[Array, ...]  # float32 (n, 6): of the blocks on the diagonal
    left: Array  # float64 (n, 3): force that the guess leaves over [N]
    volume: Array  # float64 (m,) [m3]


class _Fine(NamedTuple):
    nodes: Array
    points: Array
    share: Array
    slots: Array
    parent: Array
    octant: Array
    order: Array
    starts: Array


class _Out(NamedTuple):
    blocks: Array
    coarse: Array
    left: Array
    volume: Array


def room(body: Body) -> System:
    """Empty matrices for a body."""
    levels = body.levels
    return System(
        whole=np.zeros((len(levels[0].pattern.columns), 9)),
        blocks=tuple(np.zeros((len(each.pattern.columns), 9), np.float32) for each in levels),
        bricks=tuple(np.zeros((len(each.nodes), 24, 24), np.float32) for each in levels[1:]),
        inverse=tuple(np.zeros((len(each.lattice), 6), np.float32) for each in levels),
        left=np.zeros((len(levels[0].lattice), 3)),
        volume=np.zeros(len(body.nodes)),
    )


def assemble(body: Body, place: Array, moduli: Moduli, guess: Array, system: System) -> None:
    """Fill the two finest levels of `system`, and `left`: what pull and stiffness make of the guess.

    Parameters
    ----------
    place : float64 (n, 3)
        Of the nodes, in the middle of the step [m].
    guess : float64 (n, 3)
        Displacement in the step that is taken off beforehand [m].
    """
    fine = body.levels[0]
    slabs = fine.slabs
    cut = (body.points, body.share)
    parts = _Fine(body.nodes, *cut, fine.pattern.slots, fine.parent, fine.octant, slabs.order, slabs.starts)
    coarse = system.bricks[0] if system.bricks else np.zeros((0, 24, 24), np.float32)
    out = _Out(system.whole, coarse, system.left, system.volume)
    out.blocks[:], out.coarse[:], out.left[:] = 0, 0, 0
    for wave in slabs.waves:
        _assemble(parts, wave, (place, guess), moduli, out)


@shared
def _assemble(parts: Any, wave: Any, moved: Any, moduli: Any, out: Any) -> None:
    for w in prange(wave.size):
        _slab(parts, wave[w], moved, moduli, out, element.scratch())


@kernel
def _slab(parts: Any, slab: int, moved: Any, moduli: Any, out: Any, s: Any) -> None:
    """Bricks of a slab. Room `s` is made outside: made here, the compiled loop takes half as long again."""
    for t in range(parts.starts[slab], parts.starts[slab + 1]):
        _brick(parts.order[t], parts, moved, moduli, out, s)


@kernel
def _brick(e: int, parts: Any, moved: Any, moduli: Any, out: Any, s: Any) -> None:
    for a in range(8):
        for i in range(3):
            s.corners[a, i] = moved[0][parts.nodes[e, a], i]
    out.volume[e] = element.stiffness(
        parts.points[e], parts.share[e], moduli.shear[e], moduli.bulk[e], moduli.local[e], s
    )
    _mirror(s.stiff)
    _add(parts.slots[e], s.stiff, out.blocks)
    _leave(parts.nodes[e], moduli.pull[e], moved[1], s, out.left)
    if out.coarse.shape[0] > 0:
        element.coarsened(s.stiff, CHILD[parts.octant[e]], s.half, s.other, out.coarse[parts.parent[e]])


@kernel
def _mirror(k: Any) -> None:
    for r in range(24):
        for c in range(r):
            k[r, c] = k[c, r]


@kernel
def _add(slots: Any, k: Any, blocks: Any) -> None:
    """Scatter a brick's matrix; unsigned places spare the check for negative ones."""
    for a in range(8):
        for b in range(8):
            slot = np.uint64(slots[a, b])
            for i in range(3):
                for j in range(3):
                    blocks[slot, np.uint64(3 * i + j)] += k[3 * a + i, 3 * b + j]


@kernel
def _leave(nodes: Any, pull: Any, guess: Any, s: Any, left: Any) -> None:
    """Take the brick's forces off: pull, and stiffness times the guess."""
    for a in range(8):
        for i in range(3):
            force = pull[i] * s.mean[a, i]
            for b in range(8):
                for j in range(3):
                    force += s.stiff[3 * a + i, 3 * b + j] * guess[nodes[b], j]
            left[nodes[a], i] -= force


def complete(body: Body, system: System) -> None:
    """Fill the coarser levels from the two finest, and invert the diagonals."""
    system.blocks[0][:] = system.whole
    for depth, level in enumerate(body.levels):
        if depth > 1:
            above = body.levels[depth - 1]
            _gather(above, system.bricks[depth - 2], system.bricks[depth - 1])
        if depth > 0:
            _spread(level.slabs, level.pattern.slots, system.bricks[depth - 1], system.blocks[depth])
        _invert(level.pattern.middle, system.blocks[depth], system.inverse[depth])


def _gather(level: Level, fine: Array, coarse: Array) -> None:
    _gathered(level.children, level.child_starts, level.octant, fine, coarse)


@shared
def _gathered(children: Any, starts: Any, octant: Any, fine: Any, coarse: Any) -> None:
    for p in prange(coarse.shape[0]):
        half, other = np.empty((24, 24)), np.empty((24, 24))
        coarse[p] = 0
        for t in range(starts[p], starts[p + 1]):
            c = children[t]
            element.coarsened(fine[c], CHILD[octant[c]], half, other, coarse[p])


def _spread(slabs: Slabs, slots: Array, bricks: Array, blocks: Array) -> None:
    blocks[:] = 0
    for wave in slabs.waves:
        _spread_wave(slabs.order, slabs.starts, wave, slots, bricks, blocks)


@shared
def _spread_wave(order: Any, starts: Any, wave: Any, slots: Any, bricks: Any, blocks: Any) -> None:
    for w in prange(wave.size):
        for t in range(starts[wave[w]], starts[wave[w] + 1]):
            _add(slots[order[t]], bricks[order[t]], blocks)


@shared
def _invert(middle: Any, blocks: Any, out: Any) -> None:
    """Inverse of each symmetric block on the diagonal: 00, 01, 02, 11, 12, 22."""
    for i in prange(middle.size):
        k = blocks[middle[i]]
        a, b, c = np.float64(k[0]), np.float64(k[1]), np.float64(k[2])
        d, e, f = np.float64(k[4]), np.float64(k[5]), np.float64(k[8])
        more = 1e-9 * (a + d + f)
        a, d, f = a + more, d + more, f + more
        c00, c01, c02 = d * f - e * e, c * e - b * f, b * e - c * d
        det = a * c00 + b * c01 + c * c02
        out[i, 0], out[i, 1], out[i, 2] = c00 / det, c01 / det, c02 / det
        out[i, 3], out[i, 4], out[i, 5] = (a * f - c * c) / det, (b * c - a * e) / det, (a * d - b * b) / det
