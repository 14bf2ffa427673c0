"""Long work: it is stopped, it outlives its page and its server, and goes on after a pulled plug."""

import json
import os
import re
import signal
import time
from pathlib import Path

from playwright.sync_api import expect

TIMEOUT_MS = 60_000


def begin(page, bench, bring, size=(60, 40, 40), layer="5 um"):
    """A job that takes a while; its number, once it draws layers."""
    bring(page, bench.block(f"big-{time.monotonic_ns()}.stl", size), unit="mm")
    page.get_by_label("layer", exact=True).fill(layer)
    page.get_by_label("quantity").fill("1")
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/*")
    expect(page.get_by_text("drawing layers")).to_be_visible(timeout=TIMEOUT_MS)
    return int(page.url.rpartition("/")[2])


def facts(page, bench, number):
    return json.loads(page.request.get(f"{bench.url}/api/job/{number}").text())


def until(page, bench, number, state):
    limit = time.monotonic() + 60
    while time.monotonic() < limit:
        if facts(page, bench, number)["state"] == state:
            return facts(page, bench, number)
        time.sleep(0.2)
    raise AssertionError(facts(page, bench, number))


def test_a_job_is_stopped_and_goes_on(page, bench, bring):
    number = begin(page, bench, bring)
    page.get_by_role("button", name="Stop planning").click()
    expect(page.get_by_role("heading", name=re.compile("^Go on with planning"))).to_be_visible(timeout=20_000)
    assert facts(page, bench, number)["state"] == "cancelled"
    page.get_by_role("button", name="Go on with planning").click()
    page.wait_for_url(f"**/job/{number + 1}")
    bench.say("show", number + 1)
    page.get_by_role("button", name="Stop planning").click()
    until(page, bench, number + 1, "cancelled")


def test_a_nest_that_is_low_enough_is_planned_at_the_height_it_has(page, bench, bring):
    bring(page, bench.block("lever.stl", (30, 17, 9)), unit="mm")
    page.get_by_label("layer", exact=True).fill("500 um")
    page.get_by_label("quantity").fill("9")
    page.get_by_label("improve").fill("100000")
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/*")
    height = page.locator(".height")
    expect(height).to_have_text(re.compile(r"best so far \d+\.\d mm high"), timeout=TIMEOUT_MS)
    number = int(page.url.rpartition("/")[2])
    shown = float(re.search(r"(\d+\.\d) mm high", height.inner_text())[1])
    page.get_by_role("button", name="This height is enough").click()
    page.get_by_role("link", name="Traveller, PDF").wait_for(timeout=TIMEOUT_MS)
    plan = json.loads(page.request.get(f"{bench.url}/api/job/{number}/plan.json").text())
    low, high = plan["boxes"][0]["bound_mm"], plan["boxes"][0]["height_mm"]
    assert low <= high
    assert high < shown + 5  # what lies beneath the first piece comes on top
    expect(page.get_by_role("button", name="This height is enough")).to_have_count(0)


def test_a_job_outlives_its_page_and_its_server(page, bench, bring):
    page.allowed.append("")  # the page loses its server, and says so
    number = begin(page, bench, bring, size=(60, 40, 120))  # longer than a bench takes to come back
    page.goto("about:blank")
    bench.close(signal.SIGKILL)
    row = json.loads(bench.say("jobs", "--json"))["jobs"][0]
    assert (row["id"], row["state"]) == (number, "running")
    bench.open()
    page.goto(f"{bench.url}/job/{number}")
    expect(page.get_by_role("button", name="Stop planning")).to_be_visible()
    page.get_by_role("button", name="Stop planning").click()
    until(page, bench, number, "cancelled")


def test_a_job_whose_process_was_killed_is_interrupted_and_goes_on(page, bench, bring):
    page.allowed.append("")
    number = begin(page, bench, bring)
    process = next(int(each) for each in os.listdir("/proc") if each.isdigit() and _is_worker(each, number))
    page.goto("about:blank")
    bench.close(signal.SIGKILL)
    os.kill(process, signal.SIGKILL)
    bench.open()
    page.goto(f"{bench.url}/job/{number}")
    expect(page.get_by_role("heading", name=re.compile("^Go on with planning"))).to_be_visible()
    assert until(page, bench, number, "interrupted")["message"] == "its process is gone"
    page.get_by_role("button", name="Go on with planning").click()
    page.wait_for_url(f"**/job/{number + 1}")
    expect(page.get_by_text(re.compile("drawing layers"))).to_be_visible(timeout=TIMEOUT_MS)
    page.get_by_role("button", name="Stop planning").click()
    until(page, bench, number + 1, "cancelled")


def _is_worker(process, number):
    try:
        words = Path(f"/proc/{process}/cmdline").read_bytes().split(b"\0")
    except OSError:
        return False
    return words[-4:-1] == [b"-m", b"sagger.desk.planning.worker", str(number).encode()]
