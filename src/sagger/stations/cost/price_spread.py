"""How far the price of a good piece may lie off, by yields and by hours."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.goods.figure import Figure
from sagger.goods.promised import PiecePromise
from sagger.goods.shop import Shop
from sagger.stations.cost.charges import Charge
from sagger.statistics import draws, starts

TAIL = (0.05, 0.95)  # one order in twenty is cheaper, one dearer
LEAST = 1e-6  # delivered pieces that a price is still told for
SEED = 1


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
    JCGM 101:2008, 7: hours lognormal about those planned, good pieces by the promise's own draws.
    """
    delivered = piece.asked - starts.missing_by_draw(piece.chances, piece.started, piece.asked)
    z = draws.normal(len(delivered), 2, SEED)
    off = np.zeros(len(delivered))
    for column, (share, scatter) in enumerate(
        ((hours.machine, shop.machine_scatter), (hours.hands, shop.hands_scatter))
    ):
        off += share * (draws.positive(z[:, column], 1.0, _value(scatter)) - 1)
    prices = amount * (1 + off) / np.maximum(delivered, LEAST)
    low, high = np.quantile(prices, TAIL, method="inverted_cdf")
    return float(low), float(high) if high < amount / (2 * LEAST) else None


def _value(figure: Figure | None) -> float:
    return figure.value if figure is not None else 0.0
