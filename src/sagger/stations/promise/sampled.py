"""One set of draws for everything that is said of an order, and what it makes of a part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.stations.promise.source import (
    LOAD,
    LOT,
    PIECE,
    SHOP,
    Doubted,
    DoubtSource,
    Lying,
    Room,
    normal,
)
from sagger.statistics.joint import JointOutcome, Limits, benched, inside, judged
from sagger.statistics.lines import AskedFeatures, judged_lines
from sagger.statistics.tolerance import GUARD

SHARED = 4096  # draws of what pieces share: with fewer the tail of bad lots is not settled
OWN, OWN_FEW = 512, 256  # pieces in each; few where many sizes and loads make it long
LONG = 32  # sizes times loads of an order, above which fewer pieces are drawn
# Where a drawing has many rows each draw of what is shared takes so many in turn, spread over its loads
# and orientations.
OWN_DRAWN, PAIRED, LEAST_PAIRED = 4096, 512, 64
BLOCKS = 8  # of draws, whose means tell how far the mean of all may be off
LOADS_MOST = 8  # more are taken as so many: what they share counts for more, so the promise is careful


class Draws(NamedTuple):
    """Uniform draws by key; of what is shared one for each row, of loads one column each, of pieces apart."""

    shared: dict[str, ndarray]  # float64 (rows,)
    loads: dict[str, ndarray]  # float64 (rows, loads)
    own: dict[str, ndarray]  # float64 (pieces,)
    gauge: ndarray  # float64 (pieces, sizes)
    rows: int
    number: int  # of loads


class PieceVerdict(NamedTuple):
    """What the draws make of a part."""

    chance: ndarray  # float64 (rows, loads): of a piece to have all sizes inside
    passed: ndarray  # the same, to pass at the bench
    slipped: ndarray  # the same, to pass there although a size or line is not met
    # of the overall sizes, then of the drawing's lines:
    inside: ndarray  # float64 (asked,)
    at_bench: ndarray  # float64 (asked,)
    alone: ndarray  # float64 (asked,): nothing else is outside


def draw(parts: Iterable[Doubted], loads: int, seed: int) -> Draws:
    """Scrambled Sobol points: the same order and seed give the same draws, whatever is asked of them.

    Source
    ------
    JCGM 101:2008, 6.4 (draws of the inputs); Owen's scrambling by scipy.
    """
    parts = list(parts)
    sources = [source for part in parts for lying in (*part.lying, *part.others) for source in lying.sources]
    keys = {
        level: sorted({source.key for source in sources if source.level == level})
        for level in (SHOP, LOT, LOAD, PIECE)
    }
    sizes = max((_features(part) for part in parts), default=0)
    number = min(max(1, loads), LOADS_MOST)
    pieces = OWN if number * sum(len(part.room.names) for part in parts) <= LONG else OWN_FEW
    if any(part.drawn for part in parts):
        pieces = OWN_DRAWN
    common = [*keys[SHOP], *keys[LOT]]
    rows = _points(len(common) + number * len(keys[LOAD]), SHARED, seed)
    own = _points(len(keys[PIECE]) + sizes, pieces, seed + 1)
    return Draws(
        shared=dict(zip(common, rows.T, strict=False)),
        loads={key: rows[:, len(common) + at * number :][:, :number] for at, key in enumerate(keys[LOAD])},
        own=dict(zip(keys[PIECE], own.T, strict=False)),
        gauge=own[:, len(keys[PIECE]) :],
        rows=SHARED,
        number=number,
    )


def fewer(draws: Draws, rows: int) -> Draws:
    """The first so many draws of what pieces share, with the pieces that belong to them."""
    return draws._replace(
        shared={key: column[:rows] for key, column in draws.shared.items()},
        loads={key: columns[:rows] for key, columns in draws.loads.items()},
        rows=min(rows, draws.rows),
    )


def _features(part: Doubted) -> int:
    return len(part.drawn.gauged) if part.drawn else len(part.room.names)


def _points(dimensions: int, count: int, seed: int) -> ndarray:
    from scipy.stats import qmc

    if dimensions == 0:
        return np.empty((count, 0))
    points = qmc.Sobol(dimensions, scramble=True, rng=seed).random(count)
    return np.asarray(np.clip(points, 1e-12, 1 - 1e-12))


def verdict(part: Doubted, draws: Draws, *, chance_only: bool = False) -> PieceVerdict:
    """Chances of a part's pieces, by draw and load, and of its sizes unless the pieces' alone are wanted."""
    of_loads = (draws.rows, draws.number)
    lines = len(part.drawn.numbers) if part.drawn else 0
    sizes = np.zeros((3, len(part.room.names) + lines))
    total = PieceVerdict(*np.zeros((3, *of_loads)), *sizes)
    for lying in part.lying:
        weight = lying.share / draws.number
        for load, moved in enumerate(_deviations(lying, draws)):
            mine = _of_load(part, lying, draws, moved, chance_only=chance_only)
            total.chance[:, load] += lying.share * mine.chance
            total.passed[:, load] += lying.share * mine.passed
            total.slipped[:, load] += lying.share * mine.slipped
            sizes += weight * np.array(mine[3:])
    return total


def each(part: Doubted, draws: Draws) -> ndarray:
    """Chance of each size to be inside, by the same draws and without the others, float64 (sizes,)."""
    sizes = len(part.room.names)
    total = np.zeros(sizes)
    for lying in part.lying:
        few = _first(lying, sizes)
        limits = _limits(part.room, few.expected)
        for moved in _deviations(few, draws):
            total += lying.share / draws.number * inside(*moved, limits)
    return total


def _first(lying: Lying, sizes: int) -> Lying:
    """The overall sizes alone, without the rows behind them."""
    if len(lying.expected) == sizes:
        return lying
    sources = tuple(
        source._replace(
            lever=source.lever[:sizes],
            worlds=None if source.worlds is None else source.worlds[:, :sizes],
            moved=None,
        )
        for source in lying.sources
        if np.any(source.lever[:sizes])
    )
    return Lying(lying.turn, lying.share, lying.expected[:sizes], lying.stretched[:sizes], tuple(sources))


def _of_load(
    part: Doubted, lying: Lying, draws: Draws, moved: tuple[ndarray, ndarray], *, chance_only: bool
) -> PieceVerdict:
    """One orientation in one load."""
    width = len(part.room.names)
    shared, own = moved
    if part.drawn is not None:
        return _with_lines(part, (shared + lying.expected, own), draws, chance_only)
    limits = _limits(part.room, lying.expected)
    if not part.gauge:
        true = judged(shared, own, limits)
        none = np.zeros(draws.rows)
        return PieceVerdict(true.chance, true.chance, none, true.each, true.each, true.alone)
    read = part.gauge * normal(draws.gauge[:, :width])
    found = benched(shared, own, read, limits, GUARD * part.gauge)
    true = found.true
    return PieceVerdict(true.chance, found.passed, found.slipped, true.each, found.each_passed, true.alone)


def _with_lines(
    part: Doubted, moved: tuple[ndarray, ndarray], draws: Draws, chance_only: bool
) -> PieceVerdict:
    """The overall sizes and every line of the drawing, met at once or not."""
    if (drawn := part.drawn) is None:
        raise AssertionError("a part without lines has no rows behind its sizes")
    asked, guard = drawn.features, GUARD * part.gauge * drawn.gauged
    noise = part.gauge * drawn.gauged * normal(draws.gauge[:, : len(drawn.gauged)])
    paired = max(LEAST_PAIRED, PAIRED // (draws.number * len(part.lying)))
    true = _in_blocks(moved, asked, np.zeros_like(noise), paired, chance_only)
    if not part.gauge:
        none = np.zeros(draws.rows)
        return PieceVerdict(true.chance, true.chance, none, true.each, true.each, true.alone)
    inner = asked._replace(lower=asked.lower + guard, upper=asked.upper - guard)
    bench = _in_blocks(moved, inner, noise, paired, chance_only)
    slipped = np.zeros(draws.rows)
    if not chance_only:  # passed, less those that pass and are good
        twice = AskedFeatures(*(np.concatenate(pair) for pair in zip(asked, inner, strict=True)))
        read = np.hstack([np.zeros_like(noise), noise])
        slipped = bench.chance - _in_blocks(moved, twice, read, paired, True).chance
    return PieceVerdict(true.chance, bench.chance, slipped, true.each, bench.each, true.alone)


def _in_blocks(
    moved: tuple[ndarray, ndarray], asked: AskedFeatures, read: ndarray, paired: int, chance_only: bool
) -> JointOutcome:
    """Lines judged block by block of what is shared, each with pieces of its own.

    So the means of the blocks tell how far the mean of all may be off, what pieces draw included.
    """
    (shared, own), rows, pieces = moved, SHARED // BLOCKS, len(moved[1]) // BLOCKS
    by_block = [
        judged_lines(
            shared[start : start + rows],
            own[at * pieces : (at + 1) * pieces],
            asked,
            read[at * pieces : (at + 1) * pieces],
            paired,
            chance_only,
        )
        for at, start in enumerate(range(0, len(shared), rows))
    ]
    chance, each_line, alone = zip(*by_block, strict=True)
    return JointOutcome(np.concatenate(chance), np.mean(each_line, axis=0), np.mean(alone, axis=0))


def _deviations(lying: Lying, draws: Draws) -> Iterator[tuple[ndarray, ndarray]]:
    """By load: what pieces share, float64 (rows, sizes), and what is each one's own, (pieces, sizes) [mm]."""
    width = len(lying.expected)
    common, own = np.zeros((draws.rows, width)), np.zeros((len(draws.gauge), width))
    for source in lying.sources:
        if source.worlds is not None:
            common += np.resize(source.worlds, common.shape)
        elif source.level == PIECE:
            _add(own, source, draws.own[source.key])
        elif source.level != LOAD:
            _add(common, source, draws.shared[source.key])
    of_load = [source for source in lying.sources if source.level == LOAD and source.worlds is None]
    for load in range(draws.number):
        shared = common.copy() if of_load else common
        for source in of_load:
            _add(shared, source, draws.loads[source.key][:, load])
        yield shared, own


def _add(total: ndarray, source: DoubtSource, uniform: ndarray) -> None:
    """Moves of a source added, to the sizes that it moves."""
    if source.moved is not None:
        total += source.moved(uniform)
        return
    sizes = np.flatnonzero(source.lever)
    if 2 * len(sizes) > len(source.lever):
        total += source.drawn(uniform)[:, None] * source.lever
    else:
        total[:, sizes] += source.drawn(uniform)[:, None] * source.lever[sizes]


def _limits(room: Room, expected: ndarray) -> Limits:
    return Limits(room.lower - expected, room.upper - expected)


def variances(lying: Lying) -> dict[str, ndarray]:
    """Variance of each size by the name of its source, float64 (sizes,) [mm2]."""
    sums: dict[str, ndarray] = {}
    for source in lying.sources:
        moved = source.lever**2 if source.worlds is None else source.worlds.var(axis=0)
        sums[source.name] = sums.get(source.name, np.zeros(len(moved))) + moved
    return sums
