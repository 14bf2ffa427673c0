"""The list of orders: which stand under which heading, and what each row says."""

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
        assert table(orders.tables([none]))[1][4:8] == [""] * 4


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
