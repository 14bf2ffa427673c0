"""Schedules of small cells against times worked by hand, and what must hold of every schedule.

By hand: the cell of `cell_goods` with one printer, one oven, one person, a furnace for each powder; cure
12 h, firing 26 h and 30 h, change-over 3 h one way and 8 h the other.
"""

import dataclasses

import numpy as np
import pytest

import cell_goods as hand
from cell_goods import FRI, MON, SAT, THU, TUE, WED, H, Job, at
from sagger.errors import StopError
from sagger.goods.schedule import PlanningEffort
from sagger.goods.shift import DAY, NEVER
from sagger.goods.workload import PowderStock, Printers
from sagger.stations import schedule
from sagger.stations.schedule.ranking import urgency

FEW = PlanningEffort(trials=400, rounds=0, nodes=0)
ONE = hand.Shop(
    printers=1,
    boxes=1,
    ovens=1,
    people=1,
    programme=(0, 0),
    cure=(12 * H,),
    furnaces=((8, (0,)), (8, (1,))),
    fire=(26 * H, 30 * H),
    change=((0, 3 * H), (8 * H, 0)),
    wait=NEVER,
)
TWO = dataclasses.replace(ONE, boxes=2)


def planned(shop, jobs, effort=FEW, **changes):
    work = hand.workload(shop, jobs, **changes)
    made = schedule.plan(work, effort=effort)
    assert schedule.faults(work, made.schedule) == ()
    return work, made


def times(shop, jobs):
    work, made = planned(shop, jobs)
    return made.schedule.start.tolist(), schedule.order_ends(work, made.schedule).tolist()


@pytest.mark.slow
def test_one_box_by_hand():
    jobs = [Job(0, 10, 3, 2, 0, 9), Job(1, 10, 3, 2, 0, 1)]
    assert times(ONE, jobs) == ([at(MON, 7), at(WED, 10)], [at(THU, 12), at(SAT, 16)])


def test_two_boxes_by_hand():
    jobs = [Job(0, 10, 3, 2, 0, 9), Job(1, 10, 3, 2, 0, 1)]
    assert times(TWO, jobs) == ([at(MON, 7), at(TUE, 7)], [at(THU, 12), at(FRI, 16)])


def test_two_boxes_in_the_other_order_by_hand():
    jobs = [Job(0, 10, 3, 2, 0, 1), Job(1, 10, 3, 2, 0, 9)]
    assert times(TWO, jobs) == ([at(TUE, 7), at(MON, 7)], [at(FRI, 12), at(THU, 16)])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("printing", "ready", "held"),
    [
        (7.75, at(WED, 12), 27),
        (8, at(THU, 12), 43.25),
        (10, at(THU, 12), 43.25),
        (26, at(THU, 12), 45.25),
        (31.75, at(THU, 12), 51),
        (32, at(FRI, 12), 67.25),
    ],
)
def test_a_quarter_of_an_hour_can_cost_a_day(printing, ready, held):
    """Ready by hand; the least hold of a box is over every attended start of a week."""
    assert times(ONE, [Job(0, printing, 3, 2, 0, 1)])[1] == [ready]
    assert least_hold(printing) == held * H


def least_hold(printing):
    """A box by itself, let begin at every quarter of a week with somebody there."""
    held = []
    for release in (day * DAY + quarter for day in range(5) for quarter in range(7 * H, 15 * H)):
        work, made = planned(
            ONE, [Job(0, printing, 3, 2, 0, 1, release)], PlanningEffort(trials=0, rounds=0, nodes=0)
        )
        done = work.crews.clocks[0].moments[made.schedule.bench[0] + 3 * H - 1] + 1
        held.append(done - made.schedule.start[0])
    return min(held)


@pytest.mark.parametrize(
    ("release", "waits", "limit", "starts"),
    [
        (at(THU, 15) - 1, 16, 48, at(THU, 14, 45)),
        (at(THU, 15) - 1, 16, 16, at(THU, 14, 45)),
    ],
)
def test_limits_of_waiting_by_hand(release, waits, limit, starts):
    """A print from Thursday 14:45 for 16 h 15 min ends on Friday 07:00."""
    shop = dataclasses.replace(ONE, wait=limit * H)
    assert times(shop, [Job(0, 0.25 + 16, 3, 2, 0, 1, release)])[0] == [starts]


EDGES = [at(FRI, 14, 45), at(FRI, 14, 45) + 1, at(SAT, 7) - 1, at(SAT, 7)]


def waiting_ends(limit):
    """Ends of prints that must wait longer than the limit, through a week and around the edges."""
    shop, length = dataclasses.replace(ONE, wait=limit * H), 1
    for end in sorted({*range(at(TUE, 0), at(TUE, 0, week=1), 7), *EDGES}):
        work = hand.workload(shop, [Job(0, length / H, 3, 2, 0, 1, end - length)])
        any_time = np.arange(len(work.printers.starts))
        work = dataclasses.replace(work, printers=dataclasses.replace(work.printers, starts=any_time))
        begun = schedule.plan(work, effort=PlanningEffort(trials=0, rounds=0, nodes=0)).schedule.start[0]
        if begun != end - length:
            yield end


@pytest.mark.slow
def test_prints_that_may_not_end_by_hand():
    """48 h: none may end after the last start of Friday, 14:45, and before Saturday 07:00; 72 h: all may."""
    forbidden = list(waiting_ends(48))
    assert (forbidden[0], forbidden[-1]) == (at(FRI, 14, 45) + 1, at(SAT, 7) - 1) and len(forbidden) > 8
    assert list(waiting_ends(72)) == []


