"""Faces of a part are clicked, asked for something, kept over a reload, and arrive in the plan."""

import re

from playwright.sync_api import expect

from browsing import choose


def panel(page, bench, bring=None):
    """The picture of the one part of a new order, drawn."""
    if bring:
        bring(page, bench.block(), unit="mm")
    page.get_by_role("button", name="Dimensions on the faces of block").click()
    page.wait_for_selector("canvas[data-ready]", timeout=60_000)
    return page.locator("canvas")


def ask(page, what, limit):
    choose(page, "What is asked", what)
    page.get_by_label("Limit").fill(limit)
    page.get_by_role("button", name="Take into the order").click()


def plan_it(page):
    for label, value in (("layer", "500 um"), ("quantity", "2")):
        page.get_by_label(label, exact=True).fill(value)
    for label, value in (("unit", "mm"), ("head", "head-400"), ("box", "box-160x65x65")):
        choose(page, label, value)
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/*")
    page.get_by_role("link", name="Traveller, PDF").wait_for(timeout=90_000)


def test_a_face_is_clicked_said_and_taken_and_arrives_in_the_plan(page, bench, bring):
    canvas = panel(page, bench, bring)
    box = canvas.bounding_box()
    canvas.click(position={"x": box["width"] / 2, "y": box["height"] * 0.4})
    first = page.locator(".chosen-face").first
    expect(first).to_contain_text("plane at")
    expect(first).to_contain_text("2 triangles")
    expect(canvas).to_have_attribute("data-lit", "2")
    page.get_by_label("Limit").fill("0,2 mm")
    page.get_by_role("button", name="Take into the order").click()
    expect(page.locator(".q-field--error")).to_contain_text("decimal point")
    ask(page, "flatness", "0.2 mm")
    line = page.locator(".lines li")
    expect(line).to_contain_text("flatness of plane at")

    # By keys alone: the face under the cross, then, from below, a second one.
    view = page.locator(".seen")
    view.focus()
    page.keyboard.press("t")
    page.keyboard.press("Enter")
    expect(page.locator(".chosen-face")).to_contain_text("facing z")
    for _ in range(30):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Shift+Enter")
    expect(page.locator(".chosen-face.second")).to_contain_text("facing -z")
    ask(page, "thickness", "±0.1 mm")
    expect(line).to_have_count(2)

    page.reload()
    panel(page, bench)
    expect(line).to_have_count(2)
    page.get_by_role("button", name="Take out line 1").click()
    expect(line).to_have_count(1)
    expect(page.locator(".drawn-rows")).to_contain_text("thickness")
    page.locator(".drawn-rows tbody tr").first.hover()
    expect(canvas).to_have_attribute("data-lit", "4")

    plan_it(page)
    page.goto(f"{page.url}/part/block")
    expect(page.locator(".drawn-rows")).to_contain_text("thickness", timeout=60_000)
    expect(page.locator(".lines li")).to_contain_text(re.compile(r"thickness of plane at .*: ±0.1 mm"))
    page.locator(".drawn-rows tbody tr button").first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("canvas").first).to_have_attribute("data-lit", "4")
