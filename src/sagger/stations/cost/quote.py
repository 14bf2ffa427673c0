"""The quote of an order: lines, price per good piece, promises, dates."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import date, datetime
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import OrderError
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure
from sagger.goods.finding import Against, Finding, about, risk
from sagger.goods.green import Green
from sagger.goods.job import Build
from sagger.goods.order import Order
from sagger.goods.promised import PiecePromise, Promised
from sagger.goods.quote import PartPrice, Quote
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered
from sagger.stations.cost.calendar import moment, steps, written
from sagger.stations.cost.charges import Charge, charges, inspected, pieces_by_part
from sagger.stations.cost.price_spread import LEAST, HourShares, hour_shares, spread
from sagger.stations.cost.quantities import quantities
from sagger.stations.cost.sureness import sureness


def quote(
    order: Order,
    greens: tuple[Green, ...],
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    cell: Cell,
    promised: Promised,
) -> Quote:
    """What an order costs, when it is ready, and what can be promised.

    Parameters
    ----------
    order : Order
        Its requests stand in the order of `greens`.
    greens : tuple of Green
        Parts at green size, with the factors used.
    builds : tuple of Build
        All boxes, printed one after the other on one printer.
    sintered : Sintered or None
        None for sand, which is not fired.
    cell : Cell
        Rates, yields and working hours.
    promised : Promised
        How many pieces are expected to be good.

    Returns
    -------
    Quote
        Lines are for all pieces started. A part's price per good piece is its share of them over the good
        pieces that are delivered on average, never more than asked; scrap is taken to be found at the end.

    Raises
    ------
    InputError
        If a part has no piece in any box; `OrderError` if a date cannot be read.
    """
    bill = charges(greens, builds, sintered, cell)
    hands = inspected(pieces_by_part(greens, builds), cell.shop, fired=sintered is not None)
    route = steps(moment(order.start), builds, sintered, cell, inspected=hands)
    done = route.steps
    borne = _borne(np.sum([charge.by_part for charge in bill], axis=0), promised)
    expected = sum(piece.expected for piece in promised.pieces)
    started = sum(piece.started for piece in promised.pieces)
    ready = max(step.ends for step in done)
    second = _second(ready, builds, sintered, cell)
    by_part = {part: written(at) for part, at in route.ready.items()}
    worth = PriceBasis(_heat(bill, builds, sintered), hour_shares(bill, cell.shop), cell.shop, by_part)
    sure = ready if promised.kept >= promised.sure else second
    return Quote(
        currency=cell.shop.currency,
        lines=tuple(charge.line for charge in bill),
        total=sum(charge.line.amount for charge in bill),
        yield_total=expected / started if started else 1.0,
        prices=tuple(_price(piece, float(borne[piece.part]), worth) for piece in promised.pieces),
        promises=promised.sizes,
        steps=done,
        ready=ready,
        second_ready=second,
        sure_ready=sure,
        quantities=quantities(bill, builds, sintered, promised, _value(cell.shop.least_order)),
        findings=tuple(_late(order, by_part, second, promised)),
    )


class PriceBasis(NamedTuple):
    """What the price of a part depends on beside its own amount."""

    heat: float  # of one more heat of the oven and run of the furnace
    hours: HourShares
    shop: Shop
    ready: dict[int, str]  # by part


def _second(ready: str, builds: tuple[Build, ...], sintered: Sintered | None, cell: Cell) -> str:
    """When a second start is ready that begins once the first was inspected: the quickest box, one run."""
    box = min(builds, key=lambda build: build.timetable.build)
    one = sintered
    if sintered is not None:
        one = dataclasses.replace(sintered, load=dataclasses.replace(sintered.load, runs=1))
    parts = 1 + max(piece.part for piece in box.layout.pieces)
    pieces = np.bincount([piece.part for piece in box.layout.pieces], minlength=parts)
    hands = inspected(pieces, cell.shop, fired=one is not None)
    return steps(moment(ready), (box,), one, cell, inspected=hands).steps[-1].ends


def _borne(by_part: ndarray, promised: Promised) -> ndarray:
    """What each part bears: its own, and its share of the coupons that are printed for it."""
    served = [piece.part for piece in promised.pieces]
    own = by_part[served]
    if not own.sum():
        return by_part
    borne = np.zeros(len(by_part))
    borne[served] = own * by_part.sum() / own.sum()
    return borne


def _heat(bill: tuple[Charge, ...], builds: tuple[Build, ...], sintered: Sintered | None) -> float:
    """What one more heat of the oven and run of the furnace cost, whatever they hold."""
    times = {"cure": len(builds), "sinter": sintered.load.runs if sintered is not None else 1}
    return sum(one.line.amount / max(times[one.line.name], 1) for one in bill if one.line.name in times)


def _price(piece: PiecePromise, amount: float, worth: PriceBasis) -> PartPrice:
    """A piece that comes out good beyond those asked for is paid by the others."""
    delivered, surer = max(piece.delivered, LEAST), sureness(piece, amount, worth.heat)
    low, high = spread(piece, amount, worth.hours, worth.shop)
    return PartPrice(
        part=piece.part,
        asked=piece.asked,
        started=piece.started,
        good_pieces=int(piece.expected),
        expected=piece.expected,
        amount=amount,
        price_per_piece=amount / delivered,
        price_low=low,
        price_high=high,
        cheapest=surer.cheapest if surer is not None else None,
        price_of_sureness=surer.price if surer is not None else None,
        ready=worth.ready[piece.part],
    )


def _late(order: Order, ready: dict[int, str], second: str, promised: Promised) -> Iterator[Finding]:
    """Each due date against the date the part is ready, with the chance that was asked for."""
    enough = {piece.part: piece.enough for piece in promised.pieces}
    for part, request in enumerate(order.requests):
        if not request.due:
            continue
        first, chance = ready[part], enough.get(part, 1.0)
        again = chance < promised.sure
        sure = second if again else first
        late = (datetime.fromisoformat(sure).date() - _due(request.due)).days
        lateness = ", in time." if late <= 0 else f", {late} days late."
        more = f", or {sure.replace('T', ' ')} if a second start is needed" if again else ""
        more += f" ({1 - chance:.0%} of orders)" if again else ""
        text = f"{request.name} is due {request.due} and ready {first.replace('T', ' ')}{more}{lateness}"
        against, remedy = (
            Against(float(late), 0.0, "days", "order"),
            "Start earlier, split the order, or agree a later date.",
        )
        yield about(part, risk("due date", text, against, remedy, unless=late <= 0))


def _value(figure: Figure | None) -> float:
    return figure.value if figure is not None else 0.0


def _due(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as wrong:
        raise OrderError(
            "a due date is an ISO date", field="due", value=text, remedy="Write 2030-01-31."
        ) from wrong
