"""One job from upload to traveller, in a real browser."""

import json
import re

from playwright.sync_api import expect

TIMEOUT_MS = 60_000


def test_from_upload_to_an_approved_job_and_its_traveller(page, bench, plan):
    number = plan(page)
    page.get_by_role("link", name="Change something").click()
    layer = page.get_by_label("layer", exact=True)
    expect(layer).to_have_value("500 um")
    layer.fill("250 um")
    page.get_by_role("button", name="Plan this beside the other").click()
    page.wait_for_url("**/compare*")
    row = page.get_by_role("row", name=re.compile("^layers"))
    expect(row).to_be_visible(timeout=TIMEOUT_MS)
    before, after = (int(re.sub(r"\D", "", cell)) for cell in row.get_by_role("cell").all_inner_texts()[:2])
    assert after > 1.8 * before
    expect(page.get_by_text("layer: 500 µm → 250 µm")).to_be_visible()

    page.goto(f"{bench.url}/job/{number + 1}")
    page.get_by_label("Approved by").fill("A. Person")
    page.get_by_role("button", name="Approve for printing").click()
    expect(page.get_by_role("heading", name=re.compile("^Print it"))).to_be_visible()
    with page.expect_download() as carried:
        page.get_by_role("link", name="Traveller, PDF").click()
    assert carried.value.path().read_bytes().startswith(b"%PDF")
    page.goto(bench.url)
    table = page.get_by_role("table", name="Approved")
    expect(table.get_by_role("row", name=re.compile("block"))).to_be_visible()


def test_the_command_line_gives_the_same_numbers(page, bench, plan):
    number = plan(page)
    here = json.loads(page.request.get(f"{bench.url}/api/job/{number}/plan.json").text())
    folder = json.loads(bench.say("show", number, "--json"))["folder"]
    order = f"{folder}/../order.toml"
    bench.say("plan", order, "--into", bench.folder / "there")
    there = json.loads((bench.folder / "there" / "plan.json").read_text())
    assert here == there


def test_a_colder_furnace_is_planned_beside_the_other_and_gives_less_density(page, bench, plan):
    number = plan(page)
    page.goto(f"{bench.url}/job/{number}/programmes")
    last = page.get_by_role("region", name="Furnace").get_by_role("group", name="stretch 4")
    last.get_by_label("target").fill("1250 degC")
    last.get_by_label("target").press("Tab")
    page.get_by_role("button", name="Plan this beside the other").click()
    page.wait_for_url("**/compare*")
    row = page.get_by_role("row", name=re.compile("^relative density")).first
    expect(row).to_be_visible(timeout=TIMEOUT_MS)
    before, after = (
        float(re.sub(r"[^\d.]", "", each)) for each in row.get_by_role("cell").all_inner_texts()[:2]
    )
    assert after < before - 2
    expect(page.get_by_text("furnace programme: of the card → 4 stretches of its own")).to_be_visible()


def test_a_programme_the_furnace_cannot_run_is_refused(page, bench, plan):
    number = plan(page)
    page.goto(f"{bench.url}/job/{number}/programmes")
    furnace = page.get_by_role("region", name="Furnace")
    target = furnace.get_by_role("group", name="stretch 4").get_by_label("target")
    for words, said in (("2000 degC", "stays below the 2000 degC"), ("1360 kg", "is a unit of mass")):
        target.fill(words)
        target.press("Tab")
        page.get_by_role("button", name="Plan this beside the other").click()
        expect(page.get_by_role("alert").filter(has_text=said).first).to_be_visible()
