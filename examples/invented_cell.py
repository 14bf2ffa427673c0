"""What really happens in an invented cell: orders that come, prints that take longer, builds that are lost.

Everything here is made up; the planner sees none of it before it has happened.
"""

from __future__ import annotations

import dataclasses
import math
import zlib
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from sagger.goods.asked import AskedBuild, AskedOrder, CellEvent, PlannedBuild

POWDERS = ("steel-316l", "steel-17-4ph", "alumina")
SMALL, LARGE = "box-160x65x65", "box-400x250x250"
QUARTER = timedelta(minutes=15)
CLOSES = 15  # o'clock: orders leave then


@dataclasses.dataclass
class Reality:
    """Draws by the name of a build and how often it was tried: the same luck whatever is planned."""

    seed: int
    scatter: float = 0.05  # relative, of a print
    lost: float = 0.03  # share of builds
    tries: dict[str, int] = dataclasses.field(default_factory=dict)
    reported: set[tuple[str, int]] = dataclasses.field(default_factory=set)

    def happened(
        self, orders: Sequence[AskedOrder], rows: Sequence[PlannedBuild], now: str
    ) -> list[CellEvent]:
        """What people report in the morning: ends of prints as the printers tell them, and lost builds."""
        hours = {f"{order.name}/{one.label}": one.print_h for order in orders for one in order.builds}
        events = []
        for row in rows:
            name = f"{row.order}/{row.build}"
            attempt = self.tries.get(name, 0)
            if name not in hours or row.starts >= now or (name, attempt) in self.reported:
                continue
            luck = np.random.default_rng([self.seed, zlib.crc32(name.encode()), attempt])
            factor = math.exp(luck.standard_normal() * self.scatter)
            ends = rounded(datetime.fromisoformat(row.starts) + timedelta(hours=hours[name] * factor))
            if luck.random() < self.lost:
                if ends <= now:
                    self.tries[name] = attempt + 1
                    events.append(CellEvent(kind="scrapped", subject=name, at=ends))
            else:
                self.reported.add((name, attempt))
                events.append(CellEvent(kind="ended", subject=name, at=ends))
        return events


def delivered(orders: Sequence[AskedOrder], rows: Sequence[PlannedBuild], now: str) -> list[CellEvent]:
    """Orders of which everything is unloaded by now."""
    events = []
    for order in orders:
        mine = [row.ready for row in rows if row.order == order.name]
        if len(mine) == len(order.builds) and max(mine) <= now:
            events.append(CellEvent(kind="delivered", subject=order.name, at=max(mine)))
    return events


def rounded(at: datetime) -> str:
    """The next quarter of an hour, ISO."""
    day = datetime(at.year, at.month, at.day)
    return (day + math.ceil((at - day) / QUARTER - 1e-9) * QUARTER).isoformat(timespec="minutes")


def delivery(at: str) -> str:
    """The next closing time of a working day not before a moment, ISO."""
    moment = datetime.fromisoformat(at)
    day = datetime(moment.year, moment.month, moment.day, CLOSES)
    while day < moment or day.weekday() > 4:
        day += timedelta(days=1)
    return day.isoformat(timespec="minutes")


def arriving(luck: np.random.Generator, number: int, now: str) -> AskedOrder:
    """A new order of one to three boxes, wanted in two to four weeks."""
    powder = POWDERS[luck.choice(3, p=(0.5, 0.3, 0.2))]
    box = LARGE if luck.random() < 0.6 else SMALL
    hours = float(luck.integers(14, 31) if box == LARGE else luck.integers(6, 13))
    builds = tuple(
        AskedBuild(
            label=str(one + 1),
            powder=powder,
            box=box,
            print_h=hours,
            hands_h=float(luck.integers(2, 9)) / 2,
            shelves=int(luck.integers(2, 5)) if box == LARGE else 1,
        )
        for one in range(luck.choice((1, 2, 3), p=(0.55, 0.3, 0.15)))
    )
    due = datetime.fromisoformat(now) + timedelta(days=int(luck.integers(12, 29)))
    return AskedOrder(
        name=f"order {number}",
        builds=builds,
        due=delivery(due.isoformat()),
        weight=int(luck.choice((1, 1, 2, 3))),
        release=now,
    )
