"""Changing the powder lot changes green density, oversize factor, drop and price, each the way it should."""

import shutil

import numpy as np
import pytest

pytestmark = pytest.mark.slow
LOT = """
powder = "steel-316l"
[green_density]
value = "{green} -"
u = "0.004 -"
source = "coupons"
where = "6 coupons"
standing = "measured"
[price]
value = "{price} cur/kg"
source = "invoice"
where = "invented"
standing = "measured"
"""
ORDER = """
[order]
name = "lots"
start = "2027-03-01T08:00"
[cards]
powder = "steel-316l"
lot = "{lot}"
box = "box-160x65x65"
head = "head-400"
[choices]
layer = "100 um"
[[part]]
file = "{part}"
unit = "mm"
quantity = 2
tolerance = "2 %"
"""


@pytest.fixture(scope="module")
def plans(one_shop, example):
    part = "pump-lever.stl"
    shutil.copy(example("metal").parent / "parts" / part, one_shop.folder)
    made = {}
    for name, green, price in (("loose", 0.52, 35), ("dense", 0.60, 35), ("dear", 0.60, 90)):
        (one_shop.folder / f"{name}.toml").write_text(LOT.format(green=green, price=price))
        order = one_shop.folder / f"order-{name}.toml"
        order.write_text(ORDER.format(lot=f"{name}.toml", part=part))
        made[name], _ = one_shop.plan(order, into=f"out-{name}")
    return made


def test_green_density_is_the_lots_own(plans):
    assert [plans[name]["bed"]["green_density_percent"] for name in ("loose", "dense")] == [52.0, 60.0]
    assert plans["loose"]["factors"]["lot"] == "loose"


def test_factors_shrink_by_the_cube_root_of_what_is_packed_more(plans):
    loose, dense = (np.array(plans[name]["factors"]["k"]) for name in ("loose", "dense"))
    np.testing.assert_allclose(np.prod(loose) / np.prod(dense), 0.60 / 0.52, rtol=1e-8)
    assert min(plans["loose"]["factors"]["u"]) > 0


def test_the_drop_follows_the_pores_and_saturation_stays(plans):
    loose, dense = (plans[name]["drops"] for name in ("loose", "dense"))
    if loose["saturation_percent"] == dense["saturation_percent"]:
        np.testing.assert_allclose(loose["volume_pL"] / dense["volume_pL"], 0.48 / 0.40, rtol=1e-9)
    else:
        np.testing.assert_allclose(
            dense["saturation_percent"] / loose["saturation_percent"], 0.48 / 0.40, rtol=1e-9
        )


def test_powder_and_price_follow(plans):
    fed = {name: plans[name]["powder"]["fed_kg"] / plans[name]["layers"]["count"] for name in plans}
    np.testing.assert_allclose(fed["dense"] / fed["loose"], 0.60 / 0.52, rtol=1e-9)
    line = {
        name: next(each["amount"] for each in plan["quote"]["lines"] if each["name"] == "powder")
        for name, plan in plans.items()
    }
    np.testing.assert_allclose(line["dear"] / line["dense"], 90 / 35, rtol=1e-9)
    assert plans["dear"]["quote"]["total"] > plans["dense"]["quote"]["total"]


def test_a_lot_that_is_not_there_is_told_with_what_to_write(one_shop, example):
    order = one_shop.folder / "order-none.toml"
    order.write_text(ORDER.format(lot="L-99", part=example("metal").parent / "parts" / "pump-lever.stl"))
    one_shop.say("plan", order, "--into", one_shop.folder / "out-none", code=2)
