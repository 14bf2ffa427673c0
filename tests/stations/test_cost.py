"""Lines, prices, promises and dates."""

import dataclasses
from datetime import datetime

import numpy as np
import pytest

import furnace_goods as hand
from sagger.errors import InputError, OrderError
from sagger.goods.learned import Approved, BedMap, Scatter
from sagger.goods.order import Tolerance
from sagger.stations import cost
from sagger.stations.cost.calendar import attended
from sagger.stations.cost.promise import half_width_mm

ISO_V = ((3.0, 6.0, 0.5), (6.0, 30.0, 1.0))


def quote(greens=None, builds=None, order=None, **changes):
    greens = greens or (hand.green(),)
    cell = hand.cell(**changes)
    fired = hand.fire(greens, cell.powder, cell.furnace) if cell.furnace else None
    return cost.quote(order or hand.order(greens), greens, builds or (hand.build(greens),), fired, cell)


def line(found, name):
    (only,) = [each.amount for each in found.lines if each.name == name]
    return only


def test_lines_of_the_worked_sample():
    """quality_cost.md 7.2, worked there: powder 385.81, binder 17.67, cure 58, inspect 80; print without
    its 20 of consumables 336.78. Half the last digit of 17.67 is 3e-4 of it."""
    found = quote((hand.green(hand.part(quantity=240)),))
    wanted = {"powder": 385.81, "binder": 17.67, "cure": 58.00, "inspect": 80.00, "print": 336.78}
    for name, amount in wanted.items():
        np.testing.assert_allclose(line(found, name), amount, rtol=3e-4, err_msg=name)


def test_overhead_is_on_all_but_material():
    found = quote()
    rest = found.total - line(found, "powder") - line(found, "binder") - line(found, "overhead")
    np.testing.assert_allclose(line(found, "overhead"), 0.15 * rest, rtol=1e-12)


def test_furnace_is_charged_by_whole_runs():
    few = quote((hand.green(hand.part(quantity=2)),))
    fired = hand.fire((hand.green(),), hand.powder(), hand.furnace())
    each = fired.run * 14 / 3600 + 153 + 40
    np.testing.assert_allclose(line(few, "sinter"), each, rtol=1e-9)


def test_prices_of_good_pieces_add_up_to_the_total():
    greens = (hand.green(hand.part(quantity=30)), hand.green(hand.part(size=(40.0, 30.0, 20.0), quantity=7)))
    found = quote(greens)
    good = [pieces * found.yield_total for pieces in (30, 7)]
    summed = sum(n * price.price_per_piece for n, price in zip(good, found.prices, strict=True))
    np.testing.assert_allclose(summed, found.total, rtol=1e-12)
    assert found.prices[1].price_per_piece > found.prices[0].price_per_piece
    assert [price.good_pieces for price in found.prices] == [27, 6]


def test_yield_of_sand_leaves_the_furnace_out():
    greens = (hand.green(given=hand.factors((1.0,) * 3, (0.0,) * 3, "casting contraction")),)
    found = quote(greens, powder=hand.sand(), furnace=None)
    np.testing.assert_allclose(found.yield_total, 0.98 * 0.97 * 0.99, rtol=1e-12)
    assert "sinter" not in [each.name for each in found.lines]
    assert all("furnace" not in step.name for step in found.steps)


def test_part_without_a_piece_has_no_price():
    greens = (hand.green(), hand.green())
    with pytest.raises(InputError, match="without a piece"):
        quote(greens, builds=(hand.build(greens, counts=[3, 0]),))


def test_boxes_share_one_printer():
    greens = (hand.green(),)
    found = quote(greens, builds=(hand.build(greens), hand.build(greens, number=2)))
    at = {step.name: step for step in found.steps}
    assert at["set up box 2"].starts >= at["print box 1"].ends
    assert line(found, "print") == pytest.approx(2 * line(quote(greens), "print"), rel=1e-12, abs=0)


def test_machines_run_through_the_night_and_people_do_not():
    found = quote()
    at = {step.name: step for step in found.steps}
    assert at["print box 1"].starts == "2030-01-07T09:30" and at["print box 1"].ends == "2030-01-07T22:50"
    assert at["load oven, box 1"].starts == "2030-01-08T08:00"
    assert found.ready == found.steps[-1].ends


@pytest.mark.parametrize(
    ("ready", "hours", "begins", "ends"),
    [
        ("2030-01-07T06:00", 1, "2030-01-07T08:00", "2030-01-07T09:00"),
        ("2030-01-07T15:00", 2, "2030-01-07T15:00", "2030-01-08T09:00"),
        ("2030-01-11T15:30", 1, "2030-01-11T15:30", "2030-01-14T08:30"),  # over a weekend
        ("2030-01-12T10:00", 17, "2030-01-14T08:00", "2030-01-16T09:00"),
        ("2030-01-07T16:00", 1, "2030-01-08T08:00", "2030-01-08T09:00"),
        ("2030-01-12T10:00", 0, "2030-01-12T10:00", "2030-01-12T10:00"),
    ],
)
def test_attended_work_keeps_working_hours(ready, hours, begins, ends):
    found = attended(datetime.fromisoformat(ready), hours * 3600.0, 8 * 3600.0)
    assert [at.isoformat(timespec="minutes") for at in found] == [begins, ends]


