"""Solving the equations of one step: conjugate gradients, each residual smoothed on all levels.

One V-cycle: a forward sweep of block Gauss-Seidel in eight colours from nothing, the coarser levels, a
backward sweep. From nothing, the forward sweep reads only the blocks left of the diagonal and the residual
only those right of it: each side stands in memory by itself, so that both together read the matrix once.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sagger.compiled import fast_inner, fast_parallel, prange
from sagger.errors import LawError
from sagger.physics.solid import bonded
from sagger.physics.solid.levels import Level
from sagger.physics.solid.pattern import Pattern
from sagger.physics.solid.product import Whole, multiply, square, whole
from sagger.physics.solid.stiffness import FineBody, System

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Array = np.ndarray
_Number = float | np.float32
_Triple = tuple[_Number, _Number, _Number]
_Half = tuple[Array, Array, Array]  # of a matrix: starts of its rows, columns, blocks
MOST_ITERATIONS = 600
DENSE = 700  # nodes of the coarsest level up to which a dense factor is cheaper than a sparse one


class LevelGrid(NamedTuple):
    """One level with its matrix and room to work in (float32)."""

    level: Level
    left: Array
    right: Array
    inverse: Array
    x: Array
    b: Array
    r: Array


class Solver(NamedTuple):
    grids: tuple[LevelGrid, ...]
    whole: Whole
    coarsest: Callable[[Array], Array]
    modes: Array  # float64 (k, 3 n): motions of the whole body that are held back; may be empty
    hold: float  # stiffness against them [N/m]
    bonds: (
        csr_matrix | None
    )  # scipy's sparse matrix (k, 3 n) [sqrt(N/m)]: its square is added to the matrix; None: none


class Solved(NamedTuple):
    x: Array  # float64 (n, 3)
    iterations: int


def solver(
    body: FineBody,
    system: System,
    modes: Array | None = None,
    hold: float = 0.0,
    bonds: csr_matrix | None = None,
) -> Solver:
    """A solver for a completed system; `bonds` may tie nodes that share no brick."""
    grids = []
    for depth, level in enumerate(body.levels):
        rooms = [np.empty((len(level.lattice), 3), np.float32) for _ in range(3)]
        grids.append(LevelGrid(level, system.left[depth], system.right[depth], system.inverse[depth], *rooms))
    none = np.zeros((0, 3 * len(body.levels[0].lattice)))
    tied = None
    if bonds is not None:
        tied = bonded.spread(body, system, bonds)
    coarsest = _factored(body.levels[-1].pattern, system.right[-1], system.diagonal[-1], tied)
    return Solver(tuple(grids), whole(body, system), coarsest, none if modes is None else modes, hold, bonds)


def _factored(
    pattern: Pattern, right: Array, diagonal: Array, bonds: csr_matrix | None
) -> Callable[[Array], Array]:
    """Answers of the coarsest level; a little stiffer, so that free motions stay finite."""
    from scipy import linalg, sparse

    both = square(pattern, right, diagonal)
    if bonds is not None:
        both = both + bonds.T @ bonds
    size, own = both.shape[0], both.diagonal()
    if size > 3 * DENSE:
        lower = sparse.linalg.splu((both + sparse.diags(1e-6 * own)).tocsc())
        return lambda b: np.asarray(lower.solve(b))
    dense = both.toarray()
    for more in (1e-6, 1e-5, 1e-4, 1e-3):
        try:
            factor = linalg.cho_factor(dense + np.diag(more * own), check_finite=False)
        except linalg.LinAlgError:
            continue
        return lambda b: np.asarray(linalg.cho_solve(factor, b, check_finite=False))
    raise LawError("the coarse stiffness is not positive: cells are turned inside out; use a coarser grid")


def solve(solver: Solver, b: Array, enough: float) -> Solved:
    """x of A x = b, from nothing, to a residual of the length `enough` [N].

    Raises
    ------
    LawError
        After 600 iterations, or if numbers run off: it never hangs.
    """
    x, r = np.zeros_like(b), b.copy()
    if length(r) <= enough:
        return Solved(x, 0)
    z = _smoothed(solver, r)
    p, rz = z.copy(), product(r, z)
    ap = np.empty_like(b)
    for iteration in range(1, MOST_ITERATIONS + 1):
        multiply(solver.whole, p, ap)
        for mode in solver.modes:
            ap += (solver.hold * (mode @ p.ravel()) * mode).reshape(ap.shape)
        if solver.bonds is not None:
            ap += (solver.bonds.T @ (solver.bonds @ p.ravel())).reshape(ap.shape)
        step = rz / product(p, ap)
        _advance(step, p, ap, x, r)
        left = length(r)
        if left <= enough:
            return Solved(x, iteration)
        if not np.isfinite(left):
            break
        z = _smoothed(solver, r)
        last, rz = rz, product(r, z)
        _turn(z, rz / last, p)
    raise LawError(
        f"the equations of a step were not solved within {MOST_ITERATIONS} iterations; "
        "the part may rest on nothing, or have slivers: take another grid"
    )


def length(a: Array) -> float:
    """Euclidean length of all entries."""
    return float(np.sqrt(product(a, a)))


def product(a: Array, b: Array) -> float:
    """Sum of products, in an order that does not depend on threads."""
    return float(_product(a.ravel(), b.ravel()).sum())


def _smoothed(solver: Solver, r: Array) -> Array:
    scale = 1 / max(float(np.abs(r).max()), 1e-300)
    np.multiply(r, scale, out=solver.grids[0].b, casting="unsafe")
    _cycle(solver, 0)
    return solver.grids[0].x.astype(np.float64) / scale


def _cycle(solver: Solver, depth: int) -> None:
    grid = solver.grids[depth]
    if depth == len(solver.grids) - 1:
        grid.x[:] = solver.coarsest(grid.b.astype(np.float64).ravel()).reshape(-1, 3)
        return
    level, below = grid.level, solver.grids[depth + 1]
    p = level.pattern
    left, right = (p.left_starts, p.left_columns, grid.left), (p.starts, p.columns, grid.right)
    _forward(left, grid.inverse, grid.x, grid.b, level.colours)
    _rest(*right, grid.x, grid.r)
    _down(level.down_starts, level.down, level.down_weights, grid.r, below.b)
    _cycle(solver, depth + 1)
    _up(level.up, level.up_weights, below.x, grid.x)
    _backward(left, right, grid.inverse, grid.x, grid.b, level.colours)


@fast_inner
def _less(starts: Array, columns: Array, a: Array, x: Array, i: int, sums: _Triple) -> _Triple:
    """Sums less one row's blocks times x."""
    s0, s1, s2 = sums
    for t in range(starts[i], starts[i + 1]):
        k, j = np.uint64(t), np.uint64(columns[t])
        x0, x1, x2 = x[j, 0], x[j, 1], x[j, 2]
        s0 -= a[k, 0] * x0 + a[k, 1] * x1 + a[k, 2] * x2
        s1 -= a[k, 3] * x0 + a[k, 4] * x1 + a[k, 5] * x2
        s2 -= a[k, 6] * x0 + a[k, 7] * x1 + a[k, 8] * x2
    return s0, s1, s2


