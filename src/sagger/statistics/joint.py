"""Many dimensions of one piece at once: which draws leave all of them inside their limits.

A dimension moves with each source of doubt by a lever: deviation = sum of draw times lever. Sources that
pieces share are drawn once for many pieces; those of a piece for each piece. Nothing here multiplies
chances: a piece is good in a draw if every dimension is inside in that very draw.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sagger.compiled import kernel
from sagger.errors import LawError

Array = NDArray[np.float64]


class Limits(NamedTuple):
    """Room of each dimension about its expected value, arrays (n,), in the unit of the levers."""

    lower: Array
    upper: Array


class JointOutcome(NamedTuple):
    """What the draws say of a piece."""

    chance: Array  # (shared,): of a piece to be good, for each draw of what is shared [-]
    each: Array  # (n,): of each dimension to be inside [-]
    alone: Array  # (n,): that this dimension alone is outside: what a piece would gain if it were not asked


class BenchOutcome(NamedTuple):
    """What the draws say of a piece, and of what a bench says of it."""

    true: JointOutcome
    passed: Array  # (shared,): of a piece to be read inside guarded limits in every dimension [-]
    each_passed: Array  # (n,): of each dimension to be read so [-]
    slipped: Array  # (shared,): of a piece to be read so although a dimension is outside [-]


def judged(shared: Array, own: Array, limits: Limits) -> JointOutcome:
    """How many pieces are good, and what spoils the others.

    Parameters
    ----------
    shared : array (m, n)
        Deviations of the n dimensions by what pieces share, one row for each of m draws.
    own : array (k, n)
        Deviations by what is a piece's own, one row for each of k draws, the same for all m.
    limits : Limits
        Room about the expected value: with deviation d a dimension is inside if lower <= d <= upper.

    Raises
    ------
    LawError
        If the shapes do not fit, or nothing was drawn.

    Source
    ------
    Two-level Monte Carlo: JCGM 102:2011, 7 (joint draws of several outputs), nested for shared inputs.
    """
    shared, own = drawn(shared, own)
    lower, upper = _ends(limits, shared)
    chance, inside, alone = _judge(shared, own, lower, upper)
    pairs = len(shared) * len(own)
    return JointOutcome(chance / len(own), inside / pairs, alone / pairs)


def benched(shared: Array, own: Array, read: Array, limits: Limits, guard: float) -> BenchOutcome:
    """How many pieces are good, how many pass at the bench, and how many pass that are not good.

    Parameters
    ----------
    shared, own, limits
        As `judged` takes them.
    read : array (k, n)
        Errors of reading, one row for each draw of what is a piece's own.
    guard : float
        What the limits are drawn in by at both ends before a reading is held against them.

    Raises
    ------
    LawError
        If the shapes do not fit, or nothing was drawn.

    Source
    ------
    JCGM 106:2012, 9.3 to 9.5: global risks of consumer and producer are joint chances of the true value and
    the reading; here of all dimensions of a piece at once.
    """
    shared, own = drawn(shared, own)
    lower, upper = _ends(limits, shared)
    read = np.ascontiguousarray(read, float)
    if read.shape != own.shape:
        raise LawError(f"{read.shape} errors of reading do not fit draws {own.shape}")
    by_draw, by_size = _bench(shared, own, read, np.stack([lower, upper, lower + guard, upper - guard]))
    good, passed, slipped = by_draw / len(own)
    each, each_passed, alone = by_size / (len(shared) * len(own))
    return BenchOutcome(JointOutcome(good, each, alone), passed, each_passed, slipped)


def inside(shared: Array, own: Array, limits: Limits) -> Array:
    """Chance of each dimension by itself to be inside, (n,): what `judged` tells of each, in less time.

    Parameters
    ----------
    shared, own, limits
        As `judged` takes them.
    """
    shared, own = drawn(shared, own)
    lower, upper = _ends(limits, shared)
    counts = []
    for i in range(shared.shape[1]):
        pieces = np.sort(own[:, i])
        low = np.searchsorted(pieces, lower[i] - shared[:, i], side="left")
        high = np.searchsorted(pieces, upper[i] - shared[:, i], side="right")
        counts.append(np.maximum(high - low, 0).mean() / len(pieces))
    return np.array(counts)


def drawn(shared: Array, own: Array) -> tuple[Array, Array]:
    """Draws of what pieces share and of what is their own, in one piece of memory each.

    Raises
    ------
    LawError
        If they do not tell of the same dimensions, or nothing was drawn.
    """
    shared, own = (np.ascontiguousarray(rows, float) for rows in (shared, own))
    if shared.shape[1:] != own.shape[1:]:
        raise LawError(f"draws {shared.shape} and {own.shape} do not fit each other")
    if len(shared) == 0 or len(own) == 0:
        raise LawError("nothing was drawn")
    return shared, own


def _ends(limits: Limits, shared: Array) -> tuple[Array, Array]:
    lower, upper = (np.ascontiguousarray(ends, float) for ends in limits)
    if not shared.shape[1:] == lower.shape == upper.shape:
        raise LawError(f"draws {shared.shape} do not fit {len(lower)} limits")
    return lower, upper


@kernel
def _judge(shared: Array, own: Array, lower: Array, upper: Array) -> tuple[Array, Array, Array]:
    """Counts of good pieces by shared draw, and of each dimension inside, and outside alone."""
    n = lower.size
    good = np.zeros(shared.shape[0])
    inside, alone = np.zeros(n), np.zeros(n)
    for row in range(shared.shape[0]):
        for piece in range(own.shape[0]):
            failed, last = 0, 0
            for i in range(n):
                deviation = shared[row, i] + own[piece, i]
                if lower[i] <= deviation <= upper[i]:
                    inside[i] += 1.0
                else:
                    failed, last = failed + 1, i
            if failed == 0:
                good[row] += 1.0
            elif failed == 1:
                alone[last] += 1.0
    return good, inside, alone


@kernel
def _bench(shared: Array, own: Array, read: Array, ends: Array) -> tuple[Array, Array]:
    """Counts of pieces good, passed, passed and bad; of each dimension inside, passed, alone outside.

    Pieces by shared draw. `ends` (4, n): limits of the true values, then of the readings.
    """
    n = ends.shape[1]
    by_draw, by_size = np.zeros((3, shared.shape[0])), np.zeros((3, n))
    for row in range(shared.shape[0]):
        for piece in range(own.shape[0]):
            failed, last, stopped = 0, 0, 0
            for i in range(n):
                deviation = shared[row, i] + own[piece, i]
                if ends[0, i] <= deviation <= ends[1, i]:
                    by_size[0, i] += 1.0
                else:
                    failed, last = failed + 1, i
                if ends[2, i] <= deviation + read[piece, i] <= ends[3, i]:
                    by_size[1, i] += 1.0
                else:
                    stopped += 1
            if failed == 0:
                by_draw[0, row] += 1.0
            elif failed == 1:
                by_size[2, last] += 1.0
            if stopped == 0:
                by_draw[1, row] += 1.0
                if failed > 0:
                    by_draw[2, row] += 1.0
    return by_draw, by_size
