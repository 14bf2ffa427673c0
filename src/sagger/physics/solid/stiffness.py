"""Stiffness of a whole body on all levels, and the forces that a first guess leaves over."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.compiled import fast, fast_parallel, prange
from sagger.physics.solid import coarser, element, strip
from sagger.physics.solid.levels import Level

Array = np.ndarray
_Pair = tuple[Array, Array]


class FineBody(NamedTuple):
    """The body as the finest level sees it."""

    nodes: Array  # int32 (m, 8)
    points: Array  # float64 (m, 8, 3)
    share: Array  # float64 (m,)
    levels: tuple[Level, ...]


class StepModuli(NamedTuple):
    """Of each brick, for one step: moduli of the increment, and the stress that makes it shrink."""

    shear: Array  # float64 (m,) [Pa]
    bulk: Array  # float64 (m,) [Pa]
    local: Array  # float64 (m,): bulk stiffness that acts on the full strain [Pa]
    pull: Array  # float64 (m, 3): stress along x, y, z, tension positive [Pa]


class System(NamedTuple):
    """Matrices of all levels. They are symmetric: of each pair of blocks only the one right of the diagonal
    is summed; the sweeps of a level read its float32 copy and the other one's.

    Slender parts bend a thousand times more easily than they stretch: residuals need float64.
    """

    whole: Array  # float64 (blocks, 9): of the finest level, for residuals
    diagonal: tuple[Array, ...]  # float64 (n, 6): blocks on the diagonal, 00, 01, 02, 11, 12, 22
    right: tuple[Array, ...]  # float32 (blocks, 9)
    left: tuple[Array, ...]  # float32 (blocks, 9)
    inverse: tuple[Array, ...]  # float32 (n, 6): of the blocks on the diagonal
    bricks: tuple[Array, ...]  # float32 (m, 576): of levels 1, 2, …
    force: Array  # float64 (n, 3): force that the guess leaves over [N]
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
    diagonal: Array
    coarse: Array
    force: Array
    volume: Array


def room(body: FineBody) -> System:
    """Empty matrices for a body."""
    levels = body.levels
    blocks = [(len(level.pattern.columns), 9) for level in levels]
    nodes = [(len(level.lattice), 6) for level in levels]
    return System(
        whole=np.empty(blocks[0]),
        diagonal=tuple(np.empty(size) for size in nodes),
        right=tuple(np.empty(size, np.float32) for size in blocks),
        left=tuple(np.empty(size, np.float32) for size in blocks),
        inverse=tuple(np.empty(size, np.float32) for size in nodes),
        bricks=tuple(np.empty((len(level.nodes), 576), np.float32) for level in levels[1:]),
        force=np.empty((len(levels[0].lattice), 3)),
        volume=np.empty(len(body.nodes)),
    )


def assemble(body: FineBody, place: Array, moduli: StepModuli, guess: Array, system: System) -> None:
    """Fill the two finest levels of `system`, and `force`: what pull and stiffness make of the guess.

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
    coarse = system.bricks[0] if system.bricks else np.zeros((0, 576), np.float32)
    out = _Out(system.whole, system.diagonal[0], coarse, system.force, system.volume)
    for each in out[:4]:
        cleared(each)
    for wave in slabs.waves:
        _assemble(parts, wave, (place, guess), moduli, out)


@fast_parallel
def cleared(a: Array) -> None:
    for i in prange(a.shape[0]):
        a[i] = 0


@fast_parallel
def _assemble(parts: _Fine, wave: Array, moved: _Pair, moduli: StepModuli, out: _Out) -> None:
    for w in prange(wave.size):
        _slab(parts, wave[w], moved, moduli, out, (strip.scratch(), coarser.room()))


@fast
def _slab(
    parts: _Fine, slab: int, moved: _Pair, moduli: StepModuli, out: _Out, rooms: tuple[Array, _Pair]
) -> None:
    """Bricks of a slab. Rooms are made outside: made here, the compiled loop takes half as long again."""
    for t in range(parts.starts[slab], parts.starts[slab + 1]):
        _brick(parts.order[t], parts, moved, moduli, out, rooms)


@fast
def _brick(
    e: int, parts: _Fine, moved: _Pair, moduli: StepModuli, out: _Out, rooms: tuple[Array, _Pair]
) -> None:
    s, nodes, octant = rooms[0], parts.nodes[e], parts.octant[e]
    strip.standing(nodes, moved[0], s, strip.CORNERS)
    strip.standing(nodes, moved[1], s, strip.GUESS)
    out.volume[e] = element.stiffness(
        parts.points[e], parts.share[e], moduli.shear[e], moduli.bulk[e], moduli.local[e], s
    )
    element.resistance(strip.GUESS, strip.FORCE, s)
    for a in range(8):
        for i in range(3):
            pulled = moduli.pull[e, i] * s[strip.MEAN + 8 * i + a]
            out.force[nodes[a], i] -= s[strip.FORCE + 8 * i + a] + pulled
    k = s[strip.STIFF : strip.STIFF + 576]
    _add(nodes, parts.slots[e], octant, k, out.blocks, out.diagonal)
    if out.coarse.shape[0] > 0:
        fine = rooms[1][0]
        for r in range(576):
            fine[r] = k[r]
        coarser.coarsened(octant, rooms[1], out.coarse[parts.parent[e]])


