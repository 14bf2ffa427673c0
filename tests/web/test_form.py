"""What fields say becomes the tables of an order file, and what an order file says stands in its fields."""

from types import SimpleNamespace

import pytest

from sagger.errors import OrderError
from sagger.files import order
from sagger.files.order_form import NestingTable, PartTable
from sagger.web import form, typed

CARDS = {"powder": "steel-316l"}


def fields(said):
    return {place: SimpleNamespace(value=value) for place, value in said.items()}


def said(more, parts=("a.stl",), before=None):
    first = {"[order], name": "n", "[cards], powder": "steel-316l", "[[part]] 1, quantity": 2}
    whole = fields(first | {"[[part]] 1, tolerance": "1 %"} | more)
    return form.read(whole, list(parts), before or {"order": {}, "cards": CARDS, "part": []})


def test_rectangles_and_coupons_come_as_an_order_file_has_them():
    tables = said(
        {
            "[nesting], keep_out": "0 0 30 20; 370,230 400 250",
            "[[coupon]] 1, kind": "steps",
            "[[coupon]] 1, places": "nine",
            "[[coupon]] 1, series": 3,
            "[[coupon]] 2, kind": "cube",
            "[[coupon]] 2, places": ((0.0, 0.5), (1.0, 0.5)),
            "[[part]] 1, together": "pump",
            "[[part]] 1, apart": "",
            "[[part]] 1, sag": "quick",
        }
    )
    assert tables["nesting"] == {"keep_out": [[0, 0, 30, 20], [370, 230, 400, 250]]}
    assert tables["coupon"] == [
        {"kind": "steps", "places": "nine", "series": 3},
        {"kind": "cube", "places": [[0.0, 0.5], [1.0, 0.5]]},
    ]
    assert tables["part"][0] | {"together": "pump", "sag": "quick"} == tables["part"][0]
    assert "apart" not in tables["part"][0]
    assert order.checked(tables, "order.toml")["coupon"][0]["places"] == "nine"


def test_coupons_that_were_taken_out_are_gone_and_programmes_stay():
    rows = [{"rate": "2 K/min", "target": "90 degC"}]
    before = {"order": {}, "cards": CARDS, "part": [], "coupon": [{"kind": "bar"}], "oven_programme": rows}
    tables = said({}, before=before)
    assert "coupon" not in tables
    assert tables["oven_programme"] == rows


def test_a_rectangle_that_makes_no_sense_is_refused_by_the_name_of_its_field():
    with pytest.raises(OrderError) as refused:
        order.checked(said({"[nesting], keep_out": "0 0 30"}), "order.toml")
    assert refused.value.field.startswith("[nesting], keep_out")


@pytest.mark.parametrize(
    ("model", "key", "value", "shown"),
    [
        (NestingTable, "keep_out", [[0.0, 0.0, 30.5, 20.0], [1, 2, 3, 4]], "0 0 30.5 20; 1 2 3 4"),
        (PartTable, "turn", [90, 0, -45.0], "90 0 -45"),
    ],
)
def test_lists_are_shown_and_read_back_as_they_were(model, key, value, shown):
    assert typed.text(value) == shown
    assert typed.value(shown, model.model_fields[key]) == value
