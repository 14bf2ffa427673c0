"""The box in space, the layers down to single drops, findings where they are: by mouse and by keyboard."""

import json
import sqlite3

import numpy as np
import pytest
from playwright.sync_api import expect

from sagger.geometry import raster
from sagger.ledger import bodies, open_at
from sagger.stations import layers

READY = "canvas[data-ready]"
AT_REST = """() => {
  const viewer = document.querySelector("canvas").viewer;
  return viewer && !viewer.moving && !viewer.asked && viewer.frames > 1;
}"""
SHARP = """() => {
  const sheet = document.querySelector("canvas").view;
  return sheet.whole && !sheet.asked;
}"""
# Puts into the ledger that the block was followed through the furnace: its top 0.4 mm low, then 0.02 mm high.
FIRED = """
import dataclasses, numpy as np
from sagger.desk.home import ledger
from sagger.goods.good import digest
from sagger.goods.green import Green
from sagger.goods.sag import Deformed, Misfit, Sag
from sagger.goods.shape import Shape
from sagger.ledger import bodies, works
from sagger.stations import shrink, sinter
book = ledger()
green = bodies.get(book, works.outputs(works.of_job(book, 1), shrink.compensate)[0])
nominal, faces = np.array(green.part.shape.vertices), green.part.shape.triangles
up = np.where(nominal[:, 2:] > 4, [[0.0, 0.0, 1.0]], 0.0)
before, after = (Misfit(rms_mm=most / 2, most_mm=most, fit_rms_mm=most / 2) for most in (0.4, 0.02))
finished = Deformed(surface=Shape(vertices=nominal + 0.02 * up / up.max(), triangles=faces), nominal=nominal,
    density=np.linspace(0.95, 0.97, len(nominal)), tension=np.zeros(len(nominal)), misfit=after, cells=1,
    pitch_mm=1.0, steps=1, iterations=1, findings=())
sag = Sag(method="quick", before=before, after=after, rounds=1, cells=1, finished=finished, findings=(),
    untreated_mm=-0.4 * up)
bent = dataclasses.replace(green, sag=sag)
works.record(book, works.Work(digest("by hand"), *works.named(sinter.predeform), []), bent, 0.0)
works.note_use(book, 1, digest("by hand"), remembered=False)
"""


@pytest.fixture(scope="module")
def planned(bench):
    """A job of three copies, planned on the command line of the same shop."""
    folder = bench.folder
    bench.block("block.stl", (20, 12, 8))
    (folder / "order.toml").write_text(
        "\n".join(
            [
                "[order]",
                'name = "three blocks"',
                "[cards]",
                'powder = "steel-316l"',
                'head = "head-400"',
                'box = "box-160x65x65"',
                "[choices]",
                'layer = "250 um"',
                'skin = "1 mm"',
                'core_saturation = "60 %"',
                "[[part]]",
                'file = "block.stl"',
                'unit = "mm"',
                "quantity = 3",
                'tolerance = "2 %"',
            ]
        )
    )
    bench.say("plan", folder / "order.toml", "--into", folder / "out")
    return 1


def shown(page, bench, path):
    page.goto(f"{bench.url}/job/{path}")
    page.wait_for_selector(READY)


def stack_of(bench):
    """The recipe of the layers, read from the shop's own ledger."""
    with sqlite3.connect(bench.home / "ledger.sqlite") as book:
        (name,) = book.execute(
            "select output from work where verb = 'sagger.stations.layers.draw'"
        ).fetchone()
    return bodies.get(open_at(bench.home), name)


def test_the_box_opens_turns_and_is_cut(page, bench, planned):
    shown(page, bench, f"{planned}/bed")
    page.wait_for_function(AT_REST)
    before = page.locator("canvas").screenshot()
    canvas = page.locator("canvas").bounding_box()
    page.mouse.move(canvas["x"] + 200, canvas["y"] + 200)
    page.mouse.down()
    page.mouse.move(canvas["x"] + 320, canvas["y"] + 240, steps=4)
    page.mouse.up()
    page.wait_for_function(AT_REST)
    turned = page.locator("canvas").screenshot()
    page.get_by_label("cut at layer").fill("12")
    page.wait_for_function(AT_REST)
    expect(page.get_by_text("3.00 mm")).to_be_visible()
    assert len({before, turned, page.locator("canvas").screenshot()}) == 3


def test_a_piece_is_pointed_at_and_named(page, bench, planned):
    shown(page, bench, f"{planned}/bed")
    page.wait_for_function(AT_REST)
    where = """() => {
      const { viewer } = document.querySelector("canvas");
      const m = viewer.groups[0].mesh.instanceMatrix.array.slice(32), p = [10, 6, 8];
      const at = [0, 1, 2].map((r) => m[r] * p[0] + m[4 + r] * p[1] + m[8 + r] * p[2] + m[12 + r]);
      return viewer.project(at);
    }"""
    x, y = page.evaluate(where)
    page.locator("canvas").click(position={"x": x, "y": y})
    label = page.evaluate("document.querySelector('[aria-selected=true]').textContent").split()[0]
    expect(page.get_by_role("heading", name=label)).to_be_visible()
    placed = json.loads((bench.folder / "out" / "plan.json").read_text())["pieces"]
    assert label == f"A{placed[2]['number']}"
    assert f"piece={label}" in page.url


