"""The promise of an order: every part's sizes, its whole piece, and enough of them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
from numpy import ndarray

from sagger.goods.cell import Cell
from sagger.goods.green import Green
from sagger.goods.job import Build
from sagger.goods.learned import Approved
from sagger.goods.order import Order
from sagger.goods.promised import LinePromise, PiecePromise, Promise, Promised
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered
from sagger.stations.promise import drawn_promise, line_findings, promise_findings
from sagger.stations.promise.doubted import doubted
from sagger.stations.promise.lengths_doubt import Furnished, mapped
from sagger.stations.promise.raising import AskedPieces, PromiseCase, gains, less, of_every
from sagger.stations.promise.sampled import BLOCKS, Draws, PieceVerdict, draw, each, variances, verdict
from sagger.stations.promise.source import Doubted, Lying
from sagger.statistics import starts

NOTHING = Approved()
LEAST = 1e-9  # chance of passing below which nothing is said of those that pass
TAIL = (0.05, 0.95)  # of lots: one in twenty is worse, one in twenty better


def state(
    order: Order,
    greens: tuple[Green, ...],
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    cell: Cell,
    approved: Approved = NOTHING,
) -> Promised:
    """What can be promised of an order.

    Parameters
    ----------
    order : Order
        Its requests stand in the order of `greens`; `good` is the chance with which it shall be kept.
    greens : tuple of Green
        Parts at green size, with the factors used.
    builds : tuple of Build
        All boxes: orientations and places of the pieces.
    sintered : Sintered or None
        None for sand, which is not fired.
    cell : Cell
        Cards with figures of scatter, and the yields of the shop.
    approved : Approved
        Scatter and bed map of this shop, if a person approved them.

    Returns
    -------
    Promised
        A size is met in a draw if it is inside its limits, a piece if all its sizes are inside in that very
        draw. What pieces share is drawn once for many pieces. Good pieces are those that pass at the bench;
        losses on the way there are each piece's own.

    Raises
    ------
    InputError
        If a part has no piece in any box.

    Source
    ------
    JCGM 102:2011, 7: joint draws, here on two levels; law of total probability over what pieces share.
    """
    jobs = _cases(order, greens, builds, (sintered, cell, approved))
    drawn = draw((job.doubted for job in jobs), sintered.load.runs if sintered else 1, order.choices.seed)
    survival = _survival(cell.shop, sintered is not None)
    sizes: list[Promise] = []
    pieces: list[PiecePromise] = []
    lines: list[LinePromise] = []
    for job in jobs:
        judged = verdict(job.doubted, drawn)
        sizes += _sizes(job, drawn, judged)
        lines += drawn_promise.lines(job, judged)
        pieces.append(
            _piece(job, drawn, judged, AskedPieces(job.green.part.request.quantity, order.good, survival))
        )
    return Promised(
        sure=order.good,
        kept=_together(pieces, starts.enough_by_draw),
        kept_twice=_together(pieces, starts.made_up_by_draw),
        loads=drawn.number,
        draws=drawn.rows,
        pieces_drawn=len(drawn.gauge),
        sizes=tuple(sizes),
        lines=tuple(lines),
        pieces=tuple(pieces),
        findings=(
            *promise_findings.findings(jobs, sizes, pieces),
            *line_findings.findings(jobs, lines),
        ),
    )


def _cases(
    order: Order,
    greens: tuple[Green, ...],
    builds: tuple[Build, ...],
    known: tuple[Sintered | None, Cell, Approved],
) -> list[PromiseCase]:
    """Parts of which something is promised; a coupon is made to be measured."""
    sintered, cell, approved = known
    used = approved if order.choices.by_place else dataclasses.replace(approved, bed=None)
    cases = []
    for part, green in enumerate(greens):
        if green.part.request.held:
            continue
        of = Furnished(green.factors, sintered, cell, used, builds)
        offered = approved.bed is not None and used.bed is None
        cases.append(
            PromiseCase(
                green=green,
                of=of,
                doubted=doubted(part, green, of, order.choices),
                mapped=mapped(of._replace(approved=approved)) if offered else None,
            )
        )
    return cases


def _sizes(job: PromiseCase, drawn: Draws, judged: PieceVerdict) -> Iterator[Promise]:
    """One promise for each size: expected size and doubts of the orientation in which it is met least."""
    part = job.doubted
    without = _without(part, drawn)
    by_turn = [each(part._replace(lying=(lying._replace(share=1.0),)), drawn) for lying in part.lying]
    for row, name in enumerate(part.room.names):
        worst = part.lying[int(np.argmin([chances[row] for chances in by_turn]))]
        moved = {
            source: float(variance[row]) for source, variance in variances(worst).items() if variance[row]
        }
        total = sum(moved.values())
        raised = {source: float(without[source][row]) for source in (*moved, promise_findings.MEAN)}
        yield Promise(
            part=part.part,
            dimension=name,
            nominal_mm=float(part.room.nominal[row]),
            lower_mm=float(part.room.lower[row]),
            upper_mm=float(part.room.upper[row]),
            u_mm=math.sqrt(total),
            shares=tuple((source, variance / total if total else 0.0) for source, variance in moved.items()),
            chance=float(judged.inside[row]),
            without=tuple(sorted(raised.items(), key=lambda pair: -pair[1])),
            expected_mm=float(worst.expected[row]),
            passed=float(judged.at_bench[row]),
            alone=float(judged.alone[row]),
        )


def _without(part: Doubted, drawn: Draws) -> dict[str, ndarray]:
    """Chance of each size with one source gone, or with its mean in the middle of the limits."""
    names = dict.fromkeys(source.name for lying in part.lying for source in lying.sources)
    gone = {name: each(of_every(part, partial(less, name)), drawn) for name in names}
    middle = (part.room.lower + part.room.upper) / 2
    gone[promise_findings.MEAN] = each(of_every(part, partial(_centred, middle)), drawn)
    return gone


def _centred(middle: ndarray, lying: Lying) -> Lying:
    """Overall sizes in the middle of their limits."""
    return lying._replace(expected=np.concatenate([middle, lying.expected[len(middle) :]]))


def _piece(job: PromiseCase, drawn: Draws, judged: PieceVerdict, wish: AskedPieces) -> PiecePromise:
    started = sum(piece.part == job.doubted.part for build in job.of.builds for piece in build.layout.pieces)
    chances = judged.passed * wish.survival
    by_lot, chance = judged.chance.mean(axis=1), float(judged.chance.mean())
    blocks = [float(block.mean()) for block in np.array_split(by_lot, BLOCKS)]
    low, high = np.quantile(by_lot, TAIL)
    least = starts.least(chances, wish.asked, wish.sure)
    return PiecePromise(
        part=job.doubted.part,
        asked=wish.asked,
        started=started,
        sure=wish.sure,
        chance=chance,
        chance_u=float(np.std(blocks, ddof=1)) / math.sqrt(BLOCKS),
        passed=float(judged.passed.mean()),
        slipped=float(judged.slipped.mean() / max(judged.passed.mean(), LEAST)),
        low=float(low),
        high=float(high),
        survival=wish.survival,
        expected=started * float(chances.mean()),
        delivered=wish.asked - starts.missing(chances, started, wish.asked),
        enough=starts.enough(chances, started, wish.asked),
        enough_twice=float(starts.made_up_by_draw(chances, started, wish.asked).mean()),
        least=least.started,
        ceiling=least.ceiling,
        raised=gains(job, drawn, wish, judged),
        chances=chances,
    )


def _survival(shop: Shop, fired: bool) -> float:
    """Share of pieces that come through all steps, whatever their sizes."""
    figures = [shop.yield_print, shop.yield_depowder, shop.yield_inspect]
    if fired:
        figures.append(shop.yield_sinter)
    return math.prod(figure.value for figure in figures)


def _together(pieces: list[PiecePromise], by_draw: Callable[[ndarray, int, int], ndarray]) -> float:
    """Chance that all parts have enough: within a draw of what they share they fail each for itself."""
    each_part = [by_draw(piece.chances, piece.started, piece.asked) for piece in pieces]
    return float(np.mean(np.prod(each_part, axis=0))) if each_part else 1.0
