"""Best schedules of small cells, by two methods that share only the calendar; what holds of any best."""

import dataclasses
import functools
import itertools

import numpy as np
import pytest

import cell_goods as hand
from cell_goods import H, Job
from sagger.goods.schedule import PlanningEffort
from sagger.goods.shift import DAY, NEVER
from sagger.physics import workclock
from sagger.stations import schedule
from sagger.stations.schedule import grid
from sagger.tick import Tick

FULL = PlanningEffort(trials=2000, rounds=12)


@functools.cache
def best(shop, jobs, **changes):
    """The schedule of least cost, proven."""
    work = hand.workload(shop, jobs, **changes)
    found = schedule.plan(work, effort=FULL)
    assert schedule.faults(work, found.schedule) == ()
    assert found.bound == found.worth.cost, "not proven"
    return found.worth


def test_the_tiny_cell():
    """Three loads {0, 2}, {1}, {3} and four heats: 220, by enumeration below too."""
    work = hand.workload(hand.TINY, hand.TINY_JOBS)
    found = schedule.plan(work, effort=FULL)
    assert (found.worth.cost, found.bound, found.worth.loads, found.worth.heats) == (220, 220, 3, 4)
    loads = {frozenset(np.flatnonzero(found.schedule.load == load).tolist()) for load in range(3)}
    assert loads == {frozenset({0, 2}), frozenset({1}), frozenset({3})}


@pytest.mark.slow
def test_the_solver_stops_when_somebody_says_enough():
    """Twenty builds take the solver a minute; the answer is whole, and the bound true."""
    work = hand.workload(hand.Shop(), hand.drawn(20))
    looks = itertools.count()
    tick = Tick(lambda doing, done, total: None, lambda: False, lambda: next(looks) > 12)
    found = schedule.plan(work, effort=PlanningEffort(trials=2000, rounds=12, nodes=0), tick=tick)
    assert schedule.faults(work, found.schedule) == ()
    assert 402 <= found.bound <= 450 <= found.worth.cost


@pytest.mark.slow
def test_the_tiny_cell_by_enumeration():
    assert enumerated(hand.TINY, hand.TINY_JOBS) == (220, 51_840)


def ordered_batches(members, fits):
    """Every sequence of batches that together hold all members once."""

    def split(left):
        if not left:
            yield ()
            return
        head, *tail = left
        for count in range(len(tail) + 1):
            for mates in itertools.combinations(tail, count):
                if fits((head, *mates)):
                    for rest in split([each for each in tail if each not in mates]):
                        yield ((head, *mates), *rest)

    for batches in split(list(members)):
        yield from itertools.permutations(batches)


def enumerated(shop, jobs):
    """Least cost of a cell with one of each, over all orders of prints, heats, bench work and loads; and how
    many of them can be done. Earliest times: no limit of waiting, and to be earlier never costs."""
    clock = workclock.ticking(workclock.weekly(hand.OPENS, hand.CLOSES, range(5), 12))
    all_jobs = range(len(jobs))
    heats = list(ordered_batches(all_jobs, lambda b: len(b) <= shop.oven_boxes))
    room = shop.furnaces[0][0]
    loads = list(
        ordered_batches(
            all_jobs,
            lambda b: len({jobs[j].powder for j in b}) == 1 and sum(jobs[j].shelves for j in b) <= room,
        )
    )
    least, count = None, 0
    for prints, heat, bench in itertools.product(
        itertools.permutations(all_jobs), heats, itertools.permutations(all_jobs)
    ):
        freed = emptied(shop, jobs, clock, (prints, heat, bench))
        if freed is None:
            continue
        for load in loads:
            count += 1
            cost = (
                shop.firing * len(load) + shop.heating * len(heat) + lateness(shop, jobs, clock, load, freed)
            )
            least = cost if least is None else min(least, cost)
    return least, count


def lateness(shop, jobs, clock, loads, freed):
    at = total = 0
    for load in loads:
        at = (
            int(workclock.attended(clock, max(at, *(freed[j] for j in load))))
            + shop.fire[jobs[load[0]].powder]
        )
        total += sum(jobs[j].weight * max(0, at - jobs[j].due) for j in load)
    return total


def emptied(shop, jobs, clock, orders):
    """Moment at which each box is empty if prints, heats and bench work keep these orders; None if they wait
    for each other."""
    prints, heats, bench = orders
    printed, opened, freed = {}, {}, {}
    for _ in range(3 * len(jobs)):
        progress = len(printed) + len(opened) + len(freed)
        if len(printed) < len(jobs):
            print_next(shop, jobs, clock, prints, (printed, freed))
        heat_on(shop, clock, heats, printed, opened)
        bench_on(jobs, clock, bench, opened, freed)
        if len(printed) + len(opened) + len(freed) == progress:
            break
    return freed if len(freed) == len(jobs) else None


