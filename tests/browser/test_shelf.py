"""Powder is booked in, sieved, blended and charged; readings become a proposal, and that becomes factors."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsing import choose

DESK = Path(__file__).parents[1] / "desk"
COUPONS = (
    "import sys\nsys.path.insert(0, sys.argv[1])\nimport test_learning\n"
    "for number in (1, 2):\n    test_learning.booked(f'B{number}', {'k': test_learning.K}, number)\n"
)


def opened(page, title):
    """The form under a title, opened."""
    page.get_by_role("button", name=f'Expand "{title}"', exact=True).click()
    return page.locator(".q-expansion-item").filter(has=page.get_by_text(title, exact=True))


def entered(form, said, button):
    for label, words in said.items():
        form.get_by_label(label).fill(words)
    form.get_by_label("entered by").fill("A. Person")
    form.get_by_role("button", name=button).click()


def test_powder_is_typed_in_sieved_blended_and_charged(page, bench):
    page.goto(f"{bench.url}/readings")
    form = opened(page, "Type a lot in, with its sieve table")
    form.get_by_role("textbox", name="sieve table").fill("45 um 1 kg\n20 um twelve\n0 um 1 g")
    lot = {"name of the lot": "L1", "mass weighed": "40 kg", "apparent density": "4.30 g/cm3"}
    entered(form, lot, "Book the lot in")
    expect(page.get_by_role("alert").filter(has_text="sieve table").first).to_be_visible()
    form.get_by_role("textbox", name="sieve table").fill(
        "45 um 2 g\n32 um 18 g\n16 um 50 g\n8 um 25 g\n0 um 5 g"
    )
    form.get_by_role("button", name="Book the lot in").click()
    shelf = page.get_by_role("table", name="Powder on the shelf")
    expect(shelf.get_by_role("row", name=re.compile("^L1 steel-316l received 40.000"))).to_be_visible()

    sieving = {"name of the sieved lot": "L1-s", "passed the sieve": "38 kg", "stayed on it": "1.9 kg"}
    form = opened(page, "Sieve a lot")
    choose(page, "lot", "L1", within=form)
    entered(form, sieving, "Book the sieving")
    expect(shelf.get_by_role("row", name=re.compile("^L1-s steel-316l sieved 38.000"))).to_be_visible()

    entered(
        opened(page, "Charge a box"), {"name of the box": "B-9", "from which": "L1-s=8 kg"}, "Book the charge"
    )
    expect(shelf.get_by_role("row", name=re.compile("^L1-s steel-316l sieved 30.000"))).to_be_visible()
    form = opened(page, "Blend lots")
    entered(form, {"name of the blend": "M", "from which": "L1-s=31 kg"}, "Book the blend")
    expect(
        page.get_by_role("alert").filter(has_text="does not hold that much").first
    ).to_be_visible()  # there is not so much
    form.get_by_label("from which").fill("L1-s=30 kg")
    form.get_by_role("button", name="Book the blend").click()
    expect(shelf.get_by_role("row", name=re.compile("^M steel-316l blended 30.000"))).to_be_visible()
    assert "mass closes" in bench.say("lots", "closing")

    page.get_by_role("link", name="M", exact=True).click()
    expect(page.get_by_role("heading", name="Lot M")).to_be_visible()
    expect(page.get_by_role("img", name="size curve of M")).to_be_visible()


@pytest.fixture(scope="module")
def measured(bench):
    """Coupons of two boxes, booked, fired and measured."""
    bench.run(COUPONS, DESK)


def test_what_readings_taught_is_shown_and_approved_by_a_person(page, bench, measured):
    page.goto(f"{bench.url}/factors")
    form = opened(page, "Ask what the readings say")
    form.get_by_label("asked by").fill("A. Person")
    form.get_by_role("button", name="Work out a proposal").click()
    proposal = page.get_by_role("region", name=re.compile(r"Proposal \d+$")).first
    row = proposal.get_by_role("row", name=re.compile("^x "))
    expect(row).to_be_visible(timeout=60_000)
    found = float(row.get_by_role("cell").all_inner_texts()[3].partition(" ")[0])
    assert abs(found * 0.84 - 1) < 2e-3  # what the coupons were made with
    proposal.get_by_label("approved by").fill("B. Person")
    proposal.get_by_label("why it is right").fill("18 coupons")
    proposal.get_by_role("button", name="Approve this proposal").click()
    table = page.get_by_role("table", name="Approved factors")
    expect(table.get_by_role("row", name=re.compile(f"{found:.4f}.*in force.*B. Person"))).to_be_visible()
    expect(page.get_by_text("No proposal waits.")).to_be_visible()

    page.goto(f"{bench.url}/readings")
    page.get_by_role("link", name=re.compile("^Charts of a size")).click()
    choose(page, "what was measured", "steps, step 20, along y, 20 mm (18 readings)")
    page.get_by_label("tolerance").fill("0.3 mm")
    page.get_by_label("tolerance").press("Enter")
    expect(page.get_by_role("img", name="control charts of steps, step 20, along y, 20 mm")).to_be_visible()
    expect(page.get_by_text("not told below 25 pieces; there are 18").first).to_be_visible()
    expect(page.get_by_role("table", name="Readings of this size").get_by_role("row")).to_have_count(19)

    bench.run(
        "from sagger.desk.measuring import approvals\n"
        "from sagger.desk.measuring.typed_conditions import factors\n"
        "approvals.approve(factors('steel-316l', (1.19,) * 3, (0.002,) * 3), 'B', '-')"
    )
    page.goto(f"{bench.url}/factors")
    expect(page.get_by_role("img", name="factor along z over time")).to_be_visible()
