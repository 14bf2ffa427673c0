"""The cell: first plans, gaps to bounds, dates, quotes and repairs, and published job shops.

The cell of 20, 100 and 400 builds is that of tests/cell_goods.py (invented). Job shops are those of a table
beside the project; without it they are left out. Ovens and batch machines as published are not tried here.

    python benchmarks/cell.py [weeks of the invented shop] [work of the solver in each job shop]

The last line is a JSON object.
"""

from __future__ import annotations

import dataclasses
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "stations"))
from cell_year import promises_kept
from test_job_shops import TABLE, shortest

import cell_goods as hand
from sagger import cards
from sagger.desk.planning.cell_plan import CellNow, offered, planned
from sagger.goods.asked import AskedBuild, AskedOrder
from sagger.goods.schedule import PlanningEffort
from sagger.goods.shift import DAY
from sagger.goods.workload import Blocks, Workload
from sagger.stations import dates, schedule

T = TypeVar("T")
FIRST = PlanningEffort(trials=0, rounds=0, nodes=0)
QUICK = PlanningEffort(trials=2000, rounds=0, nodes=0)
WITH_SOLVER = PlanningEffort(trials=2000, rounds=4)
MANY = PlanningEffort(trials=8000, rounds=8)


def clocked(call: Callable[[], T]) -> tuple[T, float, float]:
    """What a call gives, wall seconds and processor seconds."""
    began, worked = time.perf_counter(), time.process_time()
    given = call()
    return given, time.perf_counter() - began, time.process_time() - worked


def told(name: str, value: object, wall: float, worked: float) -> None:
    print(f"{name:<34} {value!s:<34} {wall:8.2f} s wall {worked:8.2f} s of a processor", flush=True)


def drawn(count: int) -> Workload:
    return hand.workload(hand.Shop(), hand.drawn(count))


def gaps() -> dict[str, float]:
    """First plan of 400 builds, and how far plans of 20 and 100 may be from the least cost."""
    schedule.plan(drawn(5), effort=QUICK)  # compiled
    work = drawn(400)
    first, wall, worked = clocked(lambda: schedule.plan(work, effort=FIRST))
    told("first plan of 400 builds", first.worth.cost, wall, worked)
    found = {"first_400_s": wall}
    for count, effort in ((20, WITH_SOLVER), (100, MANY)):
        best, wall, worked = clocked(lambda n=count, e=effort: schedule.plan(drawn(n), effort=e))
        told(f"{count} builds", f"{best.worth.cost}, none below {best.bound}", wall, worked)
        found[f"gap_{count}"] = best.worth.cost / best.bound - 1
    return found


def sampled() -> dict[str, float]:
    """A thousand samples of 400 builds."""
    work = drawn(400)
    plan = schedule.plan(work, effort=FIRST).schedule
    names = [(f"order {number}", "1") for number in range(400)]

    def dated() -> np.ndarray:
        durations = dates.drawn(work, names, dates.Scattering(0.05, 0.2, 0.03), 1000, 1)
        return dates.order_ends_drawn(work, schedule.nothing(work), plan, durations, 16)

    ends, wall, worked = clocked(dated)
    told("1,000 samples of 400 builds", ends.shape, wall, worked)
    return {"samples_1000_400_s": wall}


def repaired() -> dict[str, float]:
    """A printer stands for 72 h in the third week of 100 builds."""
    work = drawn(100)
    before = schedule.plan(work, effort=QUICK)
    now = 15 * DAY + 36
    down = Blocks(machine=np.array([0]), begins=np.array([now]), ends=np.array([now + 3 * DAY]))
    stands = schedule.before(work, before.schedule, now, now)
    running = stands.printed & (before.schedule.printer == 0)
    ends = before.schedule.start + work.builds.printing
    down = Blocks(machine=down.machine, begins=np.maximum(down.begins, ends[running].max()), ends=down.ends)
    broken = dataclasses.replace(work, blocks=down)
    after, wall, worked = clocked(lambda: schedule.plan(broken, stands, QUICK))
    moved = (after.schedule.start != before.schedule.start)[~stands.printed].mean()
    told("repair after 72 h", f"{before.worth.cost} to {after.worth.cost}, {moved:.0%} moved", wall, worked)
    return {"repair_s": wall, "repair_moved": float(moved)}


def quoted() -> dict[str, float]:
    """A new order beside a planned book of 30 orders."""
    stand = cards.load("stand", "two-printers")
    orders = tuple(
        AskedOrder(
            name=f"order {number}",
            builds=(
                AskedBuild(
                    label="1",
                    powder=("steel-316l", "steel-17-4ph", "alumina")[number % 3],
                    box=("box-400x250x250", "box-160x65x65")[number % 2],
                    print_h=10.0 + number % 7,
                    hands_h=2.0,
                    shelves=2,
                ),
            ),
            due=f"2030-02-{1 + number % 27:02d}T15:00",
        )
        for number in range(31)
    )
    now = "2030-01-07T07:00"
    plan = planned(CellNow(stand, orders[:-1], (), (), now), QUICK, 0.9)
    cell = CellNow(stand, orders[:-1], plan.builds, (), now)
    rows, wall, worked = clocked(lambda: offered(cell, orders[-1], 0.9))
    for row in rows:
        print(f"  {row.way:<46} {row.planned}  {row.by}  {row.added:+.0f}")
    told("offer beside 30 orders", f"{len(rows)} ways", wall, worked)
    return {"quote_s": wall}


def job_shops(work: float) -> dict[str, dict[str, object]]:
    """Published job shops by the parts of the cell's model; one worker, counted work."""
    if not TABLE.exists():
        return {}
    rows, found = json.loads(TABLE.read_text()), {}
    for name, row in rows.items():
        jobs = row["machines_matrix"], row["duration_matrix"]
        best, wall, worked = clocked(lambda jobs=jobs: shortest(*jobs, work))
        optimum = row["metadata"]["optimum"]
        told(f"job shop {name}", f"{best.value} of {optimum}, proven {best.proven}", wall, worked)
        found[name] = {"found": best.value, "optimum": optimum, "proven": best.proven, "seconds": wall}
    return found


def kept(weeks: int) -> dict[str, object]:
    """Dates at 90 % against what came, by weeks ahead."""
    rows, wall, worked = clocked(lambda: promises_kept(weeks))
    met = sum(ok for _, ok in rows)
    told(f"{weeks} weeks of the invented shop", f"{met} of {len(rows)} promises met", wall, worked)
    for ahead in sorted({ahead for ahead, _ in rows}):
        mine = [ok for weeks_ahead, ok in rows if weeks_ahead == ahead]
        print(f"  {ahead} weeks ahead: {sum(mine)} of {len(mine)}")
    return {"promise_90_met": met / len(rows), "promises": len(rows), "weeks": weeks}


def main() -> None:
    weeks = int(sys.argv[1]) if len(sys.argv) > 1 else 52
    work = float(sys.argv[2]) if len(sys.argv) > 2 else 20.0
    found = {**gaps(), **sampled(), **quoted(), **repaired(), **kept(weeks), "jsp": job_shops(work)}
    print(json.dumps(found | {"ovens_hit": None, "ovens_of": None, "batch_proven": None}))  # not built yet


if __name__ == "__main__":
    main()
