"""The list of orders: which stand under which heading, and what each row says."""

import dataclasses

from page_text import links, table, words
from records import job_record, plan_approval
from sagger.views.words import overview
from sagger.web.rows import orders

APPROVED = plan_approval("Ann", "2027-01-02T03:04")


def line(plan=None, approval=None, **facts):
    return overview.line(job_record(**facts), plan and overview.outcome(plan), approval)


def test_orders_stand_under_what_they_ask_for(plan):
    lines = [
        line(plan, id=1, name="to decide"),
        line(id=2, name="at work", state="running"),
        line(id=3, name="in line", state="waiting"),
        line(plan, APPROVED, id=4, name="granted"),
        line(id=5, name="refused", state="failed", message="no unit"),
    ]
    groups = {name: [each.name for each in group] for name, group in orders.groups(lines).items()}
    assert groups == {
        "Needs a decision": ["to decide", "refused"],
        "Under way": ["at work", "in line"],
        "Approved": ["granted"],
    }


def test_a_row_says_what_the_plan_came_to(plan, altered):
    late = altered("2027-03-01", "parts", 1, "due")
    head, row = table(orders.tables([line(late, id=7, name="lever", ended="2027-02-03T04:05:06")]))
    told = dict(zip(head, row, strict=True))
    assert (told["Order"], told["Job"], told["Pieces"]) == ("lever", "7", "4")
    assert told["Price"].startswith("100.00 EUR")
    assert told["Ready"].startswith("2027-03-0")
    assert told["Due"] == "2027-03-01"
    assert told["Last change, UTC"] == "2027-02-03 04:05"


def test_a_job_at_work_says_how_far_it_is_and_not_what_comes_after():
    running = line(state="running", doing="drawing layers", done=3, total=9)
    assert "drawing layers 3 of 9" in words(orders.tables([running]))
    assert line(state="running").to_do == "Nothing to decide yet"


def test_a_job_without_a_plan_has_no_figures(altered):
    for none in (line(state="failed"), line(altered("refused", "state"))):
        assert table(orders.tables([none]))[1][4:10] == [""] * 6


def test_names_lead_to_the_job_and_are_escaped(plan):
    content = orders.tables([line(plan, id=9, name="<b>lever</b>")])
    assert links(content)["<b>lever</b>"] == "/job/9"
    assert "<b>" not in str(content)


def test_no_orders_is_said_in_words():
    assert words(orders.tables([])).startswith("No orders yet.")


def test_of_each_order_the_newest_job_is_shown_and_beside_it_the_approved_one():
    rows = [
        job_record(id=5, version=12, folder="b"),
        job_record(id=4, version=11, folder="a"),
        job_record(id=3, version=10, folder="a"),
        job_record(id=2, version=9, folder="a"),
        job_record(id=1, version=None, folder="elsewhere"),
    ]
    threads = {9: 9, 10: 9, 11: 9, 12: 12}
    shown = [row.id for row in overview.of_interest(rows, threads, {2, 3})]
    assert shown == [5, 4, 3, 1]
    assert [row.id for row in overview.of_interest(rows, threads, {4})] == [5, 4, 1]


def many(plan, altered, count=120):
    """Orders of which every third is approved; prices rise, and one has a customer and comes late."""
    late = altered("2027-03-01", "parts", 1, "due")
    made = [
        line(plan, APPROVED if n % 3 == 0 else None, id=n, name=f"order {n:03d}") for n in range(1, count)
    ]
    dear = dataclasses.replace(
        overview.outcome(late), customer="Ring Works", reference="PO-7", total=9e9, late=True
    )
    return [*made, dataclasses.replace(made[0], job=999, name="the dear one", outcome=dear)]


def test_a_page_holds_fifty_orders_and_says_which(plan, altered):
    lines = many(plan, altered)
    first, last = (orders.tables(lines, orders.EVERY._replace(page=page)) for page in (1, 9))
    assert "120 orders, 1 to 50 here" in words(first) and "120 orders, 101 to 120 here" in words(last)
    assert len(links(first)) == 50 and orders.pages(120) == 3
    assert "Approved" not in words(first).split("here")[0] and "Approved" in words(last)


def test_words_and_groups_choose_orders(plan, altered):
    lines = many(plan, altered)
    for sought in ("ring works", "po-7 dear", "job 999", "late"):
        assert [each.name for each in orders.sought(lines, orders.Sought(words=sought))] == ["the dear one"]
    approved = orders.sought(lines, orders.Sought(group="Approved"))
    assert len(approved) == 39 and {each.state for each in approved} == {"approved"}
    assert words(orders.tables(lines, orders.Sought(words="nobody"))).startswith("No order is like that.")


def test_orders_are_sorted_within_their_heading_and_those_without_a_figure_come_last(plan, altered):
    lines = [line(id=500, name="refused", state="failed"), *many(plan, altered, 9)]
    named = [each.name for each in orders.sought(lines, orders.Sought(by="price"))]
    assert named[0] == "the dear one" and named.index("refused") == 7
    named = [each.name for each in orders.sought(lines, orders.Sought(by="name", group="Approved"))]
    assert named == ["order 003", "order 006"]


def test_chance_lateness_and_customer_stand_in_the_row(plan, altered):
    head, *rows = table(orders.tables([many(plan, altered, 2)[-1]]))
    told = dict(zip(head, rows[0], strict=True))
    assert told["For"] == "Ring Works, PO-7" and told["Due"] == "2027-03-01 late"
    assert told["Chance"].endswith("%") == (plan.promise is not None)
    assert [orders._percent(chance) for chance in (99.97, 100.0, 0.2, 0.0, 63.4)] == [
        "over 99 %", "100 %", "under 1 %", "0 %", "63 %"
    ]  # fmt: skip
