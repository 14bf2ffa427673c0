"""The quote of an order: lines, price per good piece, promises, dates."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
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
from sagger.stations.cost import sure_date
from sagger.stations.cost.calendar import PLANNED, written
from sagger.stations.cost.charges import Charge, charges, inspected, pieces_by_part
from sagger.stations.cost.price_spread import LEAST, HourShares, hour_shares, spread
from sagger.stations.cost.quantities import quantities
from sagger.stations.cost.sure_date import Enough, Start
from sagger.stations.cost.sureness import sureness

SURE = 0.9995  # beyond it a share of orders is told as over what digits show


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
    start = sure_date.started(order.start, builds, sintered, cell.shop, hands)
    planned = start(PLANNED)
    drawn = sure_date.drawn(start, cell.shop, promised.draws)
    borne = _borne(np.sum([charge.by_part for charge in bill], axis=0), promised)
    expected = sum(piece.expected for piece in promised.pieces)
    started = sum(piece.started for piece in promised.pieces)
    by_part = {part: written(at) for part, at in planned.route.ready.items()}
    worth = PriceBasis(_heat(bill, builds, sintered), hour_shares(bill, cell.shop), cell.shop, by_part)
    sure = sure_date.sure(drawn, Enough(promised.kept, promised.kept_twice), promised.sure)
    return Quote(
        currency=cell.shop.currency,
        lines=tuple(charge.line for charge in bill),
        total=sum(charge.line.amount for charge in bill),
        yield_total=expected / started if started else 1.0,
        prices=tuple(_price(piece, float(borne[piece.part]), worth) for piece in promised.pieces),
        promises=promised.sizes,
        steps=planned.route.steps,
        ready=written(planned.ready),
        second_ready=written(planned.second),
        sure_ready=written(sure) if sure is not None else "",
        quantities=quantities(bill, builds, sintered, promised, _value(cell.shop.least_order)),
        findings=tuple(_late(order, planned, drawn, promised)),
    )


class PriceBasis(NamedTuple):
    """What the price of a part depends on beside its own amount."""

    heat: float  # of one more heat of the oven and run of the furnace
    hours: HourShares
    shop: Shop
    ready: dict[int, str]  # by part


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


def _late(order: Order, planned: Start, drawn: list[Start], promised: Promised) -> Iterator[Finding]:
    """Each due date against the dates that the part may be ready, with the chance that was asked for."""
    shares = {piece.part: Enough(piece.enough, piece.enough_twice) for piece in promised.pieces}
    for part, request in enumerate(order.requests):
        if not request.due:
            continue
        due, enough = _due(request.due), shares.get(part, Enough(1.0, 1.0))
        chance = sure_date.in_time(drawn, part, enough, due)
        first, second = (written(at).replace("T", " ") for at in (planned.route.ready[part], planned.second))
        again = f", or {second} if a second start is needed ({1 - enough.once:.0%} of orders)"
        text = f"{request.name} is due {request.due} and ready {first}"
        text += again if enough.once < promised.sure else ""
        days = (planned.route.ready[part].date() - due).days
        text += f", {days} days late." if days > 0 else "."
        share = f"{100 * chance:.1f} %" if chance < SURE else "over 99.9 %"
        text += f" Where there are enough good pieces they are in time in {share} of orders."
        against = Against(chance, promised.sure, "-", "asked by the order")
        remedy = "Start earlier or with more spares, split the order, or agree a later date."
        yield about(part, risk("due date", text, against, remedy, unless=chance >= promised.sure))


def _value(figure: Figure | None) -> float:
    return figure.value if figure is not None else 0.0


def _due(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as wrong:
        raise OrderError(
            "a due date is an ISO date", field="due", value=text, remedy="Write 2030-01-31."
        ) from wrong
