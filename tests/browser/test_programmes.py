"""Programmes are changed on their curve, by mouse and by keyboard, and what they do follows."""

import json
import re

import pytest
from playwright.sync_api import expect

TRY = (
    "import json, sys\nfrom sagger.desk.planning import history\n"
    "from sagger.desk.pictures import tried\nnumber = int(sys.argv[1])\n"
    "said = json.dumps(history.order_tables(number))\n"
    "print(json.dumps([json.loads(tried.furnace_tried(number, said))['sinter'],\n"
    "                  json.loads(tried.oven_tried(number, said, 0))['cure']]))"
)


# How far the end of the programme's line is from a handle, in pixels.
LINE_FROM_HANDLE = """(furnace, name) => {
  const handle = furnace.querySelector(`[aria-label="${name}"]`).getBoundingClientRect();
  const chart = furnace.querySelector("svg").getBoundingClientRect();
  const wide = (path) => path.getAttribute("stroke-width") === "3.5";
  const line = [...furnace.querySelectorAll("path")].find(wide);
  const [x, y] = line.getAttribute("d").match(/[\\d.]+ [\\d.]+$/)[0].split(" ").map(Number);
  return Math.hypot(chart.x + x - handle.x - handle.width / 2, chart.y + y - handle.y - handle.height / 2);
}"""


@pytest.fixture
def furnace(page, bench, plan):
    """The furnace's part of the programmes page of a job that was planned."""
    number = plan(page)
    page.goto(f"{bench.url}/job/{number}/programmes")
    return page.get_by_role("region", name="Furnace")


def density(furnace):
    """Relative density as told beside the curve, and as the strip beneath it says, %."""
    told = furnace.locator("dt", has_text="relative density").locator("xpath=following-sibling::dd[1]")
    strip = furnace.locator("svg text", has_text="relative density")
    return [float(re.search(r"(\d+\.\d) [±%]", each.text_content())[1]) for each in (told, strip)]


def test_a_point_is_dragged_the_fields_follow_and_the_density_falls(page, furnace):
    grip = furnace.get_by_role("slider", name="stretch 4, end of hold")
    before, target = density(furnace), furnace.get_by_role("group", name="stretch 4").get_by_label("target")
    hot = float(target.input_value().removesuffix(" degC"))
    hold = furnace.get_by_label("hold").last
    held = hold.input_value()
    grip.scroll_into_view_if_needed()
    box = grip.bounding_box()
    at = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] + 1, at[1] + 15)
    page.mouse.move(at[0] + 4, at[1] + 30)
    expect(target).not_to_have_value(f"{hot:g} degC")
    apart = furnace.evaluate(LINE_FROM_HANDLE, "stretch 4, end of hold")
    assert apart < 1  # the line is under the hand before it is let go
    page.mouse.up()
    expect(target).not_to_have_value(f"{hot:g} degC")
    cold = float(target.input_value().removesuffix(" degC"))
    assert hot - 250 < cold < hot - 50
    expect(hold).to_have_value(held)  # it went down, not aside
    expect(furnace.get_by_text("as planned")).to_be_visible(timeout=60_000)
    after = density(furnace)
    assert after[0] == after[1] < before[0] - 2
    page.get_by_role("button", name="Back to what was planned").click()
    expect(target).to_have_value(f"{hot:g} degC")
    assert density(furnace) == before


def test_pointing_at_the_chart_reads_out_every_curve(page, furnace):
    chart = furnace.locator(".chart-area")
    chart.scroll_into_view_if_needed()
    chart.hover(position={"x": 300, "y": 400})
    expect(chart.get_by_text(re.compile(r"relative density: \d+\.\d %"))).to_be_visible()


def test_points_are_moved_by_keys_and_become_a_version(page, furnace):
    grip = furnace.get_by_role("slider", name="stretch 4, end of hold")
    hold = furnace.get_by_role("group", name="stretch 4").get_by_label("hold")
    before = density(furnace)
    held = int(hold.input_value().removesuffix(" min"))
    grip.focus()
    for _ in range(2):
        page.keyboard.press("Shift+ArrowLeft")
    expect(hold).to_have_value(f"{held - 50} min")
    expect(grip).to_have_attribute("aria-valuetext", re.compile(f"^{held - 50} min at "))
    expect(furnace.get_by_text("as planned")).to_be_visible(timeout=60_000)
    assert density(furnace)[0] < before[0]
    page.get_by_role("button", name="Plan this beside the other").click()
    page.wait_for_url("**/compare*")
    expect(page.get_by_text("furnace programme: of the card → 4 stretches of its own")).to_be_visible()


def test_an_oven_is_tried_from_its_field(page, bench, furnace):
    oven = page.get_by_role("region", name="Oven, box 1")
    point = oven.get_by_label("set point, held until the last piece is cured")
    expect(point).to_have_value("200 degC")
    oven.get_by_role("slider", name="set point, end of heating").focus()
    page.keyboard.press("PageDown")
    expect(point).to_have_value("150 degC")
    said = oven.get_by_role("status")
    expect(said).to_contain_text("the binder cures at", timeout=60_000)
    point.fill("190 degC")
    point.press("Tab")
    expect(oven.get_by_text("core, as planned")).to_be_visible(timeout=60_000)


def test_trying_what_was_planned_gives_the_plan(page, bench, plan):
    number = plan(page)
    there = json.loads(page.request.get(f"{bench.url}/api/job/{number}/plan.json").text())
    fired, cured = json.loads(bench.run(TRY, number))
    assert fired == there["sinter"]
    assert cured == there["boxes"][0]["cure"]
