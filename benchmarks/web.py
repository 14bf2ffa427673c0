"""How quickly the bench shows a large box and a large layer, in a real browser.

500 pieces of 5,000 triangles in 20 parts, and layers of 18,898 x 11,811 drops with a skin and a halftoned
core, both made here. Chromium draws without a graphics card (software GL): drawing, putting the page
together and the server share the cores; how quick a machine with a card is, was not measured. Forms and
layers are asked for the first time; the browser has seen a page of the bench before. While something moves,
the bench draws fewer triangles and every other pixel on such a machine, and frames are counted as they were
drawn so. Beside them stands how often the browser comes round that only clears the same canvas: more no
page could do. The list of a thousand orders is that of `web_orders`.
"""

from __future__ import annotations

import dataclasses
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import numpy as np
import web_orders

from sagger import cards
from sagger.desk.home import ledger
from sagger.desk.planning.cache import maker
from sagger.goods.factors import Factors
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Piece
from sagger.goods.order import Choices, Request, Tolerance
from sagger.goods.part import Part
from sagger.goods.shape import Shape
from sagger.ledger import jobs
from sagger.stations import layers
from sagger.tick import silent

ORDER = Path(__file__).parents[1] / "examples" / "order-metal.toml"
PIECES, PARTS, SIDE = 500, 20, 50  # a ring of 50 x 50 quads has 5,000 triangles
ARGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
SECONDS = 4.0  # that each motion is watched

TURN = """async (seconds) => {
  const viewer = document.querySelector("canvas").viewer, began = performance.now(), first = viewer.frames;
  await new Promise((done) => {
    const step = () => {
      if (performance.now() - began > seconds * 1000) return done();
      viewer.turn(0.02);
      requestAnimationFrame(step);
    };
    step();
  });
  return (viewer.frames - first) / ((performance.now() - began) / 1000);
}"""
ALONE = """async (seconds) => {
  const { viewer } = document.querySelector("canvas"), began = performance.now();
  let frames = 0;
  await new Promise((done) => {
    const step = () => {
      if (performance.now() - began > seconds * 1000) return done();
      viewer.renderer.setClearColor(frames % 2 ? 0x808080 : 0x909090);
      viewer.renderer.clear();
      frames += 1;
      requestAnimationFrame(step);
    };
    step();
  });
  return frames / ((performance.now() - began) / 1000);
}"""
ZOOM = """async (seconds) => {
  const sheet = document.querySelector("canvas").view, began = performance.now(), first = sheet.frames;
  let last = began, longest = 0;
  await new Promise((done) => {
    const step = () => {
      const now = performance.now();
      longest = Math.max(longest, now - last);
      last = now;
      if (now - began > seconds * 1000) return done();
      sheet.zoom(now - began < seconds * 500 ? 1.04 : 1 / 1.04, 400, 250);
      requestAnimationFrame(step);
    };
    step();
  });
  return [(sheet.frames - first) / ((performance.now() - began) / 1000), longest];
}"""


def ring(number: int) -> Shape:
    """A ring with a wavy rim, 28 mm across, 5,000 triangles, every number a little different."""
    around, across = np.meshgrid(*(np.arange(SIDE) * 2 * np.pi / SIDE,) * 2, indexing="ij")
    thick = 3.6 + 0.5 * np.cos((3 + number % 5) * around)
    reach = 9.5 + thick * np.cos(across)
    points = np.stack([reach * np.cos(around), reach * np.sin(around), thick * np.sin(across)], axis=-1)
    i, j = np.meshgrid(np.arange(SIDE), np.arange(SIDE), indexing="ij")
    a, b = i * SIDE + j, (i + 1) % SIDE * SIDE + j
    c, d = (i + 1) % SIDE * SIDE + (j + 1) % SIDE, i * SIDE + (j + 1) % SIDE
    faces = np.stack([a, b, c, a, c, d], axis=-1).reshape(-1, 3)
    return Shape(vertices=points.reshape(-1, 3), triangles=faces.astype(np.int32))


def green(number: int) -> Green:
    shape = ring(number)
    request = Request(
        name=f"ring {number + 1}",
        file="ring.stl",
        unit="mm",
        quantity=PIECES // PARTS,
        tolerance=Tolerance(kind="percent", value=2.0),
    )
    part = Part(
        request=request,
        digest=str(number),
        shape=shape,
        volume_mm3=1.0,
        area_mm2=1.0,
        extent_mm=tuple(np.ptp(shape.vertices, axis=0)),
        thickest_mm=8.0,
        turns=np.eye(3)[None],
        healed=(),
        findings=(),
    )
    factors = Factors(k=np.ones(3), u=np.full(3, 0.01), material="steel-316l", origin="benchmark")
    return Green(part=part, shape=shape, factors=factors, maps=np.eye(3)[None])


