"""What fields say becomes the tables of an order file, and what an order file says stands in its fields."""

import pytest

from sagger.errors import InputError, OrderError
from sagger.files import order
from sagger.files.order_form import NestingTable, PartTable
from sagger.web.rows import form_values, order_fields
from sagger.web.rows.coupons import added, as_entered, removed

CARDS = {"powder": "steel-316l"}
NAMES = {
    "powder": ["steel-316l", "sand"],
    "binder": ["water"],
    "head": ["head-400"],
    "box": ["small", "large"],
    "oven": ["oven"],
    "furnace": ["furnace"],
    "shop": ["shop"],
}


def tables(more, files=(("a.stl", ""),), before=None):
    entries = {"[order], name": "n", "[cards], powder": "steel-316l", "[[part]] 1, quantity": 2}
    entries |= {"[[part]] 1, tolerance": "1 %"} | more
    return order_fields.tables(
        entries,
        [order_fields.PartKey(*each) for each in files],
        before or {"order": {}, "cards": CARDS, "part": []},
    )


def shown(table, **values):
    """The fields of a table by the key they are of."""
    rows = order_fields.fields(table, values, "", NAMES)
    return {row.place.rpartition(", ")[2]: row for row in rows}


def test_rectangles_and_coupons_come_as_an_order_file_has_them():
    made = tables(
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
    assert made["nesting"] == {"keep_out": [[0, 0, 30, 20], [370, 230, 400, 250]]}
    assert made["coupon"] == [
        {"kind": "steps", "places": "nine", "series": 3},
        {"kind": "cube", "places": [[0.0, 0.5], [1.0, 0.5]]},
    ]
    assert made["part"][0] | {"together": "pump", "sag": "quick"} == made["part"][0]
    assert "apart" not in made["part"][0]
    assert order.checked(made, "order.toml")["coupon"][0]["places"] == "nine"


def test_a_yes_is_yes_and_a_no_is_left_out_unless_it_was_written():
    assert tables({"[choices], snap": "yes"})["choices"] == {"snap": True}
    assert tables({"[choices], snap": "no"})["choices"] == {}
    before = {"order": {}, "cards": CARDS, "part": [], "choices": {"snap": True}}
    assert tables({"[choices], snap": "no"}, before=before)["choices"] == {"snap": False}
    assert tables({"[choices], phase_jitter": ""})["choices"] == {}


def test_a_yes_or_no_of_the_order_file_is_shown_as_that():
    assert [shown("choices", snap=value)["snap"].value for value in (True, False)] == ["yes", "no"]
    assert shown("choices")["snap"].value == "no"
    jitter = shown("choices")["phase_jitter"]
    assert (jitter.value, jitter.options[0]) == ("", ("", "as the cards say"))


def test_each_part_gets_its_own_fields_and_keeps_what_was_written_of_its_file():
    before = {"order": {}, "cards": CARDS, "part": [{"file": "b.stl", "unit": ""}, {"file": "a.stl"}]}
    more = {"[[part]] 2, quantity": 7, "[[part]] 2, unit": "", "[[part]] 1, unit": "mm"}
    first, second = tables(more, (("a.stl", ""), ("b.stl", "")), before)["part"]
    assert (first["file"], first["quantity"], first["unit"]) == ("a.stl", 2, "mm")
    assert (second["file"], second["quantity"]) == ("b.stl", 7)


def test_coupons_that_were_taken_out_are_gone_and_programmes_stay():
    rows = [{"rate": "2 K/min", "target": "90 degC"}]
    before = {"order": {}, "cards": CARDS, "part": [], "coupon": [{"kind": "bar"}], "oven_programme": rows}
    made = tables({}, before=before)
    assert "coupon" not in made
    assert made["oven_programme"] == rows


def test_rows_of_coupons_keep_what_was_typed_when_one_is_added_or_taken_out():
    entries = {"[order], name": "n", "[[coupon]] 1, kind": "bar", "[[coupon]] 1, series": 4}
    entries |= {"[[coupon]] 2, kind": "cube", "[[coupon]] 2, series": 2}
    rows = as_entered(entries)
    assert rows == [{"kind": "bar", "series": 4}, {"kind": "cube", "series": 2}]
    assert added(rows) == [*rows, {"kind": "steps", "places": "nine", "series": 5}]
    assert removed(rows, 1) == rows[1:]
    assert added([])[0]["series"] == 1


def test_places_of_an_order_file_stay_among_the_choices():
    own = shown("coupon", kind="bar", places=[[0.0, 0.5]])["places"]
    assert own.value == ((0.0, 0.5),)
    assert own.options[-1] == (own.value, "its own, from the order file")
    assert shown("coupon", kind="bar", places=own.value)["places"].value == own.value
    assert shown("coupon", kind="bar")["places"].value == "nine"


def test_cards_are_chosen_by_name_and_the_usual_ones_are_named():
    fields = shown("cards", powder="sand")
    assert fields["powder"].value == "sand"
    assert [word for word, _ in fields["powder"].options] == NAMES["powder"]
    assert shown("cards")["powder"].value == "steel-316l"
    assert fields["box"].value == ""
    assert fields["box"].options[0][1].endswith("(the usual one)")
    assert fields["lot"].kind == "text"


def test_a_field_says_what_it_takes_and_the_first_ones_stand_first():
    rows = order_fields.fields("choices", {}, "", {})
    assert [row.first for row in rows] == sorted((row.first for row in rows), reverse=True)
    assert rows[0].hint == "Layer height, such as 50 um"
    assert shown("part")["quantity"].kind == "number" and shown("part")["quantity"].value == 1
    assert shown("choices", layer="60 um")["layer"].value == "60 um"


def test_a_rectangle_that_makes_no_sense_is_refused_by_the_name_of_its_field():
    with pytest.raises(OrderError) as refused:
        order.checked(tables({"[nesting], keep_out": "0 0 30"}), "order.toml")
    assert refused.value.field.startswith("[nesting], keep_out")
    places = ["[nesting], gap_z", "[nesting], keep_out"]
    assert order_fields.at_refusal(places, refused.value) == places[1]


def test_a_refused_card_and_a_refusal_without_a_field_find_their_place():
    places = ["[cards], powder", "[choices], layer"]
    assert order_fields.at_refusal(places, InputError("no such card", field="powder")) == places[0]
    assert order_fields.at_refusal(places, InputError("the disk is full")) == ""


@pytest.mark.parametrize(
    ("model", "key", "value", "text"),
    [
        (NestingTable, "keep_out", [[0.0, 0.0, 30.5, 20.0], [1, 2, 3, 4]], "0 0 30.5 20; 1 2 3 4"),
        (PartTable, "turn", [90, 0, -45.0], "90 0 -45"),
    ],
)
def test_lists_are_shown_and_read_back_as_they_were(model, key, value, text):
    assert form_values.text(value) == text
    assert form_values.value(text, model.model_fields[key]) == value
