"""The cell: a table booked, planned, looked at; a build scrapped, fixed, planned anew; offer, promise."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsing import choose

ORDERS = Path(__file__).parents[2] / "examples" / "cell-orders.csv"
NOW = "2030-01-07T07:00"
RUSH = (
    "order,powder,box,print_h,hands_h,shelves,due\n"
    "sample ring,steel-316l,box-160x65x65,7,1,1,2030-01-11T15:00\n"
)
PLANNING = 90_000  # ms: a busy machine


def opened(page, title):
    """The form under a title, opened."""
    page.get_by_role("button", name=f'Expand "{title}"', exact=True).click()
    return page.locator(".q-expansion-item").filter(has=page.get_by_text(title, exact=True))


def plan_anew(page, at, entry):
    section = page.get_by_role("region", name="Plan", exact=True)
    section.get_by_label("planned by").fill("A. Planner")
    section.get_by_label("plan from").fill(at)
    section.get_by_role("button", name="Plan anew").click()
    expect(section).to_contain_text(f"as entry {entry}", timeout=PLANNING)
    expect(section.get_by_role("heading", name=re.compile(f"^Plan {entry}, made from"))).to_be_visible()


@pytest.fixture(scope="module")
def cell(bench):
    return f"{bench.url}/cell"


def test_a_table_is_booked_planned_scrapped_and_planned_anew(page, bench, cell):
    page.goto(cell)
    form = opened(page, "Book orders from a table")
    form.get_by_label("booked by").fill("A. Planner")
    form.locator("input[type=file]").set_input_files(str(ORDERS))
    orders = page.get_by_role("table", name="Orders of the book")
    expect(orders.get_by_role("row")).to_have_count(8)
    expect(orders.get_by_role("row", name=re.compile("^brackets not planned"))).to_be_visible()

    plan_anew(page, NOW, 2)
    expect(orders.get_by_role("row", name=re.compile("^brackets in time"))).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("^week of 2030-01-07"))).to_contain_text("job box (2)")

    page.get_by_label("day", exact=True).fill("2030-01-08")
    expect(
        page.get_by_role("table", name="oven").get_by_text(re.compile("^start the heat of"))
    ).to_be_visible()
    with page.expect_download() as carried:
        page.get_by_role("link", name="A page for each station, PDF").click()
    assert carried.value.path().read_bytes().startswith(b"%PDF")

    with page.expect_download() as carried:
        page.get_by_role("link", name="Calendar of bench, ICS").click()
    assert carried.value.path().read_bytes().startswith(b"BEGIN:VCALENDAR")

    form = opened(page, "Say what happened")
    choose(page, "what happened", "a build was scrapped", within=form)
    choose(page, "to which", "gear blanks/1", within=form)
    form.get_by_label("when").fill("2030-01-08T08:00")
    form.get_by_label("entered by").fill("A. Planner")
    form.get_by_role("button", name="Enter it").click()
    expect(page.get_by_text("since this plan: gear blanks/1 scrapped, Tue 2030-01-08 08:00")).to_be_visible()
    plan_anew(page, "2030-01-08T09:00", 4)
    expect(page.get_by_text("since this plan")).to_have_count(0)
    assert "gear blanks" in bench.say("cell", "show")


def test_an_offer_books_nothing(page, bench, cell, tmp_path):
    table = tmp_path / "rush.csv"
    table.write_text(RUSH)
    page.goto(cell)
    form = opened(page, "Ask what a new order would get")
    form.get_by_label("as of").fill("2030-01-08T09:00")
    form.locator("input[type=file]").set_input_files(str(table))
    offer = page.get_by_role("table", name="What sample ring would get")
    expect(offer.get_by_role("row", name=re.compile("^beside the plan, at once"))).to_be_visible(
        timeout=PLANNING
    )
    expect(page.get_by_text("It rests on plan 4, reserves nothing")).to_be_visible()
    assert "sample ring" not in bench.say("cell", "show")


def test_a_build_is_fixed_and_freed_in_its_row(page, bench, cell):
    page.goto(cell)
    page.get_by_role("button", name="Next week").click()
    expect(page.get_by_role("img", name=re.compile("^week of 2030-01-14"))).to_be_visible()
    form = opened(page, "Builds of this week, to fix or free")
    form.get_by_label("fixed or freed by").fill("A. Planner")
    form.get_by_role("button", name="Fix brackets/1").click()
    expect(form.get_by_role("row", name=re.compile("^brackets.1 .* fixed"))).to_be_visible()
    expect(page.get_by_text("fixed until freed: brackets/1")).to_be_visible()
    bench.say("cell", "plan", "--now", "2030-01-08T10:00", "--person", "B")
    expect(page.get_by_role("heading", name=re.compile("^Plan 6, made from"))).to_be_visible()  # by itself
    form.get_by_role("button", name="Free brackets/1").click()
    expect(form.get_by_role("row", name=re.compile("^brackets.1 .* free"))).to_be_visible()


def test_of_two_planners_the_second_is_told(page, bench, cell):
    page.goto(cell)
    section = page.get_by_role("region", name="Plan", exact=True)
    section.get_by_label("planned by").fill("A. Planner")
    section.get_by_label("plan from").fill("2030-01-08T11:00")
    section.get_by_role("button", name="Look for a better plan").click()
    expect(section.get_by_role("progressbar")).to_be_visible()
    bench.say("cell", "plan", "--now", "2030-01-08T11:00", "--person", "B")
    if section.get_by_role("button", name="Take the best so far").is_visible():
        section.get_by_role("button", name="Take the best so far").click()
    expect(section).to_contain_text(
        "another plan was accepted meanwhile (entry 8); plan again", timeout=PLANNING
    )
    expect(section).to_contain_text("nothing of the book is lost")
    expect(section.get_by_role("heading", name=re.compile("^Plan 8, made from"))).to_be_visible()


def test_a_date_is_promised_and_stands_in_the_book(page, bench, cell):
    page.goto(cell)
    form = opened(page, "Promise a date")
    choose(page, "order", "brackets", within=form)
    form.get_by_label("promised by").fill("2030-01-28T12:00")
    form.get_by_label("told by").fill("A. Planner")
    form.get_by_role("button", name="Promise it").click()
    row = page.get_by_role("table", name="Promises given").get_by_role("row", name=re.compile("^brackets"))
    expect(row).to_contain_text("Mon 2030-01-28 12:00")
    expect(page.get_by_text("Mon 2030-01-28 12:00, promised")).to_be_visible()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_it_fits_a_telephone_and_can_be_read(chromium, bench, cell, faint, theme):
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    context.add_cookies([{"name": "sagger_theme", "value": theme, "url": bench.url}])
    page = context.new_page()
    page.goto(cell)
    opened(page, "Builds of this week, to fix or free")
    expect(page.get_by_role("table", name="Builds of the week")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert faint(page) == []
    context.close()
