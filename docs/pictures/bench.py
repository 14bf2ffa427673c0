"""Pictures of the bench for docs/bench.md: `python docs/pictures/bench.py [FOLDER] [NAME ...]`.

With a folder every page is pictured there in both themes and two sizes, to be looked at; without one, or with
"-", the few that the manual shows are drawn anew. With names only those.
"""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples"
ARGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
SIZES = {"1280": (1280, 800), "1920": (1920, 1080)}
PAGES = {
    "orders": "/",
    "job": "/job/2",
    "change": "/job/1/change",
    "compare": "/compare?one=1&other=2",
    "programmes": "/job/1/programmes",
    "price": "/job/1/price",
    "bed": "/job/1/bed",
    "layers": "/job/1/layers?layer=121",
    "drops": "/job/1/layers?layer=121&at=20,28.3,60",
    "part": "/job/1/part/clamp%20body",
    "maps": "/job/1/part/pump%20lever",
    "cards": "/cards",
    "card": "/cards/powder/steel-316l?line=packing",
    "readings": "/readings",
    "charts": "/charts?part=lever&axis=x&feature=bore&nominal=20&tolerance=0.2 mm",
    "factors": "/factors",
    "people": "/people",
    "cell": "/cell",
}
SHOWN = (
    ("job", "light"), ("bed", "light"), ("layers", "dark"), ("part", "light"), ("maps", "light"),
    ("compare", "dark"), ("programmes", "light"), ("card", "dark"),
    ("charts", "light"), ("cell", "light"),
)  # fmt: skip


LENGTHS = (
    "import random\nfrom sagger.desk.home import ledger\nfrom sagger.goods.reading import Reading\n"
    "from sagger.ledger import readings\nfrom sagger.desk.measuring import approvals\n"
    "chance = random.Random(2)\n"
    "fact = dict(kind='length', state='sintered', axis='x', nominal=0.02, u=5e-6,\n"
    "            part='lever', feature='bore')\n"
    "found = [Reading(value=0.02 + 1e-6 * (off + chance.gauss(0, 30)), box=box, piece=f'lever {n}', **fact)\n"
    "         for box, off in (('B-0101', 10), ('B-0102', 5), ('B-0103', 75)) for n in range(1, 13)]\n"
    "readings.add(ledger(), found, 'A. Person')\n"
    "for k, u in ((1.19, 0.004), (1.1882, 0.0021), (1.1879, 0.0012)):\n"
    "    approvals.approve('steel-316l', (k, k, k + 0.03), (u,) * 3, 'A. Person', 'coupons')\n"
)  # three boxes of an invented part, the last one longer


CELL = (
    "import sys\nfrom pathlib import Path\nfrom sagger.desk.planning import cell\n"
    "from sagger.ledger.lots import Mover\nstep = Mover(person='A. Person')\nnow = '2030-01-07T07:00'\n"
    "cell.book_table(Path(sys.argv[1]), step)\ncell.plan(now, cell.FIRST, step)\n"
    "cell.promise('gear blanks', '2030-01-16T12:00', now, step)\n"
    "cell.event('fixed', 'gear blanks/1', now, '', step)\ncell.plan(now, cell.FIRST, step)\n"
)  # the example table of a cell, one date promised, one build fixed


def main() -> None:
    """Open a bench of its own, plan the example order twice, and picture the pages."""
    into = Path(sys.argv[1]) if sys.argv[1:2] not in ([], ["-"]) else None
    pages = {name: path for name, path in PAGES.items() if name in (sys.argv[2:] or PAGES)}
    with tempfile.TemporaryDirectory() as shop, sync_playwright() as play:
        server, url = opened(Path(shop))
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        try:
            env = os.environ | {"SAGGER_HOME": shop}
            if set(pages) - {"cell"}:
                subprocess.run([sys.executable, "-c", LENGTHS], env=env, check=True)
            if "cell" in pages:
                orders = str(EXAMPLES / "cell-orders.csv")
                subprocess.run([sys.executable, "-c", CELL, orders], env=env, check=True)
            if set(pages) - {"charts", "readings", "factors", "cell", "people"}:
                planned(browser, url, into)
            for name, path in pages.items():
                for theme in ("light", "dark"):
                    for size in SIZES:
                        pictured(browser, url + path, name, theme, size, into)
        finally:
            browser.close()
            server.terminate()
            server.wait(20)


def opened(shop: Path) -> tuple[subprocess.Popen, str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "sagger", "serve", "--port", str(port)]
    server = subprocess.Popen(command, env=os.environ | {"SAGGER_HOME": str(shop)}, stderr=subprocess.DEVNULL)
    url = f"http://127.0.0.1:{port}"
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{url}/bench/bench.css").read()
            return server, url
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the bench does not open")


def planned(browser, url: str, into: Path | None) -> None:
    """The example order of metal parts, and beside it one with thicker layers."""
    page = browser.new_page(viewport=dict(zip(("width", "height"), SIZES["1280"], strict=True)))
    page.set_default_timeout(900_000)  # parts are followed through the furnace
    page.goto(f"{url}/new")
    names = ("pump-lever.stl", "clamp-body.3mf", "ring-nozzle.stl")
    parts = [EXAMPLES / "parts" / name for name in names]
    asked = [EXAMPLES / name for name in ("lot-316l.csv", "lot-316l.toml", "order-metal.toml")] + parts
    page.set_input_files("input[type=file]", [str(path) for path in asked])
    page.get_by_role("heading", name="Part: ring-nozzle.stl").wait_for()
    page.get_by_label("layer", exact=True).fill("100 um")
    page.get_by_role("combobox", name="sag", exact=True).first.click()
    page.get_by_role("option", name="quick", exact=True).click()
    if into:
        page.screenshot(path=into / "new.png", full_page=True)
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/1")
    page.get_by_text("drawing layers").wait_for()
    if into:
        page.screenshot(path=into / "running.png")
    page.get_by_role("link", name="Traveller, PDF").wait_for()
    page.get_by_role("link", name="Change something").click()
    page.get_by_label("layer", exact=True).fill("150 um")
    page.get_by_role("button", name="Plan this beside the other").click()
    page.get_by_role("heading", name="Price").wait_for()
    page.close()


def pictured(browser, address: str, name: str, theme: str, size: str, into: Path | None) -> None:
    if into is None and ((name, theme) not in SHOWN or size != "1280"):
        return
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height})
    context.add_cookies([{"name": "sagger_theme", "value": theme, "url": address}])
    page = context.new_page()
    page.goto(address)
    page.locator("footer").wait_for()
    if name in ("bed", "layers", "drops", "part"):
        page.wait_for_selector("canvas[data-ready]")
    if name == "programmes":  # the furnace stands below the oven
        page.get_by_role("region", name="Furnace").evaluate("e => e.scrollIntoView()")
        page.get_by_role("slider", name="stretch 4, end of heating").focus()
    if name == "maps":
        page.wait_for_selector(".maps canvas[data-ready]")
        page.get_by_label("drawn").select_option("20 ×")
        page.get_by_role("heading", name="Out of the furnace").evaluate("each => each.scrollIntoView()")
    page.wait_for_timeout(2000)
    path = (into or HERE) / (f"{name}-{theme}-{size}.png" if into else f"bench-{name}.png")
    page.screenshot(path=path, full_page=name == "cell")
    context.close()
    if into is None:
        tones = 224 if name == "maps" else 64  # a scale of colours has no steps
        Image.open(path).convert("RGB").quantize(tones, dither=Image.Dither.NONE).save(path, optimize=True)


if __name__ == "__main__":
    main()
