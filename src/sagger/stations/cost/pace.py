"""How a shop's hours lie off those planned."""

from __future__ import annotations

from sagger.goods.figure import Figure
from sagger.goods.shop import Shop
from sagger.stations.cost.calendar import ShopPace
from sagger.statistics import draws

SEED = 1


def paces(shop: Shop, count: int) -> list[ShopPace]:
    """Draws of the pace of machines and of hands, about the one planned.

    Source
    ------
    JCGM 101:2008, 7: hours lognormal about those planned, all machines of an order with one factor.
    """
    z = draws.normal(count, 2, SEED)
    scatters = _value(shop.machine_scatter), _value(shop.hands_scatter)
    factors = (draws.positive(z[:, i], 1.0, u) for i, u in enumerate(scatters))
    return [ShopPace(*pair) for pair in zip(*(one.tolist() for one in factors), strict=True)]


def _value(figure: Figure | None) -> float:
    return figure.value if figure is not None else 0.0
