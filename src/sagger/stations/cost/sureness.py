"""The number of pieces at which they and a second start cost least, and what being surer than that costs."""

from __future__ import annotations

from typing import NamedTuple

from sagger.goods.promised import PiecePromise
from sagger.statistics import starts


class Sureness(NamedTuple):
    """What a part costs least with, and what it costs to be as sure as asked."""

    cheapest: int  # pieces to start
    price: float  # of going from there to the least number for the chance asked


def sureness(piece: PiecePromise, amount: float, second: float) -> Sureness | None:
    """The cheapest number to start, never below those asked; None where no number is sure enough.

    Parameters
    ----------
    amount : float
        For all pieces started.
    second : float
        What a second start costs whatever it holds. In it as many pieces are printed for each missing one as
        a good one takes on average.

    Source
    ------
    Expected cost of pieces, missing ones and falling short, `statistics.starts.cost`.
    """
    if piece.least is None or amount <= 0:
        return None
    piece_cost = amount / piece.started
    stakes = starts.Stakes(piece=piece_cost, missing=piece_cost / float(piece.chances.mean()), short=second)
    cheapest = max(piece.asked, starts.cheapest(piece.chances, piece.asked, stakes))
    return Sureness(cheapest, piece_cost * max(piece.least - cheapest, 0))
