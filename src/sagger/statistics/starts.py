"""How many pieces to start so that enough come out good, when pieces share what goes wrong with them.

A piece's chance of being good is not one number: card, factors, lot and load are the same for many pieces.
So it comes as draws, one row for each draw of what an order shares, one column for each load that is its
own. Given a row pieces are good or bad independently of each other; over the rows they are not, which is
why a binomial over the mean chance promises too much.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtrc, gammaln

from sagger.compiled import kernel
from sagger.errors import LawError

Array = NDArray[np.float64]
MOST = 100  # times the number asked: no shop starts more, so the search ends there
CEIL = 1e-9  # so that a whole number of pieces that came out a hair larger is not one piece more
TINY = 1e-18  # chances below it change no digit that anyone reads


class Least(NamedTuple):
    """The least number to start, if any number up to `MOST` times the number asked is enough."""

    started: int | None
    ceiling: float  # chance of enough that no number of starts passes [-]


def enough(chances: Array, started: int, needed: int) -> float:
    """Chance that of `started` pieces at least `needed` are good [-].

    Parameters
    ----------
    chances : array (draws, loads)
        Chance of one piece to be good, for each draw of what the order shares and each of its loads; pieces
        are spread over the loads as evenly as whole pieces allow, the first loads getting one more.
    started, needed : int
        Pieces.

    Raises
    ------
    LawError
        If a chance lies outside 0 to 1, or a number is negative.

    Source
    ------
    Law of total probability over the draws; within a draw the binomial law, convolved over the loads.
    """
    return float(np.mean(enough_by_draw(chances, started, needed)))


def enough_by_draw(chances: Array, started: int, needed: int) -> Array:
    """The same for each draw, array (draws,) [-]."""
    return np.asarray(1.0 - _short(chances, started, needed).sum(axis=1)).clip(0.0, 1.0)


def least(chances: Array, needed: int, sure: float) -> Least:
    """Fewest pieces to start so that at least `needed` are good with chance `sure`.

    Parameters
    ----------
    chances : array (draws, loads)
        As `enough` takes them; the loads stay as many however many pieces are started.
    needed : int
        Pieces that must be good.
    sure : float
        Chance asked for, between 0 and 1.

    Returns
    -------
    Least
        `started` is None where no number up to `MOST` times the number asked is enough: then some draws leave
        no good piece, or hardly any. The ceiling is the chance at that number.

    Source
    ------
    The chance of enough rises with the number started, so halving finds the least.
    """
    if not 0 < sure < 1:
        raise LawError(f"a chance to be asked for lies between 0 and 1, got {sure:g}")
    most = max(1, MOST * needed)
    ceiling = enough(chances, most, needed)
    if ceiling < sure:
        return Least(None, ceiling)
    low, high = needed - 1, max(needed, 1)  # `low` is never enough, `high` will be
    while enough(chances, high, needed) < sure:
        low, high = high, min(2 * high, most)
    while high - low > 1:
        middle = (low + high) // 2
        if enough(chances, middle, needed) < sure:
            low = middle
        else:
            high = middle
    return Least(high, ceiling)


def missing(chances: Array, started: int, needed: int) -> float:
    """Expected number of good pieces that are missing from `needed`."""
    return float(missing_by_draw(chances, started, needed).mean())


def missing_by_draw(chances: Array, started: int, needed: int) -> Array:
    """The same for each draw, array (draws,)."""
    return np.asarray((_short(chances, started, needed) * (needed - np.arange(needed))).sum(axis=1))


def made_up_by_draw(chances: Array, started: int, needed: int) -> Array:
    """Chance that `needed` are good once those missing were started a second time, array (draws,) [-].

    The second start holds as many pieces for each missing one as a good one takes on average, in one load,
    which has the luck of the last load of the first start: what went wrong once and was not mended goes wrong
    again.

    Source
    ------
    Law of total probability over the number missing; within a draw the binomial law.
    """
    short = _short(chances, started, needed)
    rows, good = np.nonzero(short > TINY)
    missing_ones = needed - good
    takes = max(float(np.mean(chances)), 1.0 / MOST)
    pieces = np.ceil(missing_ones / takes - CEIL).astype(np.int64)
    again = bdtrc(missing_ones - 1.0, pieces, np.atleast_2d(chances)[rows, -1])
    made_up = (1.0 - short.sum(axis=1)).clip(0.0, 1.0)
    np.add.at(made_up, rows, short[rows, good] * again)
    return np.asarray(made_up.clip(0.0, 1.0))


class Stakes(NamedTuple):
    """What is at stake, in one currency."""

    piece: float  # for each piece started
    missing: float  # for each good piece that is missing
    short: float  # once, if any is missing


def cost(chances: Array, started: int, needed: int, stakes: Stakes) -> float:
    """Expected cost of starting so many: pieces, missing ones, and falling short at all."""
    short = 1.0 - enough(chances, started, needed)
    return stakes.piece * started + stakes.missing * missing(chances, started, needed) + stakes.short * short


def cheapest(chances: Array, needed: int, stakes: Stakes) -> int:
    """Number to start at which the expected cost is least; the search ends where pieces alone cost more."""
    if stakes.piece <= 0:
        raise LawError(f"a piece must cost something, got {stakes.piece:g}")
    # Below the number needed all fall short, and each more changes the cost by the same amount.
    ends = (0, max(needed - 1, 0))
    lowest, best = min((cost(chances, started, needed, stakes), started) for started in ends)
    for started in range(max(needed, 1), max(1, MOST * needed) + 1):
        if stakes.piece * started >= lowest:
            break
        lowest, best = min((lowest, best), (cost(chances, started, needed, stakes), started))
    return best


def shared_after(shared: float, own: float, coupons: int) -> float:
    """Standard deviation of what pieces share, once so many of them were measured.

    Parameters
    ----------
    shared, own : float
        Standard deviations before: of what all pieces share, and of each piece for itself, in one unit.
    coupons : int
        Pieces measured under what is shared.

    Source
    ------
    Bayes' theorem for a normal mean seen through normal scatter: precisions add.
    """
    if shared < 0 or own < 0 or coupons < 0:
        raise LawError(f"none of {shared:g}, {own:g}, {coupons} may be negative")
    if shared == 0 or coupons == 0:
        return shared
    if own == 0:
        return 0.0
    return 1.0 / math.sqrt(shared**-2 + coupons * own**-2)


def spread(started: int, loads: int) -> NDArray[np.int64]:
    """Pieces of each load, array (loads,): as even as whole pieces allow, the first loads having one more."""
    return started // loads + (np.arange(loads) < started % loads)


def _short(chances: Array, started: int, needed: int) -> Array:
    """Chance of 0, 1, … `needed` - 1 good pieces for each draw, array (draws, needed)."""
    q = np.ascontiguousarray(np.atleast_2d(np.asarray(chances, float)))
    if q.size == 0 or not (q.min() >= 0 and q.max() <= 1):
        raise LawError("chances of a piece must lie between 0 and 1, and there must be some")
    if started < 0 or needed < 0:
        raise LawError(f"pieces cannot be negative: {started} started, {needed} needed")
    ways = np.full((q.shape[1], needed), -np.inf)  # logarithms of the binomial coefficients
    pieces = spread(started, q.shape[1])
    for row, count in zip(ways, pieces, strict=True):
        good = np.arange(min(needed, count + 1))
        row[: len(good)] = gammaln(count + 1) - gammaln(good + 1) - gammaln(count - good + 1)
    good_chances = np.zeros((len(q), needed))
    if needed:
        _summed(q, pieces, ways, good_chances)
    return good_chances


@kernel
def _summed(q: Array, pieces: NDArray[np.int64], ways: Array, good_chances: Array) -> None:
    """Numbers of good pieces of all loads together, as far as `good_chances` (draws, needed) reaches."""
    needed = good_chances.shape[1]
    before, one = np.zeros(needed), np.zeros(needed)
    for row in range(q.shape[0]):
        sums = good_chances[row]
        sums[0] = 1.0
        first, last = 0, 0  # of the numbers that are possible at all
        for load in range(q.shape[1]):
            low, high = _binomial(q[row, load], pieces[load], ways[load], one)
            before[:] = sums
            sums[:] = 0.0
            for i in range(first, last + 1):
                for j in range(low, min(high, needed - 1 - i) + 1):
                    sums[i + j] += before[i] * one[j]
            first, last = min(first + low, needed - 1), min(last + high, needed - 1)


@kernel
def _binomial(q: float, pieces: int, ways: Array, one: Array) -> tuple[int, int]:
    """Chance of each number of good pieces of one load into `one`; first and last number that is possible."""
    one[:] = 0.0
    if q <= 0.0 or pieces == 0:
        one[0] = 1.0
        return 0, 0
    if q >= 1.0:
        if pieces < one.size:
            one[pieces] = 1.0
        return pieces, pieces
    good, bad = math.log(q), math.log1p(-q)
    low, high = one.size, -1
    for count in range(min(one.size, pieces + 1)):
        one[count] = math.exp(ways[count] + count * good + (pieces - count) * bad)
        if one[count] > TINY:
            low, high = min(low, count), count
    return low, high
