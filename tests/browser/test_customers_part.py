"""A customer's file, drawn in inches by nobody here, from upload to traveller, as a person sees it."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import expect

from browsing import choose

PARTS = Path(__file__).parents[2].parent / "shared" / "parts"
TIMEOUT_MS = 180_000
READY = "canvas[data-ready]"
AT_REST = """() => {
  const { viewer } = document.querySelector("canvas");
  return !viewer.moving && !viewer.asked && viewer.frames > 1;
}"""
SHARP = """() => {
  const { view } = document.querySelector("canvas");
  return view.whole && !view.asked && !view.moving;
}"""
INCHES = np.array([5.0, 2.5, 1.375])  # overall, as the file's own numbers have it


@pytest.fixture
def customers_file():
    path = PARTS / "featuretype.STL"
    if not path.exists():
        pytest.skip("needs the part files beside the project")
    return path


def test_from_a_customers_file_to_its_traveller(page, bench, bring, approve, customers_file):
    job = ordered(page, bring, customers_file)
    plan = planned(page, bench, job)
    at_half_size = INCHES * 25.4 / 2
    np.testing.assert_allclose(sorted(plan["parts"][0]["extent_mm"]), sorted(at_half_size), rtol=1e-4)
    box_is_turned_and_cut(page, plan)
    layers_are_zoomed_to_drops(page, plan)
    thicker = compared_with_thicker_layers(page, bench, job)
    approve(page, thicker)
    looked_up_when_approved(page, bench, thicker)


def ordered(page, bring, file):
    """The number of the job; the unit was asked for, and named."""
    bring(page, file)
    row = page.get_by_role("table", name="Files").get_by_role("row", name=re.compile("featuretype"))
    expect(row).to_contain_text("3 476", timeout=TIMEOUT_MS)
    expect(row).to_contain_text("127.00 × 63.50 × 34.93 mm if in inches")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("alert").filter(has_text="does not say its unit").first).to_be_visible()
    choose(page, "unit", "in")
    page.get_by_text("More", exact=True).last.click()
    page.get_by_label("scale", exact=True).fill("0.5")
    page.get_by_label("layer", exact=True).fill("200 um")
    choose(page, "head", "head-400")
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/*")
    return int(page.url.rpartition("/")[2])


def planned(page, bench, job):
    """The plan, once the page says that it waits for a person."""
    page.get_by_role("link", name="Traveller, PDF").wait_for(timeout=TIMEOUT_MS)
    expect(page.get_by_role("button", name="Approve for printing")).to_be_visible()
    return json.loads(page.request.get(f"{bench.url}/api/job/{job}/plan.json").text())


def box_is_turned_and_cut(page, plan):
    page.get_by_role("link", name="see the box").click()
    page.wait_for_selector(READY)
    page.wait_for_function(AT_REST)
    piece = page.get_by_role("listbox", name="pieces").get_by_role("option")
    expect(piece).to_have_count(len(plan["pieces"]))
    canvas = page.locator("canvas")
    whole = canvas.screenshot()
    at = canvas.bounding_box()
    page.mouse.move(at["x"] + 300, at["y"] + 200)
    page.mouse.down()
    page.mouse.move(at["x"] + 420, at["y"] + 170, steps=4)
    page.mouse.up()
    page.wait_for_function(AT_REST)
    turned = canvas.screenshot()
    layers = plan["boxes"][0]["layers"]["count"]
    page.get_by_label("cut at layer").fill(str(layers // 2))
    page.wait_for_function(AT_REST)
    expect(page.get_by_text(f"of {layers}, {layers // 2 * 0.2:.2f} mm")).to_be_visible()
    assert len({whole, turned, canvas.screenshot()}) == 3


def layers_are_zoomed_to_drops(page, plan):
    page.get_by_role("link", name="layers", exact=True).click()
    page.wait_for_url("**/layers*")
    page.wait_for_selector(READY)
    page.wait_for_function(SHARP)
    expect(page.get_by_text("Each dot of the picture is the mean")).to_be_visible()
    at = page.locator("canvas").bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    for _ in range(40):
        page.mouse.wheel(0, -240)
    page.wait_for_function(SHARP)
    expect(page.get_by_text("Each square is the place of one drop.")).to_be_visible()
    pitch = plan["boxes"][0]["layers"]["pitch_um"][0] / 1e3
    scale = page.evaluate("(({ view }) => view.scale / devicePixelRatio)(document.querySelector('canvas'))")
    assert scale > 10  # page pixels a drop
    page.mouse.move(at["x"] + at["width"] / 2 + 3, at["y"] + at["height"] / 2)
    told = page.locator(".pointed").inner_text()
    found = re.fullmatch(r"x ([\d.]+) mm, y [\d.]+ mm: column (\d+), row \d+, (a|no) drop", told)
    assert found and int(float(found[1]) / pitch + 1e-6) == int(found[2])


def compared_with_thicker_layers(page, bench, job):
    """The number of the second job; fewer layers, in proportion, and less time."""
    page.goto(f"{bench.url}/job/{job}")
    page.get_by_role("link", name="Change something").click()
    page.get_by_label("layer", exact=True).fill("300 um")
    page.get_by_role("button", name="Plan this beside the other").click()
    page.wait_for_url("**/compare*")
    before, after = seen_in(page, "^layers")
    assert 1.3 < before / after < 1.6
    before, after = seen_in(page, "^printing")
    assert after < before
    expect(page.get_by_text("layer: 200 µm → 300 µm")).to_be_visible()
    return job + 1


def seen_in(page, name):
    """The two figures of a row of the comparison."""
    row = page.get_by_role("row", name=re.compile(name)).first
    expect(row).to_be_visible(timeout=TIMEOUT_MS)
    cells = row.get_by_role("cell").all_inner_texts()[:2]
    return [float(re.sub(r"\s", "", re.match(r"[\d\s.]+", cell)[0])) for cell in cells]


def looked_up_when_approved(page, bench, job):
    sheet = page.request.get(f"{bench.url}/files/job/{job}/traveller.html").text()
    assert "featuretype" in sheet
    page.goto(bench.url)
    expect(page.get_by_role("table", name="Approved").get_by_text("featuretype").first).to_be_visible()