def test_everything_in_the_box_is_reached_by_keyboard(page, bench, planned):
    shown(page, bench, f"{planned}/bed")
    page.get_by_role("application", name="Box in space").focus()
    at = "document.querySelector('canvas').viewer.camera.position.toArray()"
    first = page.evaluate(at)
    page.keyboard.press("ArrowRight")
    assert page.evaluate(at) != first
    page.keyboard.press("PageDown")
    assert page.evaluate("document.querySelector('canvas').viewer.shared.cut.value") < 1e8
    page.get_by_role("listbox", name="pieces").focus()
    for _ in range(2):
        page.keyboard.press("ArrowDown")
    chosen = page.get_by_role("listbox", name="pieces").get_by_role("option", selected=True)
    expect(chosen).to_have_count(1)
    expect(page.get_by_role("heading", name=chosen.locator("b").inner_text())).to_be_visible()
    page.keyboard.press("Escape")
    expect(chosen).to_have_count(0)


def test_a_box_is_opened_again_as_its_address_says(page, bench, planned):
    shown(page, bench, f"{planned}/bed?piece=A2&by=worst+finding")
    expect(page.get_by_role("heading", name="A2")).to_be_visible()
    assert (
        page.get_by_label("coloured by").evaluate("list => list.selectedOptions[0].text") == "worst finding"
    )


def test_zoomed_to_drops_the_picture_is_what_is_printed(page, bench, planned):
    stack = stack_of(bench)
    k = 14
    sheet = layers.sheet(layers.press(stack), k)
    drops = (
        raster.image(sheet.runs)
        if sheet.packed is None
        else np.unpackbits(sheet.packed, axis=1, count=stack.columns).astype(bool)
    )
    row, column = np.argwhere(drops)[len(np.argwhere(drops)) // 2]
    x, y = ((place + 0.5) * pitch for place, pitch in zip((column, row), stack.pitch_mm, strict=True))
    shown(page, bench, f"{planned}/layers?layer={k + 1}&at={x},{y},320")
    page.wait_for_function(SHARP)
    read = """([u, v]) => {
      const { view } = document.querySelector("canvas"), { gl } = view, seen = new Uint8Array(4);
      const x = (u + 0.5 - view.u) * view.scale, y = (v + 0.5 - view.v) * view.scale * view.high;
      view.draw();
      gl.readPixels(x, gl.drawingBufferHeight - 1 - Math.floor(y), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, seen);
      return seen[0];
    }"""
    window = [(c, r) for r in range(row - 8, row + 9) for c in range(column - 12, column + 13)]
    seen = [page.evaluate(read, [int(c), int(stack.rows - 1 - r)]) < 128 for c, r in window]
    assert seen == [bool(drops[r, c]) for c, r in window]
    assert 0 < sum(seen) < len(seen)  # the core is halftoned


def test_pointing_at_a_drop_tells_its_place(page, bench, planned):
    stack = stack_of(bench)
    shown(page, bench, f"{planned}/layers?layer=15&at=20.034,20.034,200")
    page.wait_for_function(SHARP)
    box = page.locator("canvas").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2 + 1, box["y"] + box["height"] / 2 - 1)
    column, row = (int(20.034 / pitch) for pitch in stack.pitch_mm)
    expect(page.locator(".pointed")).to_contain_text(f"column {column}, row {row}, ")


def test_layers_are_walked_and_zoomed_by_keyboard(page, bench, planned):
    shown(page, bench, f"{planned}/layers?layer=10")
    page.get_by_role("application", name="Layer of drops").focus()
    page.keyboard.press("PageUp")
    page.keyboard.press("Shift+PageUp")
    expect(page.get_by_role("spinbutton", name="layer")).to_have_value("21")
    near = "document.querySelector('canvas').view.scale"
    before = page.evaluate(near)
    page.keyboard.press("+")
    assert page.evaluate(near) > before
    page.wait_for_function("location.search.includes('layer=21')")
    page.wait_for_function(SHARP)


def test_a_layer_that_is_not_there_is_refused(page, bench, planned):
    stack = stack_of(bench)
    with sqlite3.connect(bench.home / "ledger.sqlite") as book:
        (name,) = book.execute(
            "select output from work where verb = 'sagger.stations.layers.draw'"
        ).fetchone()
    for path in (
        f"{name}/layer/{stack.count + 1}/0/0/0.bin",
        f"{name}/layer/1/0/99/0.bin",
        f"{'0' * 32}/places.bin",
        f"{name}/density.svg",  # no map is approved
    ):
        assert page.request.get(f"{bench.url}/api/box/{path}").status == 404


def test_findings_are_marked_on_the_part(page, bench, planned):
    shown(page, bench, f"{planned}/part/block")
    expect(page.get_by_role("heading", name="Findings")).to_be_visible()


def test_deviation_before_and_after_is_seen_side_by_side(page, bench, planned):
    bench.run(FIRED)
    page.goto(f"{bench.url}/job/{planned}/part/block")
    page.wait_for_selector(f".maps {READY}")
    maps = page.locator(".maps")
    expect(maps.get_by_text("up to 0.400 mm off in any direction")).to_be_visible()
    expect(maps.get_by_text("up to 0.020 mm off in any direction")).to_be_visible()
    expect(maps.locator(".most")).to_have_text(["−0.400", "+0.020"])
    expect(maps.locator(".bar")).to_contain_text("0.400 mm")
    first = page.get_by_role("application", name="Map: printed at even oversize")
    first.focus()
    page.keyboard.press("ArrowRight")
    same = """() => {
      const canvases = [...document.querySelectorAll(".maps canvas")];
      const [one, other] = canvases.map(({ viewer }) => viewer.camera.position);
      return one.distanceTo(other) < 1e-9 * one.length();
    }"""
    page.wait_for_function(same)
    maps.get_by_label("shown").select_option("relative density")
    expect(page.get_by_role("application", name="Map: pre-deformed")).to_have_count(1)
    expect(maps.locator(".bar")).to_contain_text("97.00 %")
