"""How far the price of a good piece may lie off, by yields and by hours."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.goods.promised import PiecePromise
from sagger.goods.shop import Shop
from sagger.stations.cost.charges import Charge
from sagger.stations.cost.pace import paces
from sagger.statistics import starts

TAIL = (0.05, 0.95)  # one order in twenty is cheaper, one dearer
LEAST = 1e-6  # delivered pieces that a price is still told for


class HourShares(NamedTuple):
    """Of what an order costs, overhead on it included: hours of machines, and of work by hand."""

    machine: float
    hands: float


def hour_shares(bill: tuple[Charge, ...], shop: Shop) -> HourShares:
    """By all lines; a margin is a share of them and changes neither."""
    total = sum(charge.line.amount for charge in bill if charge.line.name not in ("margin", "least order"))
    over = (1 + shop.overhead.value) / total if total else 0.0
    return HourShares(
        over * sum(charge.machine for charge in bill), over * sum(charge.hands for charge in bill)
    )


def spread(piece: PiecePromise, amount: float, hours: HourShares, shop: Shop) -> tuple[float, float | None]:
    """Price of one good piece delivered that one order in twenty undercuts, and that one in twenty passes.

    Parameters
    ----------
    amount : float
        For all pieces started, as planned.

    Returns
    -------
    tuple of float
        The second is None where one order in twenty delivers no good piece.

    Source
    ------
    JCGM 101:2008, 7: hours by `pace.paces`, good pieces by the promise's own draws.
    """
    delivered = piece.asked - starts.missing_by_draw(piece.chances, piece.started, piece.asked)
    off = (np.array(paces(shop, len(delivered))) - 1) @ hours
    prices = amount * (1 + off) / np.maximum(delivered, LEAST)
    low, high = np.quantile(prices, TAIL, method="inverted_cdf")
    return float(low), float(high) if high < amount / (2 * LEAST) else None
