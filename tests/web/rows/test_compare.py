"""Two jobs side by side: names, differences, and which is better."""

import pytest

from page_text import links, table, words
from records import job_record
from sagger.goods.record import VersionRecord
from sagger.views.words.compare import Pair
from sagger.views.words.standing import Rest
from sagger.web.rows import compare as rows
from sagger.web.rows.compare import Side

PLAIN = (Rest(0, 0), Rest(0, 0))


def version(number):
    return VersionRecord(
        id=number, thread=1, number=number, parent=None, name="", folder="", changes=(), person="", made=""
    )


def side(job, plan=None, of=None, tables=None, **row):
    return Side(row=job_record(id=job, name="lever", **row), version=of, tables=tables, plan=plan)


def pair(**changes):
    facts = {"group": "Time", "name": "printing", "unit": "h", "one": "4", "other": "3", "differs": "−1"}
    return Pair(**(facts | {"better": "other", "rests": PLAIN} | changes))


def test_the_better_figure_is_in_bold_and_named():
    _, one, other, differs, better = rows.row(pair(), ("version 1", "version 2"))
    assert (words(one), words(other)) == ("4 h", "3 h")
    assert ("<strong>" in str(one), "<strong>" in str(other)) == (False, True)
    assert (differs, better) == ("−1 h", "version 2")
    _, one, other, _, better = rows.row(pair(better="one"), ("version 1", "version 2"))
    assert ("<strong>" in str(one), "<strong>" in str(other), better) == (True, False, "version 1")


def test_what_is_the_same_is_said_to_be_and_a_date_has_no_unit():
    same = rows.row(pair(differs="", better=""), ("a", "b"))
    assert (words(same[3]), same[4]) == ("same", "")
    assert rows.row(pair(name="ready", unit="", differs="2 h later"), ("a", "b"))[3] == "2 h later"


def test_a_figure_that_rests_on_weak_ones_is_marked_on_its_own_side():
    _, one, other, *_ = rows.row(pair(better="", rests=(Rest(1, 0), Rest(0, 0))), ("a", "b"))
    assert "weak" in str(one) and "weak" not in str(other)


@pytest.mark.parametrize(
    ("one", "other", "names"),
    [
        (version(1), version(2), ("version 1", "version 2")),
        (version(2), version(2), ("job 3", "job 5")),
        (None, version(2), ("job 3", "job 5")),
    ],
)
def test_the_two_are_called_by_names_that_differ(one, other, names):
    assert rows.short_names(side(3, of=one), side(5, of=other)) == names


def test_the_short_answer_comes_first_and_the_dearer_one_is_worse(plan, altered):
    content = rows.page(side(3, plan, version(1)), side(5, altered(90.0, "quote", "total"), version(2)))
    assert str(content).index("In short") < str(content).index("<h2>Time</h2>")
    (price,) = [row for row in table(content, "In short") if row[0] == "whole order"]
    assert price == ["whole order", "100.00 EUR ≈", "90.00 EUR ≈", "−10.00 EUR", "version 2"]
    assert "saturation asked" in [row[0] for row in table(content, "Powder and binder")]


def test_heads_name_order_and_state_and_show_how_far_a_job_is():
    head = rows.head(side(3, of=version(2), state="running", doing="nesting", done=1, total=4))
    assert links(head)["lever, version 2"] == "/job/3"
    assert 'value="0.250"' in str(head) and "running" in words(head)
    assert "<progress" not in str(rows.head(side(3, state="waiting", doing="x", total=4)))


def test_what_was_changed_is_told_where_both_orders_are_kept(plan):
    one, other = {"choices": {"layer": "50 um"}}, {"choices": {"layer": "60 um"}}
    assert words(rows.changed(side(1, tables=one), side(2, tables=other))).endswith("layer: 50 µm → 60 µm")
    assert words(rows.changed(side(1, tables=one), side(2, tables=one))).endswith("nothing in the order")
    assert words(rows.changed(side(1), side(2, tables=one))) == ""


def test_a_job_without_a_plan_is_waited_for(plan, altered):
    for other in (side(5), side(5, altered("refused", "state"))):
        assert "comes when both are planned" in words(rows.page(side(3, plan), other))
