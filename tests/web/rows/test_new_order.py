"""A new order: the files that came, what the form begins with, and units that must be chosen."""

import pytest

from page_text import table, words
from sagger.desk.planning.drafts import UploadedFile
from sagger.errors import InputError
from sagger.web.rows import new_order as rows


def file(name, kind="STL", **more):
    facts = {"words": "", "needs_unit": kind == "STL", "size": (25.4, 50.8, 2.54), "triangles": 12_345}
    return UploadedFile(name=name, kind=kind, **(facts | more))


STL, STEP = file("lever.v2.stl"), file("clamp.step", "STEP")
ORDER = file("order.toml", "order", words="fills the form", size=None, triangles=0)
BAD = file("bad.stl", "", words="bad.stl: <no> triangles", size=None, triangles=0)


def test_files_are_told_with_what_they_hold_or_why_they_were_refused():
    content = rows.files_table([STL, STEP, ORDER, BAD])
    _, stl, step, order, bad = table(content)
    assert stl == [
        "lever.v2.stl", "STL", "25.40 × 50.80 × 2.54 mm if drawn in mm, 645.16 × 1290.32 × 64.52 mm if in "
        "inches; the file does not say", "12 345",
    ]  # fmt: skip
    assert step == ["clamp.step", "STEP", "25.40 × 50.80 × 2.54 mm", "12 345"]
    assert order == ["order.toml", "order", "fills the form", ""]
    assert bad == ["bad.stl", "refused", "bad.stl: <no> triangles", ""]
    assert words(rows.refusals([STL, BAD])) == "bad.stl: <no> triangles"
    assert "<no>" not in str(content)


def test_the_form_comes_with_a_part_or_an_order_file():
    assert rows.parts([STL, ORDER, BAD, STEP]) == [STL, STEP]
    assert rows.ready([STL]) and rows.ready([ORDER])
    assert not rows.ready([BAD]) and not rows.ready([])


def test_an_order_is_named_after_its_first_part_until_somebody_writes():
    assert rows.first_order([ORDER, STL, STEP]) == {"name": "lever.v2"}
    assert rows.first_order([]) == {"name": "coupons"}


def test_a_part_begins_as_the_order_file_has_it():
    order = {"part": [{"file": "clamp.step", "quantity": 5}]}
    assert rows.first_part(STEP, order) == {"file": "clamp.step", "quantity": 5}
    assert rows.first_part(STL, order) == {"tolerance": "2 %"}


def test_a_unit_is_not_guessed():
    entries = {"[[part]] 1, unit": "", "[[part]] 2, unit": ""}
    rows.check_units(entries, [ORDER, STEP])
    with pytest.raises(InputError) as refused:
        rows.check_units(entries, [ORDER, STEP, STL])
    assert refused.value.field == "[[part]] 2, unit"
    rows.check_units(entries | {"[[part]] 2, unit": "in"}, [ORDER, STEP, STL])
