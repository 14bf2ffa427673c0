"""What an order would cost at other sizes."""

from __future__ import annotations

import math

from sagger.goods.job import Build
from sagger.goods.promised import Promised
from sagger.goods.quote import QuantityPrice
from sagger.goods.sintered import Sintered
from sagger.stations.cost.charges import Charge

TIMES = (0.5, 1.0, 2.0)  # the quantities of the order
ON_TOP = ("overhead", "margin", "least order")


def quantities(
    bill: tuple[Charge, ...],
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    promised: Promised,
    least_order: float,
) -> tuple[QuantityPrice, ...]:
    """Price at half, once and twice the order: boxes and furnace runs are whole ones, all else in proportion.

    A box is taken to hold as much for its height as it does now; what a denser or a looser nest changes is
    not counted.
    """
    delivered = sum(piece.delivered for piece in promised.pieces)
    return tuple(
        QuantityPrice(
            times=times,
            total=(total := _total(bill, times, builds, sintered, least_order)),
            per_good=total / max(times * delivered, 1e-6),
        )
        for times in (TIMES if builds else ())
    )


def _total(
    bill: tuple[Charge, ...],
    times: float,
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    least_order: float,
) -> float:
    """Overhead and margin grow as what they are on does."""
    direct = [charge for charge in bill if charge.line.name not in ON_TOP]
    grown = {id(charge): _grown(charge, times, builds, sintered) for charge in direct}
    worked = [charge for charge in direct if not charge.material]
    overhead, margin = (_named(bill, name) for name in ON_TOP[:2])
    before = sum(charge.line.amount for charge in direct)
    bears = sum(charge.line.amount for charge in worked)
    more = overhead * sum(grown[id(charge)] for charge in worked) / bears if bears else 0.0
    total = sum(grown.values()) + more
    earned = margin * total / (before + overhead) if before + overhead else 0.0
    return max(total + earned, least_order)


def _named(bill: tuple[Charge, ...], name: str) -> float:
    return sum(charge.line.amount for charge in bill if charge.line.name == name)


def _grown(charge: Charge, times: float, builds: tuple[Build, ...], sintered: Sintered | None) -> float:
    amount = charge.line.amount
    if charge.line.name == "sinter" and sintered is not None:
        filled = max(sintered.load.runs * sintered.load.fill, 1e-6)
        return amount * math.ceil(times * filled - 1e-9) / math.ceil(filled - 1e-9)
    return charge.by_box * _boxes(times, builds) / len(builds) + (amount - charge.by_box) * times


def _boxes(times: float, builds: tuple[Build, ...]) -> int:
    """Whole boxes: all but the last are full, the last one is as full as it is high."""
    last = builds[-1].layout
    room = max(float(last.box.length_z.value) * 1e3, last.height_mm)
    return math.ceil(times * (len(builds) - 1 + last.height_mm / room) - 1e-9)