@fast
def _add(nodes: Array, slots: Array, octant: int, k: Array, blocks: Array, diagonal: Array) -> None:
    """Scatter a brick's matrix; unsigned places spare the check for negative ones."""
    t = 0
    for one in range(8):
        a = (one ^ octant) & 7  # known not to be negative
        n = np.uint64(nodes[a])
        diagonal[n, 0] += k[25 * a]
        diagonal[n, 1] += k[25 * a + 8]
        diagonal[n, 2] += k[25 * a + 16]
        diagonal[n, 3] += k[25 * a + 200]
        diagonal[n, 4] += k[25 * a + 208]
        diagonal[n, 5] += k[25 * a + 400]
        for other in range(one + 1, 8):
            slot, b = np.uint64(slots[t]), (other ^ octant) & 7
            for i in range(3):
                for j in range(3):
                    blocks[slot, np.uint64(3 * i + j)] += k[24 * (8 * i + a) + 8 * j + b]
            t += 1


def complete(body: FineBody, system: System) -> None:
    """Fill the coarser levels from the two finest, and what sweeps need besides."""
    for depth, level in enumerate(body.levels):
        if depth > 1:
            _gather(body.levels[depth - 1], system.bricks[depth - 2], system.bricks[depth - 1])
        if depth > 0:
            cleared(system.right[depth])
            cleared(system.diagonal[depth])
            _spread(level, system.bricks[depth - 1], system.right[depth], system.diagonal[depth])
        else:
            _rounded(system.whole, system.right[0])
        sides = (level.pattern.mirror, system.right[depth], system.left[depth])
        _turned(level.pattern.left_starts, level.colours, *sides)
        inverted(system.diagonal[depth], system.inverse[depth])


def _gather(level: Level, fine: Array, coarse: Array) -> None:
    _gathered(level.children, level.child_starts, level.octant, fine, coarse)


@fast_parallel
def _gathered(children: Array, starts: Array, octant: Array, fine: Array, coarse: Array) -> None:
    for part in prange(64):
        rooms = coarser.room()
        for p in range(coarse.shape[0] * part // 64, coarse.shape[0] * (part + 1) // 64):
            coarse[p] = 0
            for t in range(starts[p], starts[p + 1]):
                rooms[0][:] = fine[children[t]]
                coarser.coarsened(octant[children[t]], rooms, coarse[p])


def _spread(level: Level, bricks: Array, blocks: Array, diagonal: Array) -> None:
    for wave in level.slabs.waves:
        places = (level.nodes, level.pattern.slots, level.octant)
        _spread_wave((level.slabs.order, level.slabs.starts), wave, places, bricks, blocks, diagonal)


@fast_parallel
def _spread_wave(
    slabs: _Pair,
    wave: Array,
    places: tuple[Array, Array, Array],
    bricks: Array,
    blocks: Array,
    diagonal: Array,
) -> None:
    order, starts = slabs
    for w in prange(wave.size):
        for t in range(starts[wave[w]], starts[wave[w] + 1]):
            e = order[t]
            _add(places[0][e], places[1][e], places[2][e], bricks[e], blocks, diagonal)


@fast_parallel
def _rounded(whole: Array, out: Array) -> None:
    for t in prange(whole.shape[0]):
        for c in range(9):
            out[t, c] = whole[t, c]


@fast_parallel
def _turned(starts: Array, colours: Array, mirror: Array, right: Array, left: Array) -> None:
    """Blocks on the left: those on the right, rows for columns. A share of each colour is a part of space."""
    for part in prange(64):
        for colour in range(8):
            first, count = colours[colour], colours[colour + 1] - colours[colour]
            for t in range(starts[first + count * part // 64], starts[first + count * (part + 1) // 64]):
                k = np.uint64(mirror[t])
                left[t, 0], left[t, 1], left[t, 2] = right[k, 0], right[k, 3], right[k, 6]
                left[t, 3], left[t, 4], left[t, 5] = right[k, 1], right[k, 4], right[k, 7]
                left[t, 6], left[t, 7], left[t, 8] = right[k, 2], right[k, 5], right[k, 8]


@fast_parallel
def inverted(diagonal: Array, out: Array) -> None:
    """Inverse of each symmetric block on the diagonal: 00, 01, 02, 11, 12, 22."""
    for i in prange(diagonal.shape[0]):
        k = diagonal[i]
        a, b, c, d, e, f = k[0], k[1], k[2], k[3], k[4], k[5]
        more = 1e-9 * (a + d + f)
        a, d, f = a + more, d + more, f + more
        c00, c01, c02 = d * f - e * e, c * e - b * f, b * e - c * d
        det = a * c00 + b * c01 + c * c02
        out[i, 0], out[i, 1], out[i, 2] = c00 / det, c01 / det, c02 / det
        out[i, 3], out[i, 4], out[i, 5] = (a * f - c * c) / det, (b * c - a * e) / det, (a * d - b * b) / det
