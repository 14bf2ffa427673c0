"""The quote of an order: lines, price per good piece, promises, dates."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime

import numpy as np

from sagger.errors import OrderError
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.job import Build
from sagger.goods.learned import Approved
from sagger.goods.order import Order
from sagger.goods.quote import PartPrice, Quote
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered
from sagger.physics import money
from sagger.stations.cost.calendar import moment, steps
from sagger.stations.cost.charges import charges, pieces_by_part
from sagger.stations.cost.promise import promises

NOTHING = Approved()


def quote(
    order: Order,
    greens: tuple[Green, ...],
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    cell: Cell,
    approved: Approved = NOTHING,
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
    approved : Approved
        Scatter and bed map of this shop, if a person approved them.

    Returns
    -------
    Quote
        Lines are for all pieces started. A part's price per good piece is its share of them over the
        pieces expected to come out good; scrap is taken to be found at the end.

    Raises
    ------
    InputError
        If a part has no piece in any box; `OrderError` if a date cannot be read.
    """
    pieces = pieces_by_part(greens, builds)
    bill = charges(greens, builds, sintered, cell)
    if not order.choices.by_place:
        approved = dataclasses.replace(approved, bed=None)
    kept, risks = promises(greens, builds, sintered, cell, approved)
    done = steps(moment(order.start), builds, sintered, cell, int(pieces.sum()))
    yields = _yields(cell.shop, sintered is not None)
    share = money.yield_total(yields)
    by_part = np.sum([charge.by_part for charge in bill], axis=0)
    prices = tuple(
        PartPrice(
            part=part,
            good_pieces=int(count * share + 1e-9),
            price_per_piece=float(by_part[part] / (count * share)),
        )
        for part, count in enumerate(pieces.tolist())
    )
    return Quote(
        currency=cell.shop.currency,
        lines=tuple(charge.line for charge in bill),
        total=sum(charge.line.amount for charge in bill),
        yield_total=share,
        prices=prices,
        promises=kept,
        steps=done,
        ready=done[-1].ends,
        findings=(*risks, *_short(order, pieces.tolist(), yields), *_late(order, done[-1].ends)),
    )


def _yields(shop: Shop, fired: bool) -> tuple[float, ...]:
    figures = [shop.yield_print, shop.yield_depowder, shop.yield_inspect]
    if fired:
        figures.append(shop.yield_sinter)
    return tuple(figure.value for figure in figures)


def _short(order: Order, pieces: list[int], yields: tuple[float, ...]) -> list[Finding]:
    """Parts of which fewer good pieces are expected than asked."""
    found = []
    share = money.yield_total(yields)
    for request, count in zip(order.requests, pieces, strict=True):
        expected, needed = count * share, money.starts(request.quantity, yields)
        if expected >= request.quantity or request.held:
            continue
        found.append(
            Finding(
                level="look",
                what="yield",
                text=f"{request.name}: of {count} pieces started {expected:.1f} are expected to be good, "
                f"{request.quantity} are asked.",
                value=expected,
                limit=float(request.quantity),
                unit="pieces",
                source="yields of the shop card",
                remedy=f"Start {needed} to expect {request.quantity} good ones.",
            )
        )
    return found


def _late(order: Order, ready: str) -> list[Finding]:
    """Each due date against the date everything is ready."""
    found = []
    day = datetime.fromisoformat(ready).date()
    for request in order.requests:
        if not request.due:
            continue
        late = (day - _due(request.due)).days
        found.append(
            Finding(
                level="ok" if late <= 0 else "look",
                what="due date",
                text=f"{request.name} is due {request.due} and ready {ready.replace('T', ' ')}"
                + (", in time." if late <= 0 else f", {late} days late."),
                value=float(late),
                limit=0.0,
                unit="days",
                source="order",
                remedy="" if late <= 0 else "Start earlier, split the order, or agree a later date.",
            )
        )
    return found


def _due(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as wrong:
        raise OrderError(
            "a due date is an ISO date", field="due", value=text, remedy="Write 2030-01-31."
        ) from wrong