def test_change_overs_have_a_direction_by_hand():
    """Two cycles through three powders: 13 h one way, 18 h the other."""
    change = np.array([[0, 3, 6], [8, 0, 6], [4, 4, 0]]) * H
    assert change[[0, 1, 2], [1, 2, 0]].sum() == 13 * H
    shop = dataclasses.replace(
        hand.Shop(), printers=1, boxes=9, days=tuple(range(7)), closes=96, people=9, wait=NEVER
    )
    for order, cost in (((0, 1, 2, 0), 13), ((0, 2, 1, 0), 18)):
        jobs = [Job(powder, 1, 1, 1, 0, 4 - place, 0) for place, powder in enumerate(order)]
        rows = hand.workload(dataclasses.replace(shop, change=tuple(map(tuple, change.tolist()))), jobs)
        best = schedule.plan(rows, effort=PlanningEffort(trials=0, rounds=0, nodes=0))
        ordered = [order[build] for build in np.argsort(best.schedule.start)]
        assert ordered == list(order) and best.worth.changing == cost * H


def test_more_powder_than_there_is_is_told_before_any_search():
    """100 kg; each build takes 60 and gives back 45 two days later: two more follow, a fourth never can."""
    jobs = [Job(0, 10, 3, 1, 0, 1)] * 4
    stock = PowderStock(deliveries=np.array([[0, 0, 100_00]]), counted=np.ones(2, bool), sieving=0)

    def work(count, **parts):
        rows = hand.workload(TWO, jobs[:count], stock=dataclasses.replace(stock, **parts))
        kilos = dict(fed=np.full(count, 60_00), back=np.full(count, 45_00))
        return dataclasses.replace(rows, builds=dataclasses.replace(rows.builds, **kilos))

    made = schedule.plan(work(3), effort=FEW)
    assert schedule.faults(work(3), made.schedule) == ()
    freed = np.sort(work(3).crews.clocks[0].moments[made.schedule.bench + 3 * H - 1] + 1)
    assert np.all(np.sort(made.schedule.start)[1:] >= freed[:-1])
    with pytest.raises(StopError, match=r"never without a delivery of 5\b.* kg"):
        schedule.plan(work(4), effort=FEW)
    arrives = np.array([[0, 0, 100_00], [0, at(FRI, 7), 5_00]])
    assert schedule.plan(work(4, deliveries=arrives), effort=FEW).worth.loads >= 1


def test_apparent_tardiness_by_hand():
    """K 2, mean 10, now 0: (w 3, p 6, d 20) gives 0.5 exp(-0.7), (w 1, p 2, d 4) gives 0.5 exp(-0.1)."""
    found = urgency(np.array([3, 1]), np.array([6.0, 2.0]), np.array([14.0, 2.0]), 2.0, 10.0)
    np.testing.assert_allclose(found, [0.248293, 0.452419], rtol=2e-6)


@pytest.mark.parametrize("seed", range(1, 6))
def test_every_schedule_passes_the_checker_and_none_undercuts_the_bound(seed):
    _, made = planned(hand.Shop(), hand.drawn(20, seed), PlanningEffort(trials=600, rounds=0, nodes=0))
    assert made.bound <= made.worth.cost
    assert made.worth.cost == made.worth.late + made.worth.money


def test_one_start_a_quarter_earlier_breaks_a_rule_or_was_not_tight():
    work, made = planned(hand.Shop(), hand.drawn(20), FEW)
    loose = 0
    for build in range(20):
        start = made.schedule.start.copy()
        start[build] -= 1
        loose += not schedule.faults(work, dataclasses.replace(made.schedule, start=start))
    assert loose < 10


def test_the_same_effort_gives_the_same_schedule():
    work = hand.workload(hand.Shop(), hand.drawn(20))
    one, other = (schedule.plan(work, effort=FEW).schedule for _ in range(2))
    for name in ("printer", "start", "heat", "crew", "bench", "load"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


def test_what_is_begun_stays():
    work, made = planned(hand.Shop(), hand.drawn(20), FEW)
    now = at(TUE, 9, week=1)
    stands = schedule.before(work, made.schedule, now, now + 8 * H)
    again = schedule.plan(work, stands, FEW)
    assert schedule.faults(work, again.schedule, stands) == ()
    assert 0 < stands.fired.sum() < stands.printed.sum() < 20
    moved = dataclasses.replace(again.schedule, start=again.schedule.start + stands.printed)
    assert any("has moved" in fault for fault in schedule.faults(work, moved, stands))


def test_where_nothing_is_free_the_schedule_stays():
    work, made = planned(hand.Shop(), hand.drawn(6), FEW)
    stands = schedule.before(work, made.schedule, 0, 10_000)
    again = schedule.plan(work, stands, dataclasses.replace(FEW, rounds=1))
    assert np.array_equal(again.schedule.start, made.schedule.start)
    assert (again.worth.cost, again.trials) == (made.worth.cost, 0)


def test_a_printer_that_holds_another_powder_is_changed_over_first():
    jobs = [Job(1, 10, 3, 2, 0, 1)]
    rows = hand.workload(ONE, jobs)
    held = Printers(change=rows.printers.change, holds=np.array([0]), starts=rows.printers.starts)
    _, made = planned(ONE, jobs, printers=held)
    assert made.schedule.start.tolist() == [at(MON, 7)] and made.worth.changing == 3 * H
