"""What must hold of price, chance and calendar, whatever the order."""

import math
from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import furnace_goods as hand
from sagger.goods.order import Tolerance
from sagger.stations import cost, promise
from sagger.stations.cost import money
from sagger.stations.cost.calendar import attended
from sagger.statistics import chance, joint

pytestmark = pytest.mark.slow

FEW = settings(max_examples=20, deadline=None)
ORDERS = settings(max_examples=6, deadline=None)  # each plans an order's furnace and price


def quote(quantities, **changes):
    greens = tuple(hand.green(hand.part(quantity=quantity)) for quantity in quantities)
    cell = hand.cell(**changes)
    fired = hand.fire(greens, cell.powder, cell.furnace)
    return cost.quote(hand.order(greens), greens, (hand.build(greens),), fired, cell, hand.promised(greens))


@ORDERS
@given(st.lists(st.integers(1, 300), min_size=1, max_size=4))
def test_nothing_is_charged_twice_or_lost(quantities):
    found = quote(quantities)
    np.testing.assert_allclose(sum(line.amount for line in found.lines), found.total, rtol=1e-12)
    amounts = [price.amount for price in found.prices]
    np.testing.assert_allclose(sum(amounts), found.total, rtol=1e-9)


@ORDERS
@given(st.integers(1, 400))
def test_two_parts_alike_cost_alike(quantity):
    one, other = quote([quantity, quantity]).prices
    np.testing.assert_allclose(one.price_per_piece, other.price_per_piece, rtol=1e-12)


def unit_price(quantity):
    """Worked sample by lots: 24 to a level of 400 layers, 10 levels to a box, 120 to a furnace run.

    As in that table, powder lost goes with the pieces; by the loose powder it would jump with each level too.
    """
    levels, share = math.ceil(quantity / 24), quantity / 240
    boxes, runs = math.ceil(levels / 10), math.ceil(quantity / 120)
    material = money.material(9.39235 * share, 1.63091 * share, 35.0) + 0.589157 * share * 30
    printing = levels * 400 * 12 + boxes * 5400
    machine = money.run(printing, 18.6592 / 3600, boxes * 5400, 40 / 3600, 20 * boxes)
    furnace = runs * (26 * 14.0639 + 153 + 40) + 0.05 * quantity
    return (material + machine + boxes * 58 + 270 * share + furnace + quantity / 3) / quantity


@pytest.mark.parametrize(
    ("quantity", "price"),
    [
        (24, 34.42),
        (25, 34.17),
        (48, 19.32),
        (120, 10.27),
        (121, 15.03),
        (240, 9.573),
        (241, 12.66),
        (480, 9.573),
        (481, 11.12),
    ],
)
def test_unit_price_is_a_saw(quantity, price):
    """Ruffo, Tuck and Hague 2006: the unit price is a saw, not flat; values worked apart (table of lots)."""
    np.testing.assert_allclose(unit_price(quantity), price, atol=0.0051, rtol=0)


def test_station_jumps_by_a_whole_run_where_one_more_piece_needs_it():
    load = hand.fire((hand.green(hand.part(quantity=1)),), hand.powder(), hand.furnace()).load
    full = load.fits[0].per_tray * load.trays_per_run

    def runs(quantity):
        (amount,) = [line.amount for line in quote([quantity]).lines if line.name == "sinter"]
        return amount

    np.testing.assert_allclose(runs(full), runs(1), rtol=1e-12)
    np.testing.assert_allclose(runs(full + 1), 2 * runs(1), rtol=1e-12)


@FEW
@given(st.floats(-1, 1), st.floats(0.001, 1), st.floats(0.0, 2.0), st.floats(0.0, 1.0))
def test_wider_limits_are_met_more_often(mean, u, half, more):
    shared, own = np.linspace(-2, 2, 9)[:, None] + mean, u * np.linspace(-3, 3, 31)[:, None]
    limits = (joint.Limits(np.array([-most]), np.array([most])) for most in (half, half + more))
    narrow, wide = (joint.inside(shared, own, room)[0] for room in limits)
    assert 0 <= narrow <= wide <= 1


@ORDERS
@given(st.floats(0.01, 0.5), st.floats(0.01, 0.5))
def test_promise_grows_with_tolerance(one, other):
    def least(value):
        greens = (hand.green(hand.part(tolerance=Tolerance(kind="mm", value=value))),)
        fired = hand.fire(greens, hand.powder(), hand.furnace())
        found = promise.state(hand.order(greens), greens, (hand.build(greens),), fired, hand.cell())
        return found.pieces[0].chance

    assert least(min(one, other)) <= least(max(one, other))


@FEW
@given(st.lists(st.floats(0.0, 10.0), min_size=1, max_size=8).filter(any))  # down to the tiniest
def test_shares_sum_to_one(contributions):
    np.testing.assert_allclose(chance.shares(contributions).sum(), 1, rtol=1e-9)


@FEW
@given(st.integers(0, 20_000), st.integers(0, 60 * 3600), st.integers(3600, 24 * 3600))
def test_attended_work_takes_its_time_and_no_weekend(minutes, seconds, working):
    ready = datetime(2030, 1, 7) + timedelta(minutes=minutes)
    begins, ends = attended(ready, seconds, working)
    assert ready <= begins <= ends and (ends - begins).total_seconds() >= seconds - 1e-3
    later = attended(ready + timedelta(hours=1), seconds, working)[1]
    assert later >= ends or math.isclose((later - ends).total_seconds(), 0, abs_tol=1e-3)
    if seconds > 0:
        assert begins.weekday() < 5


@ORDERS
@given(st.floats(1.0, 5.0))
def test_a_dearer_furnace_touches_its_own_line_and_overhead_only(times):
    plain, dear = quote([10]), quote([10], furnace=hand.furnace(run_price=153.0 * times))
    changed = {
        a.name
        for a, b in zip(plain.lines, dear.lines, strict=True)
        if not math.isclose(a.amount, b.amount, rel_tol=1e-12)
    }
    assert changed <= {"sinter", "overhead"}