def test_late_order_is_told_by_how_many_days():
    early, late = hand.green(hand.part(due="2030-03-01")), hand.green(hand.part(due="2030-01-08"))
    days = [finding for finding in quote((early, late)).findings if finding.what == "due date"]
    assert [finding.level for finding in days] == ["ok", "look"] and "days late" in days[1].text


def test_dates_that_are_none_are_refused():
    greens = (hand.green(),)
    with pytest.raises(OrderError, match="start"):
        quote(greens, order=hand.order(greens, start="soon"))
    with pytest.raises(OrderError, match="due"):
        quote((hand.green(hand.part(due="soon")),))


def test_wider_tolerance_is_met_more_often():
    tight, wide = (
        quote((hand.green(hand.part(tolerance=Tolerance(kind="mm", value=value))),), builds=None)
        for value in (0.05, 0.5)
    )
    assert all(a.chance < b.chance for a, b in zip(tight.promises, wide.promises, strict=True))
    assert [promise.dimension for promise in wide.promises] == ["x", "y", "z"]


def test_shares_of_variance_sum_to_one():
    for promise in quote().promises:
        np.testing.assert_allclose(sum(share for _, share in promise.shares), 1, rtol=1e-12)


def test_wrong_factor_shows_as_bias_and_is_named():
    off = hand.factors(k=(1.25, 1.19, 1.22))
    found = quote((hand.green(given=off),))
    assert found.promises[0].chance < 1e-3 < found.promises[1].chance
    assert "factor against forecast" in {finding.what for finding in found.findings}


def test_measured_factors_outrank_the_forecast():
    off = hand.factors(k=(1.25, 1.19, 1.22), origin="ledger 7")
    assert quote((hand.green(given=off),)).promises[0].chance > 0.5


def test_promise_follows_the_piece_into_the_machine_axis_it_lies_along():
    quarter = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])
    part = hand.part(turns=np.stack([np.eye(3), quarter]))
    given = hand.factors(u=(0.0001, 0.02, 0.0001), origin="ledger 7")
    greens = (hand.green(part, given),)
    along = quote(greens, builds=(hand.build(greens, turn=0),)).promises
    across = quote(greens, builds=(hand.build(greens, turn=1),)).promises
    assert along[0].u_mm < along[1].u_mm and across[0].u_mm > across[1].u_mm


THROUGH = np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]])  # machine x carries the part's y, z carries its x


def test_promise_follows_a_turn_through_the_corner():
    given = hand.factors(u=(0.0001, 0.0001, 0.02), origin="ledger 7")
    greens = (hand.green(hand.part(turns=THROUGH[None]), given),)
    x, y, z = (promise.u_mm / promise.nominal_mm for promise in quote(greens).promises)
    assert x > 3 * y and x > 3 * z


def test_worst_of_the_turns_in_the_box_is_promised():
    part = hand.part(turns=np.stack([np.eye(3), THROUGH]))
    greens = (hand.green(part, hand.factors(u=(0.0001, 0.0001, 0.02), origin="ledger 7")),)
    both = (hand.build(greens, turn=0), hand.build(greens, number=2, turn=1))
    alone = quote(greens, builds=(hand.build(greens, turn=1),)).promises[0].chance
    assert quote(greens, builds=both).promises[0].chance == alone


def test_lattice_moves_both_ends_of_a_size():
    """Two ends, each anywhere within one drop: variance 2 x pitch^2 / 12, at finished size."""
    still = hand.sintering(scatter=0.0)
    greens = (hand.green(given=hand.factors(u=(0.0,) * 3, origin="ledger 7")),)
    found = quote(greens, powder=hand.powder(still), furnace=hand.furnace(uniformity=0.0)).promises[2]
    np.testing.assert_allclose(found.u_mm, 0.05 / np.sqrt(6) / 1.22, rtol=1e-9)
    assert dict(found.shares)["drop lattice"] == 1


def test_part_scatter_and_factor_add_in_squares():
    greens = (hand.green(given=hand.factors(origin="ledger 7")),)
    promise = quote(greens, furnace=hand.furnace(uniformity=0.0)).promises[0]
    lattice = 0.0635 / np.sqrt(6) / 1.19
    wanted = np.sqrt((20 * 0.001 / 1.19) ** 2 + (20 * 0.0008) ** 2 + lattice**2)
    np.testing.assert_allclose(promise.u_mm, wanted, rtol=1e-9)


def at(found):
    return {step.name: step for step in found.steps}


def test_second_box_waits_for_the_oven():
    greens = (hand.green(),)
    slow = [hand.build(greens, number=number, cured=hand.cured(hold=100 * hand.H)) for number in (1, 2)]
    steps = at(quote(greens, builds=tuple(slow)))
    assert steps["load oven, box 2"].starts >= steps["cure box 1"].ends


