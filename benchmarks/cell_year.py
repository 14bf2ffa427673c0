"""Weeks of an invented cell, day by day: orders come, are planned and promised at 90 %, and are delivered."""

from __future__ import annotations

import dataclasses
import sys
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "examples"))
from invented_cell import Reality, arriving, delivered, delivery

from sagger import cards
from sagger.desk.planning.cell_plan import CellNow, planned
from sagger.goods.asked import AskedOrder, CellEvent, PlannedBuild
from sagger.goods.schedule import PlanningEffort

DAILY = PlanningEffort(trials=600, rounds=0, nodes=0)
A_DAY = 0.5  # orders on a working day
CHANCE = 0.9


@dataclasses.dataclass
class Weeks:
    """Where the shop is."""

    orders: list[AskedOrder]
    rows: tuple[PlannedBuild, ...]
    lasting: list[CellEvent]
    promised: dict[str, tuple[str, str]]  # by order: given, by
    came: dict[str, str]  # delivered


def promises_kept(weeks: int, seed: int = 1) -> list[tuple[int, bool]]:
    """For each order delivered or overdue: weeks ahead that its date was promised, and whether it was met."""
    stand = cards.load("stand", "two-printers")
    luck, reality = np.random.default_rng(seed), Reality(seed + 1000)
    shop = Weeks([], (), [], {}, {})
    day, number = datetime(2030, 1, 7, 7), 0
    end = day + timedelta(weeks=weeks)
    while day < end:
        if day.weekday() < 5:
            number = _morning(shop, stand, reality, (luck, number, day.isoformat(timespec="minutes")))
        day += timedelta(days=1)
    last = end.isoformat(timespec="minutes")
    scored = [name for name, (_, by) in shop.promised.items() if name in shop.came or by < last]
    return [
        (_ahead(*shop.promised[name]), shop.came.get(name, "9") <= shop.promised[name][1]) for name in scored
    ]


def _morning(
    shop: Weeks, stand: object, reality: Reality, today: tuple[np.random.Generator, int, str]
) -> int:
    """What happened is told, gone orders leave, new ones come, all is planned anew and dates are promised."""
    luck, number, now = today
    events = reality.happened(shop.orders, shop.rows, now)
    told = {event.subject: event for event in events}
    moved = any(event.kind == "scrapped" for event in events)
    rows = shop.rows
    if not moved:
        gone = [event for event in delivered(shop.orders, _as_told(rows, told), now)]
        shop.came |= {event.subject: event.at for event in gone}
        shop.orders = [order for order in shop.orders if order.name not in shop.came]
    new = [arriving(luck, number + one, now) for one in range(int(luck.poisson(A_DAY)))]
    shop.orders += new
    if shop.orders:
        cell = CellNow(stand, tuple(shop.orders), rows, tuple(events), now)
        plan = planned(cell, DAILY, CHANCE)
        shop.rows = plan.builds
        likely = {row.order: row.likely for row in plan.orders}
        for order in new:
            shop.promised[order.name] = (now, delivery(likely[order.name]))
        shop.orders = [
            dataclasses.replace(order, promised=shop.promised[order.name][1]) for order in shop.orders
        ]
    return number + len(new)


def _as_told(rows: tuple[PlannedBuild, ...], told: dict[str, CellEvent]) -> list[PlannedBuild]:
    """Rows of the plan but those whose print ended later than their heat began: they are not ready yet."""
    return [
        row
        for row in rows
        if (event := told.get(f"{row.order}/{row.build}")) is None or event.at <= row.heated_from
    ]


def _ahead(given: str, by: str) -> int:
    return (datetime.fromisoformat(by) - datetime.fromisoformat(given)).days // 7
