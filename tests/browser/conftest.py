"""A bench of its own for each test file, and a real browser in front of it."""

import os
import re
import shutil
import signal
import socket
import struct
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import numpy as np
import pytest

from browsing import choose

ARGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
STOP = """from sagger.desk import home
from sagger.desk.planning import runs
from sagger.ledger import jobs
for row in jobs.listed(home.ledger()):
    if row.state in jobs.OPEN:
        runs.stop(row.id)
"""
CORNERS = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float)
FACES = [(0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4)]
FACES += [(2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6), (1, 3, 5), (3, 7, 5)]
# Contrast after WCAG 2.2, success criterion 1.4.3: 4.5 to 1, or 3 to 1 for text of 24 px, or 18.66 px bold.
CONTRAST = """() => {
  const level = c => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
  const light = ([r, g, b]) => 0.2126 * level(r) + 0.7152 * level(g) + 0.0722 * level(b);
  const parse = text => [...text.match(/[\\d.]+/g).map(Number), 1].slice(0, 4);
  const over = (top, under) => [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3]));
  const ground = el => {
    const layers = [];
    for (; el; el = el.parentElement) {
      const c = parse(getComputedStyle(el).backgroundColor);
      if (c[3] > 0) layers.push(c);
      if (c[3] === 1) break;
    }
    return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255]);
  };
  const wrong = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    const el = node.parentElement, words = node.textContent.trim();
    if (!words || !el.checkVisibility({ opacityProperty: true, visibilityProperty: true })) continue;
    if (el.closest("script, style, caption, .unseen, .skip, svg, noscript, [aria-hidden=true]")) continue;
    const style = getComputedStyle(el), size = parseFloat(style.fontSize), back = ground(el);
    const a = light(over(parse(style.color), back)), b = light(back);
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const big = size >= 24 || (size >= 18.66 && style.fontWeight >= 700);
    if (ratio < (big ? 3 : 4.5)) wrong.push(`${ratio.toFixed(2)}: ${words.slice(0, 40)}`);
    const real = size * (el.getBoundingClientRect().height ? 1 : 0);
    if (real && real < 12) wrong.push(`${size} px: ${words.slice(0, 40)}`);
  }
  return wrong;
}"""


def pytest_collection_modifyitems(items):
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.slow)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """A picture of what the page showed when a test failed, beside the bench's own files."""
    report = yield
    if report.when == "call" and report.failed and "page" in item.funcargs and "bench" in item.funcargs:
        item.funcargs["page"].screenshot(path=item.funcargs["bench"].folder / f"{item.name}.png")
    return report


@pytest.fixture(scope="session")
def chromium():
    """A browser that is there already; nothing is downloaded."""
    path = shutil.which("chromium")
    if path is None and os.environ.get("CI"):
        pytest.fail("CI needs Chromium for these tests: apt-get install chromium")
    if path is None:
        pytest.skip("needs Chromium (apt-get install chromium)")
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=30_000)  # a busy machine answers late
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=ARGS)
        yield browser
        browser.close()