@fast_parallel
def _forward(left: _Half, inverse: Array, x: Array, b: Array, colours: Array) -> None:
    """x of (L + D) x = b: one sweep from nothing."""
    for colour in range(8):
        for i in prange(colours[colour], colours[colour + 1]):
            s0, s1, s2 = _less(left[0], left[1], left[2], x, i, (b[i, 0], b[i, 1], b[i, 2]))
            x[i, 0] = inverse[i, 0] * s0 + inverse[i, 1] * s1 + inverse[i, 2] * s2
            x[i, 1] = inverse[i, 1] * s0 + inverse[i, 3] * s1 + inverse[i, 4] * s2
            x[i, 2] = inverse[i, 2] * s0 + inverse[i, 4] * s1 + inverse[i, 5] * s2


@fast_parallel
def _rest(starts: Array, columns: Array, a: Array, x: Array, r: Array) -> None:
    """r = b - A x right after `_forward`: only what stands right of the diagonal is left."""
    for i in prange(starts.size - 1):
        r[i, 0], r[i, 1], r[i, 2] = _less(
            starts, columns, a, x, i, (np.float32(0), np.float32(0), np.float32(0))
        )


@fast_parallel
def _backward(left: _Half, right: _Half, inverse: Array, x: Array, b: Array, colours: Array) -> None:
    """One sweep from the last colour to the first."""
    for back in range(8):
        for i in prange(colours[7 - back], colours[8 - back]):
            sums = _less(left[0], left[1], left[2], x, i, (b[i, 0], b[i, 1], b[i, 2]))
            s0, s1, s2 = _less(right[0], right[1], right[2], x, i, sums)
            x[i, 0] = inverse[i, 0] * s0 + inverse[i, 1] * s1 + inverse[i, 2] * s2
            x[i, 1] = inverse[i, 1] * s0 + inverse[i, 3] * s1 + inverse[i, 4] * s2
            x[i, 2] = inverse[i, 2] * s0 + inverse[i, 4] * s1 + inverse[i, 5] * s2


@fast_parallel
def _down(starts: Array, fine: Array, weights: Array, r: Array, b: Array) -> None:
    for i in prange(starts.size - 1):
        s0, s1, s2 = np.float32(0), np.float32(0), np.float32(0)
        for t in range(starts[i], starts[i + 1]):
            j, w = np.uint64(fine[t]), weights[t]
            s0 += w * r[j, 0]
            s1 += w * r[j, 1]
            s2 += w * r[j, 2]
        b[i, 0], b[i, 1], b[i, 2] = s0, s1, s2


@fast_parallel
def _up(nodes: Array, weights: Array, coarse: Array, x: Array) -> None:
    for i in prange(nodes.shape[0]):
        for k in range(8):
            if nodes[i, k] >= 0:
                j, w = np.uint64(nodes[i, k]), weights[i, k]
                for c in range(3):
                    x[i, c] += w * coarse[j, c]


@fast_parallel
def _product(a: Array, b: Array) -> Array:
    parts = np.zeros(64)
    for p in prange(64):
        total = 0.0
        for i in range(a.size * p // 64, a.size * (p + 1) // 64):
            total += a[i] * b[i]
        parts[p] = total
    return parts


@fast_parallel
def _advance(step: float, p: Array, ap: Array, x: Array, r: Array) -> None:
    for i in prange(x.shape[0]):
        for c in range(3):
            x[i, c] += step * p[i, c]
            r[i, c] -= step * ap[i, c]


@fast_parallel
def _turn(z: Array, share: float, p: Array) -> None:
    for i in prange(p.shape[0]):
        for c in range(3):
            p[i, c] = z[i, c] + share * p[i, c]