def layout(box) -> Layout:
    """Rings in rows and storeys, each turned by its own angle."""
    pieces = []
    for n in range(PIECES):
        storey, place = divmod(n, 13 * 8)
        angle = 0.37 * n
        placement = np.eye(4)
        placement[:2, :2] = [[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]
        placement[:3, 3] = (18 + place % 13 * 30.0, 18 + place // 13 * 30.0, 6 + 11.0 * storey)
        pieces.append(Piece(part=n % PARTS, number=n // PARTS + 1, turn=0, placement=placement))
    return Layout(
        number=1,
        box=box,
        greens=tuple(green(n) for n in range(PARTS)),
        pieces=tuple(pieces),
        gap_mm=1.0,
        least_gap_mm=1.0,
        wall_gap_mm=2.0,
        height_mm=6 + 11.0 * ((PIECES - 1) // (13 * 8)) + 6,
        volume_mm3=1.0,
        density=0.1,
    )


def book_job(folder: Path) -> int:
    """A job that came as far as its layers."""
    cell = cards.cell(cards.DEFAULTS)
    wide = dataclasses.replace(cell.box.length_x, value=0.40001)  # 18,898 drops at 1200 dpi
    box = dataclasses.replace(cell.box, length_x=wide, length_y=_long(cell, 0.25), length_z=_long(cell, 0.25))
    head = dataclasses.replace(
        cell.head,
        resolution_x=_fine(cell.head.resolution_x),
        resolution_y=_fine(cell.head.resolution_y),
        bits=1,
        dead_nozzles=(),
    )
    choices = Choices(layer_um=50.0, skin_mm=1.0, core_saturation=0.5, phase_jitter=False)
    book = ledger()
    job = jobs.begin(book, jobs.Beginning("bench", "", str(folder), "", "2030-01-07T08:00"))
    stack = maker(book, job, silent)(layers.draw, layout(box), head, cell.powder, choices)
    jobs.end(book, job, "done")
    print(f"{PIECES} pieces, {stack.columns} x {stack.rows} drops, {stack.count} layers")
    return job


def _long(cell, metres):
    return dataclasses.replace(cell.box.length_y, value=metres)


def _fine(figure):
    return dataclasses.replace(figure, value=1200 / 0.0254)


def watch(url: str, job: int, server: int, counting: int) -> dict[str, float]:
    """What a browser finds."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(url)
        page.wait_for_timeout(2000)
        bed_s = opened(page, f"{url}/job/{job}/bed")
        page.wait_for_timeout(3000)  # it settles, and learns what it can draw
        bed_fps, alone = page.evaluate(TURN, SECONDS), page.evaluate(ALONE, SECONDS)
        layer_s = opened(page, f"{url}/job/{job}/layers?layer=120")
        zoom_fps, longest = page.evaluate(ZOOM, SECONDS)
        orders = web_orders.watched(page, url, server, counting)
        browser.close()
    print(f"longest wait between two frames of the zoom: {longest:.0f} ms")
    print(f"the browser alone, clearing the canvas of the box: {alone:.0f} frames a second")
    return {"bed_500_s": bed_s, "bed_fps": bed_fps, "layer_open_s": layer_s, "zoom_fps": zoom_fps} | orders


def opened(page, address: str) -> float:
    """Seconds from asking for an address to its picture."""
    page.goto(address, wait_until="commit")
    page.wait_for_selector("canvas[data-ready]", timeout=60_000)
    return float(page.evaluate("document.querySelector('canvas').dataset.ready")) / 1000


def planned(folder: Path) -> dict[str, object]:
    """plan.json of the example order, planned in a home of its own."""
    words = [sys.executable, "-m", "sagger", "plan", str(ORDER), "--into", str(folder / "example")]
    done = subprocess.run(words, env=os.environ | {"SAGGER_HOME": str(folder / "example-home")}, check=False)
    if done.returncode not in (0, 3):
        raise SystemExit("the example order is not planned")
    return json.loads((folder / "example" / "plan.json").read_text())


def served(home: Path) -> tuple[subprocess.Popen[bytes], str]:
    """The bench in a process of its own, once it answers."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "sagger", "serve", "--port", str(port)]
    server = subprocess.Popen(words, env=os.environ | {"SAGGER_HOME": str(home)}, stdout=subprocess.DEVNULL)
    for _ in range(600):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/bench/bench.css").read()
            break
        except OSError:
            time.sleep(0.1)
    time.sleep(5.0)  # what it loads in the background is there: a bench runs for days
    return server, f"http://127.0.0.1:{port}"


def main() -> None:
    if shutil.which("chromium") is None:
        sys.exit("this benchmark needs Chromium (apt-get install chromium)")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SAGGER_HOME"] = folder
        job = book_job(Path(folder) / "out")
        counting = web_orders.filled(planned(Path(folder)))
        server, url = served(Path(folder))
        try:
            found = watch(url, job, server.pid, counting)
        finally:
            server.terminate()
            server.wait(20)
    load = os.getloadavg()[0]
    print(f"software GL on {os.cpu_count()} cores at a load of {load:.1f}; a graphics card was not measured")
    print(json.dumps({name: round(value, 2) for name, value in found.items()}))


if __name__ == "__main__":
    main()