class Bench:
    """A bench in a process of its own, in a shop of its own."""

    def __init__(self, folder):
        self.folder, self.home = folder, folder / "home"
        self.env = {key: value for key, value in os.environ.items() if not key.startswith("PYTEST")}
        self.env |= {"SAGGER_HOME": str(self.home)}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.server = None

    def say(self, *words, **more):
        """A word on the command line of the same shop."""
        command = [sys.executable, "-m", "sagger", *map(str, words)]
        done = subprocess.run(command, env=self.env, capture_output=True, text=True, check=True, **more)
        return done.stdout

    def run(self, code, *words):
        """What a piece of Python says in this shop."""
        command = [sys.executable, "-c", code, *map(str, words)]
        done = subprocess.run(command, env=self.env, capture_output=True, text=True, check=True)
        return done.stdout

    def open(self, *words):
        """Start the server and wait until it answers."""
        command = [sys.executable, "-m", "sagger", "serve", "--port", str(self.port), *words]
        with (self.folder / "server.txt").open("ab") as log:
            self.server = subprocess.Popen(command, env=self.env, stdout=log, stderr=log)
        until = time.monotonic() + 60
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(f"{self.url}/bench/bench.css").read()
                return self
            except OSError:
                time.sleep(0.1)
        pytest.fail((self.folder / "server.txt").read_text())

    def close(self, number=signal.SIGTERM):
        """End the server; jobs under way go on."""
        if self.server:
            self.server.send_signal(number)
            self.server.wait(20)

    def end(self):
        """End the server and what is still at work for it, so that no test slows another down."""
        self.close()
        self.run(STOP)

    def block(self, name="block.stl", size=(20, 12, 8)):
        """An STL file of a box, mm."""
        path = self.folder / name
        facets = [struct.pack("<12fH", 0, 0, 0, *(CORNERS[list(face)] * size).ravel(), 0) for face in FACES]
        path.write_bytes(bytes(80) + struct.pack("<I", len(facets)) + b"".join(facets))
        return path


@pytest.fixture(scope="session")
def new_bench():
    """Makes benches that nobody opened yet."""
    return Bench


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    made = Bench(tmp_path_factory.mktemp("shop"))
    yield made.open()
    made.end()


@pytest.fixture
def page(chromium, bench):
    """A page that must not complain, and must not ask any other host for anything."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800}, accept_downloads=True)
    yield from watched(context, bench)


@pytest.fixture
def faint():
    """Says which words of a page are too faint or too small to be read."""
    return lambda page: page.evaluate(CONTRAST)


def watched(context, bench):
    """A page of this context; what it complained of and where it reached is looked at in the end."""
    shown = context.new_page()
    wrong, outside = [], []
    shown.on("pageerror", lambda error: wrong.append(str(error)))
    shown.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    own = (bench.url, bench.url.replace("http", "ws"), "data:", "blob:")
    shown.on("request", lambda asked: outside.append(asked.url) if not asked.url.startswith(own) else None)
    shown.set_default_timeout(20_000)
    shown.allowed = []  # words that a complaint may hold, where a test provokes one
    yield shown
    wrong = [each for each in wrong if not any(word in each for word in shown.allowed)]
    assert (wrong, outside) == ([], [])
    context.close()


@pytest.fixture
def bring(bench):
    """Bring files to a new order; the page then shows its form."""

    def do(page, *files, unit=""):
        page.goto(f"{bench.url}/new")
        page.set_input_files("input[type=file]", [str(path) for path in files])
        if unit:
            choose(page, "unit", unit)

    return do


@pytest.fixture
def plan(bench, bring):
    """An order of a small block, planned to its end; its job number."""

    def do(page, layer="500 um", quantity=2):
        bring(page, bench.block(), unit="mm")
        page.get_by_label("layer", exact=True).fill(layer)
        choose(page, "head", "head-400")
        choose(page, "box", "box-160x65x65")
        page.get_by_label("quantity").fill(str(quantity))
        page.get_by_role("button", name="Plan it").click()
        page.wait_for_url("**/job/*")
        page.get_by_role("link", name="Traveller, PDF").wait_for(timeout=60_000)
        return int(page.url.rpartition("/")[2])

    return do


@pytest.fixture
def approve(bench):
    """Approve a job and take its traveller away."""
    from playwright.sync_api import expect

    def do(page, job):
        page.goto(f"{bench.url}/job/{job}")
        page.get_by_label("Approved by").fill("A. Person")
        page.get_by_role("button", name="Approve for printing").click()
        expect(page.get_by_role("heading", name=re.compile("^Print it"))).to_be_visible()
        with page.expect_download() as carried:
            page.get_by_role("link", name="Traveller, PDF").click()
        assert carried.value.path().read_bytes().startswith(b"%PDF")

    return do
