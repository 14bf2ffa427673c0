"""What would raise the chance of a piece, each change worked out again with the same draws."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.green import Green
from sagger.goods.promised import Gain
from sagger.stations.promise import at_once
from sagger.stations.promise.doubted import machine_axes
from sagger.stations.promise.edges_doubt import SAG
from sagger.stations.promise.lengths_doubt import BED, CAST, CONDITIONS, FACTOR, LOTS, Furnished
from sagger.stations.promise.offsets import LineOffsets
from sagger.stations.promise.sampled import Draws, PieceVerdict, fewer, verdict
from sagger.stations.promise.source import PIECE, Doubted, DoubtSource, DrawnLines, Lying
from sagger.statistics import starts, tolerance

COUPONS = 5  # measured before the rest is printed; common practice, no source
LEARNED = (FACTOR, CAST, CONDITIONS, LOTS)  # what coupons tell of the pieces that follow
CUT = 3  # lines whose faces are tried as cut after sintering: those that spoil most pieces alone
FEW = 512  # draws of what is shared, by which changes that do nothing are left out
WORTH = 1e-3  # a chance raised by less is not told


class TriedChange(NamedTuple):
    """A change, and the part with it."""

    name: str
    changed: Doubted
    stock: float | None = None  # to leave on a face that is cut [mm]


class AskedPieces(NamedTuple):
    """What is asked of a part, and how many of its pieces come to the bench at all."""

    asked: int
    sure: float
    survival: float


class PromiseCase(NamedTuple):
    """A part whose chance is to be raised."""

    green: Green
    of: Furnished
    doubted: Doubted
    mapped: float | None  # relative scatter by place that sizes by place would leave; None: no map, or in use


def gains(case: PromiseCase, draws: Draws, wish: AskedPieces, today: PieceVerdict) -> tuple[Gain, ...]:
    """Changes that raise the chance of a piece, the most first; several at once where no one will do."""
    sizes, few = len(case.doubted.room.names), fewer(draws, FEW)
    missed = np.lexsort((today.inside[sizes:], -today.alone[sizes:]))[:CUT].tolist()
    seen = ChanceToday(float(today.chance.mean()), float(today.chance[:FEW].mean()), draws, few)
    single = list(_gained(_changes(case, wish.sure, missed), seen, wish))
    enough = any(gain.chance >= wish.sure for gain in single)
    several = () if enough else _gained(_at_once(case, few, wish.sure), seen, wish)
    return tuple(sorted([*single, *several], key=lambda gain: -gain.chance))


class ChanceToday(NamedTuple):
    """The chance as it is, in all draws and in the first ones."""

    chance: float
    first: float
    draws: Draws
    few: Draws


def _gained(changes: Iterable[TriedChange], seen: ChanceToday, wish: AskedPieces) -> Iterator[Gain]:
    """What each change brings, those left out that bring nothing."""
    for name, changed, stock in changes:
        drawn = changed.drawn is not None  # many rows take long: most changes do nothing in the first draws
        if drawn and float(verdict(changed, seen.few, chance_only=True).chance.mean()) <= seen.first:
            continue
        now = verdict(changed, seen.draws, chance_only=True)
        raised = float(now.chance.mean())
        if raised > seen.chance + WORTH:
            least = starts.least(now.passed * wish.survival, wish.asked, wish.sure)
            yield Gain(name=name, chance=raised, least=least.started, stock_mm=stock)


def _changes(case: PromiseCase, sure: float, missed: Sequence[int]) -> Iterator[TriedChange]:
    part, gauge = case.doubted, case.doubted.gauge
    names = {source.name for lying in part.lying for source in lying.sources}
    coupons = of_every(part, lambda lying: _learned(lying, LEARNED, gauge))
    yield TriedChange(f"measure {COUPONS} coupons first", coupons)
    if LOTS in names:
        of_lot = of_every(part, lambda lying: _learned(lying, (LOTS,), gauge))
        yield TriedChange("measure coupons of this lot", of_lot)
    if case.mapped is not None and BED in names:
        left = case.mapped
        placed = of_every(part, lambda lying: _placed(lying, left))
        yield TriedChange("size pieces by their place in the bed", placed)
    yield from _turned(case)
    if any(lying.sagged is not None for lying in part.lying):
        yield TriedChange("support it so that it does not sag", of_every(part, _held_up))
    if case.of.sintered is not None:  # nobody cuts a core of sand
        chip = case.of.cell.shop.chip
        yield from _machined(part, chip.value * 1e3 if chip is not None else 0.0, sure)
    if part.drawn is not None:
        yield from _redrawn(case, part.drawn, missed)
        yield from _cut(part, part.drawn, missed)


def _at_once(case: PromiseCase, few: Draws, sure: float) -> Iterator[TriedChange]:
    """Support and coupons together, and with them what still misses cut after sintering."""
    part, gauge = case.doubted, case.doubted.gauge
    steps: list[at_once.Change] = [
        ("measure coupons", lambda now: of_every(now, lambda lying: _learned(lying, LEARNED, gauge)))
    ]
    if any(lying.sagged is not None for lying in part.lying):
        steps.insert(0, ("support it", lambda now: of_every(now, _held_up)))
    for name, changed in at_once.combined(part, steps, _not_asked, few, sure):
        if case.of.sintered is not None or "machine" not in name:  # nobody cuts a core of sand
            yield TriedChange(name, changed)


def _not_asked(part: Doubted, rows: Sequence[int]) -> Doubted:
    """The part without the limits of these sizes and lines."""
    if part.drawn is not None:
        part = _asked_no_more(part, part.drawn, rows)
    sizes = [row for row in rows if row < len(part.room.names)]
    lower, upper = part.room.lower.copy(), part.room.upper.copy()
    lower[sizes], upper[sizes] = -np.inf, np.inf
    return part._replace(room=part.room._replace(lower=lower, upper=upper))


def of_every(part: Doubted, change: Callable[[Lying], Lying]) -> Doubted:
    """The part with a change in each of its orientations."""
    return part._replace(lying=tuple(change(lying) for lying in part.lying))


def less(name: str, lying: Lying) -> Lying:
    """The pieces without the sources of one name."""
    return lying._replace(sources=tuple(source for source in lying.sources if source.name != name))


def _learned(lying: Lying, names: tuple[str, ...], gauge: float) -> Lying:
    """Coupons measured: what pieces share of these sources is known better, and the mean is put right.

    Source
    ------
    Bayes' theorem for a normal mean seen through normal scatter, `starts.shared_after`.
    """
    own = np.sqrt(gauge**2 + sum(source.lever**2 for source in lying.sources if source.level == PIECE))
    shared = np.sqrt(
        sum((_moved(source) for source in lying.sources if source.name in names), np.zeros(len(own)))
    )
    after = [starts.shared_after(s, o, COUPONS) for s, o in zip(shared.tolist(), own.tolist(), strict=True)]
    left = np.divide(after, shared, out=np.ones(len(own)), where=shared > 0)
    sources = tuple(scaled(source, left) if source.name in names else source for source in lying.sources)
    put_right = lying.expected - lying.stretched if names == LEARNED else lying.expected
    return lying._replace(sources=sources, expected=put_right)


def _moved(source: DoubtSource) -> ndarray:
    return source.lever**2 if source.worlds is None else source.worlds.var(axis=0)


def scaled(source: DoubtSource, by: ndarray | float) -> DoubtSource:
    """The source with each size moved so many times as far."""
    worlds = None if source.worlds is None else source.worlds * by
    return source._replace(lever=source.lever * by, worlds=worlds)


def _placed(lying: Lying, left: float) -> Lying:
    """Sizes by place: of the scatter over the bed there stays what the map itself does not know."""
    longest = int(np.argmax(lying.expected[: len(lying.expected) - lying.behind]))

    def now(source: DoubtSource) -> DoubtSource:
        return scaled(source, left * lying.expected[longest] / source.lever[longest])

    sources = tuple(now(source) if source.name == BED else source for source in lying.sources)
    return lying._replace(sources=sources)


def _held_up(lying: Lying) -> Lying:
    """The pieces as they would be if they stayed as they stand in the furnace."""
    if lying.sagged is None:
        return lying
    return less(SAG, lying)._replace(expected=lying.expected - lying.sagged, bow=0.0, sagged=None)


def _turned(case: PromiseCase) -> Iterator[TriedChange]:
    """All pieces in another orientation that the nest may take, where sizes lie along other axes then."""
    part = case.doubted
    for other in part.others:
        axes = machine_axes(case.green, other.turn, part.room.axes).tolist()
        along = ", ".join(f"{name} along {'xyz'[at]}" for name, at in zip(part.room.names, axes, strict=True))
        yield TriedChange(f"lay it with {along}", part._replace(lying=(other,)))


def _machined(part: Doubted, chip: float, sure: float) -> Iterator[TriedChange]:
    """A size cut after sintering is no longer promised as it is fired; it needs stock for the cut."""
    for row, name in enumerate(part.room.names):
        lower, upper = part.room.lower.copy(), part.room.upper.copy()
        lower[row], upper[row] = -np.inf, np.inf
        room = part.room._replace(lower=lower, upper=upper)
        stock = max(_stock(lying, row, float(part.room.nominal[row]), chip, sure) for lying in part.lying)
        changed = part._replace(room=room)
        if part.drawn is not None:
            changed = _asked_no_more(part, part.drawn, [row])
        yield TriedChange(f"machine {name}", changed, stock)


def _stock(lying: Lying, row: int, nominal: float, chip: float, sure: float) -> float:
    """What to leave on one end of a size, the other being where it is measured from [mm]."""
    u = float(np.sqrt(sum(_moved(source)[row] for source in lying.sources)))
    short = max(nominal - float(lying.expected[row]), 0.0)
    return short + tolerance.stock(chip, lying.bow, u, sure)


def _redrawn(case: PromiseCase, drawn: DrawnLines, missed: Sequence[int]) -> Iterator[TriedChange]:
    """Faces of sizes drawn elsewhere: of each of the worst lines, and of all sizes together."""
    part, moving = case.doubted, LineOffsets(case.green, case.doubted, drawn, case.of.drops)
    lines = moving.lines()
    for at in missed:
        needed = moving.needed(drawn.numbers[at]) if drawn.numbers[at] in lines else None
        if needed is not None:
            rounded = needed._replace(by_mm=round(needed.by_mm, 3))
            name = f"draw line {needed.line} offset by {moving.told(rounded):+.3f} mm"
            yield TriedChange(name, moving.moved(part, [rounded]))
    every = moving.together(lines) if lines else []
    if every:
        name = "draw faces offset to the middle of their limits"
        yield TriedChange(name, moving.moved(part, every))


def _cut(part: Doubted, drawn: DrawnLines, missed: Sequence[int]) -> Iterator[TriedChange]:
    """Lines of the drawing whose faces are cut after sintering: each of the worst, and all of them."""
    sizes = len(part.room.names)
    for at in missed:
        name = f"machine line {drawn.numbers[at]}"
        yield TriedChange(name, _asked_no_more(part, drawn, [sizes + at]))
    if len(missed) > 1:
        numbers = ", ".join(str(drawn.numbers[at]) for at in sorted(missed))
        every = _asked_no_more(part, drawn, [sizes + at for at in missed])
        yield TriedChange(f"machine lines {numbers}", every)


def _asked_no_more(part: Doubted, drawn: DrawnLines, lines: Sequence[int]) -> Doubted:
    asked, gone = drawn.features, np.isin(drawn.features.line, lines)
    lower, upper = np.where(gone, -np.inf, asked.lower), np.where(gone, np.inf, asked.upper)
    free = asked._replace(lower=lower, upper=upper)
    return part._replace(drawn=drawn._replace(features=free))