def test_last_furnace_run_waits_for_the_last_box():
    greens = (hand.green(hand.part(quantity=300)),)
    boxes = tuple(hand.build(greens, number=number) for number in (1, 2))
    steps = at(quote(greens, builds=boxes))
    assert "load furnace, run 2" in steps and "load furnace, run 3" not in steps
    assert steps["load furnace, run 1"].starts < steps["depowder box 2"].ends
    assert steps["load furnace, run 2"].starts >= steps["depowder box 2"].ends


def test_general_tolerance_without_a_value_promises_nothing():
    """ISO 2768-1, table 1: class v has no value up to 3 mm; below 0.5 mm none has."""
    thin = hand.part(size=(20.0, 2.0, 0.4), tolerance=Tolerance(kind="iso2768", grade="v", steps=ISO_V))
    found = quote((hand.green(thin),))
    texts = [finding.text for finding in found.findings if finding.what == "tolerance not stated"]
    assert [promise.dimension for promise in found.promises] == ["x"]
    assert "class v gives no value" in texts[0] and "must be stated" in texts[1]


def test_kinds_of_tolerance():
    assert half_width_mm(20.0, Tolerance(kind="mm", value=0.1)) == 0.1
    np.testing.assert_allclose(half_width_mm(20.0, Tolerance(kind="percent", value=0.5)), 0.1, rtol=1e-12)
    assert half_width_mm(6.0, Tolerance(kind="iso2768", grade="v", steps=ISO_V)) == 0.5
    with pytest.raises(OrderError, match="feeling"):
        half_width_mm(6.0, Tolerance(kind="feeling"))


def test_fewer_good_pieces_than_asked_are_pointed_at():
    (finding,) = [each for each in quote().findings if each.what == "yield"]
    assert "9.0 are expected" in finding.text and "Start 12" in finding.remedy


def test_doubling_a_rate_doubles_only_its_line():
    plain = quote()
    dear = quote(shop=dataclasses.replace(hand.shop(), inspect_time=hand.fig(60.0)))
    for name in ("powder", "binder", "print", "cure", "depowder", "sinter"):
        assert line(dear, name) == line(plain, name)
    np.testing.assert_allclose(line(dear, "inspect"), 2 * line(plain, "inspect"), rtol=1e-12)


MEASURED = Scatter(
    material="steel",
    lot=8e-4,
    bed=2.5e-3,
    furnace=1e-3,
    part=4e-4,
    gauge_mm=0.008,
    readings=405,
    lots=3,
    beds=9,
    furnaces=4,
    origin="ledger",
)


def measured(by_place=False, bed=None):
    greens = (hand.green(given=hand.factors(origin="ledger 7")),)
    cell = hand.cell()
    fired = hand.fire(greens, cell.powder, cell.furnace)
    asked = hand.order(greens)
    asked = dataclasses.replace(asked, choices=dataclasses.replace(asked.choices, by_place=by_place))
    known = Approved(factors=greens[0].factors, bed=bed, scatter=MEASURED)
    return cost.quote(asked, greens, (hand.build(greens),), fired, cell, known).promises[0]


def test_measured_scatter_adds_in_squares_and_is_shared_out():
    promise = measured()
    size, u_k = promise.nominal_mm, hand.factors().u[0] / hand.factors().k[0]
    parts = [u_k, 8e-4, 2.5e-3, 1e-3, 4e-4, 0.008 / size]
    np.testing.assert_allclose(promise.u_mm, size * np.linalg.norm(parts), rtol=1e-9)
    shares = dict(promise.shares)
    np.testing.assert_allclose(shares["bed place"], (2.5e-3 / np.linalg.norm(parts)) ** 2, rtol=1e-9)
    assert set(shares) > {"lot", "bed place", "furnace place", "part to part", "gauge"}


def test_what_would_raise_the_chance_most_is_said_first():
    chances = [chance for _, chance in measured().without]
    assert chances == sorted(chances, reverse=True) and chances[0] > measured().chance
    best = measured().without[0][0]
    assert best == max(dict(measured().shares), key=dict(measured().shares).get)


def test_sizes_by_place_leave_only_the_maps_own_doubt():
    at = np.array([[x, y, 0.0] for x in (0.0, 200, 400) for y in (0.0, 250)])
    bed = BedMap(
        box="box",
        material="steel",
        places_mm=at,
        density=0.55 + 1e-5 * at[:, 0],
        noise=3e-4,
        axes=(0, 1),
        amplitude=0.0,
        reach_mm=np.ones(3),
        reference=0.55,
    )
    with_map, without = measured(by_place=True, bed=bed), measured(by_place=False, bed=bed)
    assert with_map.chance > without.chance
    left = np.sqrt(dict(with_map.shares)["bed place"]) * with_map.u_mm / with_map.nominal_mm
    # at a corner of the six places the plane is known to noise times sqrt(1/6 + 1/4 + 1/6)
    np.testing.assert_allclose(left, 3e-4 * np.sqrt(1 / 6 + 1 / 4 + 1 / 6) / 0.55 / 3, rtol=1e-6)
