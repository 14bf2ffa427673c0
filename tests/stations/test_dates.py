"""Dates at a chance against cases worked by hand, and what must hold of every plan played through."""

import dataclasses

import numpy as np
import pytest

import cell_goods as hand
from cell_goods import FRI, THU, H, Job, at
from sagger.goods.schedule import PlanningEffort
from sagger.goods.shift import NEVER
from sagger.stations import dates, schedule

FEW = PlanningEffort(trials=400, rounds=0, nodes=0)
ONE = dataclasses.replace(
    hand.Shop(), printers=1, boxes=1, ovens=1, people=1, cure=(12 * H,), programme=(0, 0, 0), wait=NEVER
)


def played(work, plan, printing, hands, patience=16):
    durations = dates.Drawn(np.array(printing), np.array(hands))
    return dates.order_ends_drawn(work, schedule.nothing(work), plan, durations, patience)


def test_one_build_by_hand():
    """Print 10 h (.95) or 40 h (.05), hands 3 h (.7) or 5 h (.3): four dates, exactly, with no luck in it."""
    work = hand.workload(ONE, [Job(0, 10, 3, 2, 0, 1)])
    plan = schedule.plan(work, effort=FEW).schedule
    cases = [(10, 3, 0.665), (10, 5, 0.285), (40, 3, 0.035), (40, 5, 0.015)]
    ends = played(work, plan, [[p * H] for p, _, _ in cases], [[h * H] for _, h, _ in cases])[:, 0]
    assert ends.tolist() == [at(THU, 12), at(THU, 14), at(FRI, 12), at(FRI, 14)]
    share = np.array([weight for _, _, weight in cases])
    np.testing.assert_allclose(share[ends <= at(THU, 13)].sum(), 0.665, rtol=1e-12)
    found = [dates.quantile(ends, chance, share) for chance in (0.6, 0.9, 0.95, 0.96)]
    assert found == [at(THU, 12), at(THU, 14), at(THU, 14), at(FRI, 12)]


def test_a_load_waits_for_all_its_members_by_hand():
    """Three builds, each there in time with 0.9: all are with 0.729; eight: 0.430467."""
    for members, chance in ((3, 0.729), (8, 0.430467)):
        cases = np.indices((2,) * members).reshape(members, -1)
        share = np.prod(np.where(cases == 0, 0.9, 0.1), axis=0)
        late = cases.max(axis=0)
        np.testing.assert_allclose(share[late == 0].sum(), chance, rtol=1e-6)
        assert dates.quantile(late, chance - 1e-6, share) == 0
        assert dates.quantile(late, chance + 1e-6, share) == 1


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_durations_as_planned_give_the_plan(seed):
    work = hand.workload(hand.Shop(), hand.drawn(20, seed))
    plan = schedule.plan(work, effort=FEW).schedule
    ends = played(work, plan, [work.builds.printing], [work.builds.hands])
    assert ends[0].tolist() == schedule.order_ends(work, plan).tolist()


def test_a_heat_waits_a_little_and_leaves_without_who_is_later():
    """Two boxes share a heat on Tuesday 07:00; the second print comes 2 h later than that, then 30 h."""
    shop = dataclasses.replace(ONE, boxes=2, printers=2, people=2)
    work = hand.workload(shop, [Job(0, 10, 3, 2, 0, 1), Job(0, 10, 3, 2, 0, 1)])
    plan = schedule.plan(work, effort=FEW).schedule
    assert plan.heat.tolist() == [0, 0] and plan.load.tolist() == [0, 0]
    hands = [[3 * H, 3 * H]] * 3
    prints = [[10 * H, 10 * H], [10 * H, 26 * H], [10 * H, 54 * H]]
    ends = played(work, plan, prints, hands)
    assert ends[0].tolist() == schedule.order_ends(work, plan).tolist() == [at(THU, 12)] * 2
    assert ends[1].tolist() == [at(THU, 12)] * 2
    assert ends[2, 0] == at(THU, 12) < ends[2, 1]


def test_the_same_build_has_the_same_luck_whatever_else_is_in_the_book():
    few, more = (hand.workload(hand.Shop(), hand.drawn(20)[:count]) for count in (5, 9))
    scatter = dates.Scattering(0.05, 0.2, 0.03)
    names = [(f"order {number}", "1") for number in range(9)]
    one = dates.drawn(few, names[:5], scatter, 200, 7)
    other = dates.drawn(more, names, scatter, 200, 7)
    assert np.array_equal(one.printing, other.printing[:, :5])
    assert not np.array_equal(one.printing, dates.drawn(few, names[:5], scatter, 200, 8).printing)


def test_drawn_durations_keep_the_mean():
    """Lognormal with the planned mean; 3 % of builds printed twice."""
    work = hand.workload(hand.Shop(), hand.drawn(1))
    durations = dates.drawn(work, [("order", "1")], dates.Scattering(0.05, 0.2, 0.03), 20_000, 1)
    np.testing.assert_allclose(durations.printing.mean(), 1.03 * work.builds.printing[0], rtol=0.01)
    np.testing.assert_allclose(durations.hands.mean(), work.builds.hands[0], rtol=0.01)
