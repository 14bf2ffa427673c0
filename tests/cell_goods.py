"""Cells made by hand, all invented: quarters from Monday 00:00; hands Monday to Friday, 07:00 to 15:00."""

import dataclasses
import math
import random

import numpy as np

from sagger.goods.shift import DAY, NEVER, WEEK
from sagger.goods.workload import (
    Blocks,
    Builds,
    Crews,
    Furnaces,
    JobBoxes,
    Ovens,
    Portions,
    PowderStock,
    Prices,
    Printers,
    Wishes,
    Workload,
)
from sagger.physics import workclock

H = 4  # quarters
MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
OPENS, CLOSES = 7 * H, 15 * H


def at(day, hour, minute=0, week=0):
    """Quarters since the first Monday, 00:00."""
    return week * WEEK + day * DAY + round((hour + minute / 60) * H)


@dataclasses.dataclass(frozen=True)
class Job:
    """One build that is an order of its own; hours become quarters, rounded up."""

    powder: int
    print: float
    hands: float
    shelves: int
    due: int
    weight: int
    release: int = 0


@dataclasses.dataclass(frozen=True)
class Shop:
    """The trial cell; every field may be another."""

    printers: int = 3
    boxes: int = 5
    ovens: int = 2
    oven_boxes: int = 3
    people: int = 2
    programme: tuple = (0, 0, 1)  # of the oven, by powder
    cure: tuple = (12 * H, 16 * H)
    furnaces: tuple = ((8, (0, 1)), (8, (0, 2)))  # shelves, families
    fire: tuple = (26 * H, 30 * H, 22 * H)
    change: tuple = ((0, 3 * H, 6 * H), (8 * H, 0, 6 * H), (4 * H, 4 * H, 0))
    wait: int = 72 * H
    firing: int = 40
    heating: int = 8
    closes: int = CLOSES
    days: tuple = (MON, TUE, WED, THU, FRI)


TINY = Shop(
    printers=1,
    boxes=2,
    ovens=1,
    oven_boxes=2,
    people=1,
    programme=(0, 0),
    cure=(12 * H,),
    furnaces=((4, (0, 1)),),
    fire=(26 * H, 30 * H),
    change=((0, 3 * H), (8 * H, 0)),
    wait=NEVER,
)
TINY_JOBS = (
    Job(0, 10, 3, 2, 5 * DAY, 2),
    Job(1, 14, 2, 2, 6 * DAY, 1),
    Job(0, 20, 5, 2, 6 * DAY, 3),
    Job(1, 9, 4, 3, 8 * DAY, 1),
)


def drawn(count, seed=1):
    """Builds over the weeks they take: three in two days, near what the trial cell can do."""
    luck, jobs, span = random.Random(seed), [], int(count / 1.5 * DAY)
    for _ in range(count):
        powder = luck.choices((0, 1, 2), (5, 3, 2))[0]
        release = int(luck.uniform(0, max(1, span - 3 * DAY)))
        printing, hands = luck.randint(8 * H, 26 * H) / H, luck.randint(1 * H, 5 * H) / H
        shelves = luck.randint(1, 4)
        due = release + int(luck.uniform(5, 16) * DAY)
        jobs.append(Job(powder, printing, hands, shelves, due, luck.choice((1, 1, 2, 3, 5)), release))
    return tuple(jobs)


def quarters(hours):
    return math.ceil(hours * H - 1e-9)


def workload(shop, jobs, weeks=0, **changes):
    """The workload of a shop and jobs; `changes` replace its parts."""
    count = len(jobs)
    latest = max(max(job.release, job.due) for job in jobs)
    attended = workclock.weekly(OPENS, shop.closes, shop.days, weeks or 8 + latest // WEEK + count // 8)
    starts = workclock.starts(attended, 1)

    def row(of):
        return np.array([of(job) for job in jobs], np.int64)

    families = range(len(shop.fire))
    parts = {
        "builds": Builds(
            release=row(lambda job: job.release),
            printing=row(lambda job: quarters(job.print)),
            hands=row(lambda job: quarters(job.hands)),
            powder=row(lambda job: job.powder),
            box=np.zeros(count, np.int64),
            programme=row(lambda job: shop.programme[job.powder]),
            room=np.ones(count, np.int64),
            printers=np.ones((count, shop.printers), bool),
            crews=np.ones((count, 1), bool),
            fed=np.zeros(count, np.int64),
            back=np.zeros(count, np.int64),
        ),
        "portions": Portions(
            build=np.arange(count),
            order=np.arange(count),
            family=row(lambda job: job.powder),
            shelves=row(lambda job: job.shelves),
        ),
        "wishes": Wishes(due=row(lambda job: job.due), weight=row(lambda job: job.weight)),
        "printers": Printers(change=np.array(shop.change), holds=np.full(shop.printers, -1), starts=starts),
        "boxes": JobBoxes(number=np.array([shop.boxes])),
        "ovens": Ovens(
            room=np.full(shop.ovens, shop.oven_boxes),
            may=np.ones((shop.ovens, len(shop.cure)), bool),
            length=np.array(shop.cure),
            wait=np.full(len(shop.cure), shop.wait),
            starts=starts,
        ),
        "crews": Crews(people=np.array([shop.people]), clocks=(workclock.ticking(attended),)),
        "furnaces": Furnaces(
            room=np.array([room for room, _ in shop.furnaces]),
            may=np.array([[family in may for family in families] for _, may in shop.furnaces]),
            length=np.array(shop.fire),
            wait=np.full(len(shop.fire), NEVER),
            starts=starts,
        ),
        "stock": PowderStock(
            deliveries=np.zeros((0, 3), np.int64), counted=np.zeros(len(shop.change), bool), sieving=0
        ),
        "blocks": Blocks(
            machine=np.zeros(0, np.int64), begins=np.zeros(0, np.int64), ends=np.zeros(0, np.int64)
        ),
        "prices": Prices(
            late=1,
            firing=np.full(len(shop.furnaces), shop.firing),
            heating=np.full(shop.ovens, shop.heating),
            changing=0,
        ),
    }
    return Workload(base="", **(parts | changes))