def print_next(shop, jobs, clock, prints, done):
    """The next print in its order, if there is a box for it."""
    printed, freed = done
    started = len(printed)
    need = started - shop.boxes + 1
    free = sorted(freed[j] for j in prints[:started] if j in freed)
    if len(free) < need:
        return
    job = prints[started]
    at = jobs[job].release
    if started:
        last = prints[started - 1]
        at = max(at, printed[last] + shop.change[jobs[last].powder][jobs[job].powder])
    at = max(at, free[need - 1]) if need > 0 else at
    printed[job] = int(workclock.attended(clock, at)) + hand.quarters(jobs[job].print)


def heat_on(shop, clock, heats, printed, opened):
    """All heats in their order whose boxes are printed."""
    at = 0
    for heat in heats:
        if heat[0] in opened:
            at = opened[heat[0]]
        elif all(j in printed for j in heat):
            at = int(workclock.attended(clock, max(at, *(printed[j] for j in heat)))) + shop.cure[0]
            opened |= dict.fromkeys(heat, at)
        else:
            return


def bench_on(jobs, clock, bench, opened, freed):
    """All bench work in its order whose boxes may be opened."""
    at = 0
    for job in bench:
        if job in freed:
            at = freed[job]
        elif job in opened:
            begin = int(workclock.worked(clock, max(at, opened[job])))
            freed[job] = at = int(workclock.finish(clock, begin + hand.quarters(jobs[job].hands)))
        else:
            return


@pytest.mark.slow
def test_the_trial_cell():
    """Twenty builds, by the whole model here and in a trial by other hands."""
    assert best(hand.Shop(), hand.drawn(20)).cost == 450


def test_day_by_day_is_never_above_the_best():
    work = hand.workload(hand.TINY, hand.TINY_JOBS)
    found = schedule.plan(work, effort=PlanningEffort(trials=200, rounds=0, nodes=50))
    assert grid.bound(work, 50).bound <= 220 <= found.worth.cost and found.bound <= 220


FEW_JOBS = hand.drawn(6, 3)
SMALL = dataclasses.replace(
    hand.Shop(), printers=1, boxes=2, people=1, ovens=1, furnaces=((6, (0, 1)), (6, (0, 2)))
)
MORE = [
    {"printers": 2},
    {"boxes": 3},
    {"people": 2},
    {"furnaces": ((7, (0, 1)), (7, (0, 2)))},
    {"closes": 17 * H},
]


@pytest.mark.slow
@pytest.mark.parametrize("more", MORE, ids=lambda more: next(iter(more)))
def test_more_of_anything_never_costs(more):
    assert best(dataclasses.replace(SMALL, **more), FEW_JOBS).cost <= best(SMALL, FEW_JOBS).cost


@pytest.mark.slow
def test_numbering_builds_otherwise_changes_nothing():
    assert best(SMALL, FEW_JOBS[::-1]).cost == best(SMALL, FEW_JOBS).cost


@pytest.mark.slow
def test_without_one_order_the_others_are_no_later():
    free = dataclasses.replace(SMALL, firing=0, heating=0)
    least = best(free, FEW_JOBS).late
    for gone in range(0, len(FEW_JOBS), 3):
        rest = FEW_JOBS[:gone] + FEW_JOBS[gone + 1 :]
        own = dataclasses.replace(FEW_JOBS[gone], weight=0)
        assert best(free, rest).late <= best(free, (*rest, own)).late <= least


@pytest.mark.slow
def test_all_times_longer_by_one_factor_with_hands_day_and_night():
    """Calendars do not scale, so nobody sleeps here."""
    jobs = FEW_JOBS[:5]
    always = dataclasses.replace(SMALL, firing=0, heating=0, wait=NEVER)

    def at_all_hours(factor):
        shop = dataclasses.replace(
            always,
            cure=tuple(factor * each for each in always.cure),
            fire=tuple(factor * each for each in always.fire),
            change=tuple(tuple(factor * each for each in row) for row in always.change),
        )
        longer = [
            Job(
                each.powder,
                factor * each.print,
                factor * each.hands,
                each.shelves,
                factor * each.due,
                each.weight,
                factor * each.release,
            )
            for each in jobs
        ]
        attended = np.ones(200 * DAY, bool)
        starts = np.arange(len(attended) + 1)
        work = hand.workload(shop, longer)
        work = dataclasses.replace(
            work,
            printers=dataclasses.replace(work.printers, starts=starts),
            ovens=dataclasses.replace(work.ovens, starts=starts),
            furnaces=dataclasses.replace(work.furnaces, starts=starts),
            crews=dataclasses.replace(work.crews, clocks=(workclock.ticking(attended),)),
        )
        found = schedule.plan(work, effort=FULL)
        assert found.bound == found.worth.cost
        return found.worth.cost

    assert at_all_hours(2) == 2 * at_all_hours(1)
