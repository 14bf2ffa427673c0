"""Readable, named and reachable: contrast, sizes, names, headings, and a way by keyboard alone."""

import re
from itertools import pairwise

import pytest
from playwright.sync_api import expect

USED = "button|link|textbox|combobox|spinbutton|checkbox|switch|progressbar|img|table"
UNNAMED = re.compile(rf"^\s*- ({USED})(?:\s*\[[^\]]*\])*:?$", re.MULTILINE)


@pytest.fixture(scope="module")
def job(bench):
    """A planned job of this bench."""
    code = (
        "from sagger.desk import uploads\n"
        "from sagger.desk.planning import drafts, history, runs\nimport sys, shutil, time\n"
        "token = uploads.begin()\nshutil.copy(sys.argv[1], uploads.place(token, 'block.stl'))\n"
        "part = {'file': 'block.stl', 'unit': 'mm', 'quantity': 2, 'tolerance': '0.5 %'}\n"
        "tables = {'order': {'name': 'blocks'}, 'cards': {'powder': 'steel-316l', 'head': 'head-400',\n"
        "          'box': 'box-160x65x65'}, 'choices': {'layer': '500 um'}, 'part': [part]}\n"
        "job = runs.ask(drafts.save(token, tables, 'test'), 'test')\n"
        "from sagger.desk.measuring import approvals, readings\n"
        "from sagger.desk.measuring.typed_conditions import factors\n"
        "for n, off in enumerate((0.01, -0.02, 0.0, 0.03, 0.25, -0.01)):\n"
        "    readings.enter({'kind': 'length', 'state': 'sintered', 'value': f'{20 + off} mm', 'u': '5 um',\n"
        "        'nominal': '20 mm', 'axis': 'x', 'box': 'B', 'piece': f'block {n}', 'part': 'block'}, 'A')\n"
        "for k in (1.19, 1.18):\n"
        "    approvals.approve(factors('steel-316l', (k,) * 3, (0.002,) * 3), 'A', 'coupons')\n"
        "while history.facts(job).state in ('waiting', 'running'):\n    time.sleep(0.2)\n"
        "print(job)"
    )
    return int(bench.run(code, bench.block()))


PAGES = [
    "/",
    "/new",
    "/job/{job}",
    "/job/{job}/change",
    "/job/{job}/programmes",
    "/job/{job}/price",
    "/job/{job}/bed",
    "/job/{job}/layers",
    "/job/{job}/part",
    "/job/{job}/part/block",
    "/job/999",
    "/compare?one={job}&other={job}",
    "/cards",
    "/cards/oven/box-oven?line=temperature",
    "/cards/powder/steel-316l",
    "/readings",
    "/charts?part=block&axis=x&nominal=20&tolerance=0.2 mm",
    "/lots/none",
    "/factors",
    "/people",
]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_readable_in_light_and_in_dark_and_everything_has_a_name(page, bench, job, path, faint):
    for theme in ("light", "dark"):
        page.context.add_cookies([{"name": "sagger_theme", "value": theme, "url": bench.url}])
        page.goto(bench.url + path.format(job=job))
        expect(page.get_by_role("heading", level=1)).to_have_count(1)
        expect(page.locator("footer")).to_be_visible()
        page.wait_for_timeout(200)
        assert faint(page) == [], theme
    assert UNNAMED.findall(page.locator("body").aria_snapshot()) == []
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3,h4')].map(h => Number(h.tagName[1]))")
    assert all(after <= before + 1 for before, after in pairwise(levels)), levels
    assert page.get_by_role("main").count() == 1
    assert page.get_by_role("navigation", name="Bench").count() == 1
    assert page.locator("html").get_attribute("lang") == "en-GB"


def tab_to(page, name, most=120):
    """Go on with the Tab key until something of this name has the focus, and is seen to have it."""
    for _ in range(most):
        page.keyboard.press("Tab")
        seen = page.evaluate(
            """() => { const e = document.activeElement, s = getComputedStyle(e);
            const words = (e.getAttribute('aria-label') || '') + '|' + (e.innerText || '').trim();
            const box = e.closest('.q-field') ? 1 : parseFloat(s.outlineWidth);
            return [words, box]; }"""
        )
        if name in seen[0].split("|"):
            assert seen[1] > 0, f"{name} has the focus and does not show it"
            return
    raise AssertionError(f"{name} cannot be reached")


def test_a_choice_is_changed_and_compared_by_keyboard_alone(page, bench, job):
    page.goto(f"{bench.url}/job/{job}")
    expect(page.get_by_role("link", name="Change something")).to_be_visible()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.innerText") == "To the content"
    page.keyboard.press("Enter")
    tab_to(page, "Change something")
    page.keyboard.press("Enter")
    page.wait_for_url("**/change")
    expect(page.get_by_label("layer", exact=True)).to_have_value("500 um")
    tab_to(page, "layer")
    page.keyboard.press("Control+A")
    page.keyboard.type("400 um")
    tab_to(page, "Plan this beside the other")
    page.keyboard.press("Enter")
    page.wait_for_url("**/compare*")
    expect(page.get_by_text("layer: 500 µm → 400 µm")).to_be_visible()
    expect(page.get_by_role("row", name=re.compile("^layers"))).to_be_visible(timeout=60_000)


def test_light_and_dark_are_turned_by_the_corner_and_remembered(page, bench):
    page.context.add_cookies([{"name": "sagger_theme", "value": "light", "url": bench.url}])
    page.goto(bench.url)
    page.get_by_role("button", name="Theme").click()
    expect(page.locator("body")).to_have_class(re.compile("body--dark"))
    page.reload()
    expect(page.locator("body")).to_have_class(re.compile("body--dark"))
