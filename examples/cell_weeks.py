"""Four weeks of an invented shop: orders come, a printer breaks down, builds are lost, one order is a rush.

    python examples/cell_weeks.py --into out/cell

Everything goes through the ledger, as a planner would do it; invented_cell.py draws what really happens.
Same seed, same story.
"""

from __future__ import annotations

import argparse
import os
import sys
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from invented_cell import Reality, arriving, delivered, delivery

import sagger
from sagger.desk import home
from sagger.goods.asked import AskedBuild, AskedOrder, CellEvent
from sagger.goods.schedule import PlanningEffort
from sagger.ledger import cellbook
from sagger.ledger.lots import Mover
from sagger.views.words.cell_lines import offer_lines, plan_lines, score_lines

STEP = Mover(person="P. Planner", note="", corrects=None)
DAILY = PlanningEffort(trials=600, rounds=0, nodes=0)
BREAKDOWN, RUSH = 9, 11  # days after the first Monday
LAST = 3  # orders come until so many weeks have gone
A_DAY = 0.9  # orders on a working day
LOST = 0.1  # share of builds: more than the card says, so that four weeks see some


def run(into: Path, weeks: int = 4, seed: int = 3) -> list[str]:
    """The story in lines; the ledger lies in `into`."""
    os.environ["SAGGER_HOME"] = str(into)
    cell, luck, reality = sagger.cell, np.random.default_rng(seed), Reality(seed, lost=LOST)
    said, number = [], 0
    for after in range(7 * weeks):
        at = datetime(2030, 1, 7, 7) + timedelta(days=after)
        if at.weekday() > 4:
            continue
        now = at.isoformat(timespec="minutes")
        said += _reported(reality, now)
        new = [arriving(luck, number + one + 1, now) for one in range(int(luck.poisson(A_DAY)))]
        new = new if after < 7 * LAST else []
        number += len(new)
        if after == BREAKDOWN:
            until = (at + timedelta(hours=52)).isoformat(timespec="minutes")
            said.append(f"{now}  printer 1 is down until {until}")
            cell.event("down", "printer 1", now, until, STEP)
        if after == RUSH:
            new.append(_rush(now))
            said += ["  " + line for line in offer_lines(cell.offer(new[-1], now))]
        if new:
            cellbook.order(home.ledger(), new, STEP)
            said.append(f"{now}  booked: {', '.join(order.name for order in new)}")
        if cell.book().open_orders():
            _, plan = cell.plan(now, DAILY, STEP)
            likely = {row.order: row.likely for row in plan.orders}
            for order in new:
                by = delivery(likely[order.name])
                cell.promise(order.name, by, now, STEP)
                said.append(f"{now}  {order.name} promised by {by}, wished by {order.due}")
            if after == RUSH:
                said += ["  " + line for line in plan_lines(plan, "EUR")]
    return said + score_lines(cell.scores())


def _reported(reality: Reality, now: str) -> list[str]:
    """What people say in the morning goes into the book."""
    cell = sagger.cell
    said: list[str] = []
    held = cell.book()
    if held.plan is None:
        return said
    events = reality.happened(held.open_orders(), held.plan.builds, now)
    lost = [event for event in events if event.kind == "scrapped"]
    late = {event.subject: event.at for event in events}
    rows = [row for row in held.plan.builds if late.get(f"{row.order}/{row.build}", "") <= row.heated_from]
    gone: list[CellEvent] = [] if lost else delivered(held.open_orders(), rows, now)
    for event in (*events, *gone):
        cell.event(event.kind, event.subject, event.at, "", STEP)
    return [f"{now}  {event.subject} {event.kind}" for event in (*lost, *gone)]


def _rush(now: str) -> AskedOrder:
    build = AskedBuild(
        label="1", powder="steel-316l", box="box-160x65x65", print_h=7.0, hands_h=1.0, shelves=1
    )
    due = delivery((datetime.fromisoformat(now) + timedelta(days=6)).isoformat())
    return AskedOrder(name="rush", builds=(build,), due=due, weight=5, release=now)


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--into", type=Path, default=Path("out/cell"))
    print("\n".join(run(words.parse_args().into)))
