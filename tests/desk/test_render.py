"""What a browser draws pictures with, made from goods in the ledger; and the processes that make it."""

import os
import signal
import zlib

import numpy as np
import pytest
import trimesh

from aside import done
from sagger import cards
from sagger.desk.home import ledger
from sagger.desk.pictures import render, sources, workers
from sagger.desk.planning.cache import maker
from sagger.errors import LedgerError
from sagger.goods.factors import Factors
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Piece
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices, Request, Tolerance
from sagger.goods.part import Part
from sagger.goods.shape import Shape
from sagger.ledger import jobs
from sagger.stations import layers
from sagger.tick import silent

EYE = np.eye(3)


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A shop whose first job drew a ball of 1,280 triangles and a block."""
    folder = tmp_path_factory.mktemp("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(folder))
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        book, cell = ledger(), cards.cell(cards.DEFAULTS)
        job = jobs.begin(book, jobs.Beginning("two parts", "", str(folder), "", "2030-01-07T08:00"))
        choices = Choices(layer_um=200.0, skin_mm=1.0, core_saturation=0.5)
        maker(book, job, silent)(layers.draw, layout(cell.box), cell.head, cell.powder, choices)
        yield folder
        workers.end()


@pytest.fixture
def key(home):
    (box,) = sources.boxes(1)
    return box.stack


def layout(box):
    ball = trimesh.creation.icosphere(subdivisions=3, radius=6.0)
    block = trimesh.creation.box((20.0, 10.0, 12.0))
    places = (12.0, 12.0, 8.0), (35.0, 12.0, 8.0)
    pieces = []
    for part, at in enumerate(places):
        placement = np.eye(4)
        placement[:3, 3] = at
        pieces.append(Piece(part=part, number=1, turn=0, placement=placement))
    greens = tuple(green(name, mesh) for name, mesh in (("ball", ball), ("block", block)))
    return Layout(
        number=1, box=box, greens=greens, pieces=tuple(pieces), gap_mm=1.0, least_gap_mm=1.0, wall_gap_mm=2.0,
        height_mm=20.0, volume_mm3=3300.0, density=0.1,
    )  # fmt: skip


def green(name, mesh):
    tolerance = Tolerance(kind="percent", value=2.0)
    request = Request(name=name, file=f"{name}.stl", unit="mm", quantity=1, tolerance=tolerance)
    shape = Shape(vertices=np.asarray(mesh.vertices), triangles=np.asarray(mesh.faces, np.int32))
    part = Part(
        request=request, digest=name, shape=shape, volume_mm3=1.0, area_mm2=1.0,
        extent_mm=tuple(mesh.extents), thickest_mm=1.0, turns=EYE[None], healed=(), findings=(),
    )  # fmt: skip
    factors = Factors(k=np.ones(3), u=np.zeros(3), material="steel-316l", origin="hand")
    return Green(part=part, shape=shape, factors=factors, maps=EYE[None])


@pytest.mark.slow
def test_a_cut_of_a_layer_holds_the_drops_that_are_printed(key):
    stack, k = sources.stack(key), 40
    drawn = layers.sheet(layers.press(stack), k)
    drops = np.unpackbits(drawn.packed, axis=1, count=stack.columns)[::-1]
    row, column = (int(middle) // 512 for middle in np.argwhere(drops).mean(axis=0))
    seen = np.frombuffer(zlib.decompress(render.layer_tile(key, k, 0, column, row)), np.uint8)
    wanted = drops[512 * row :, 512 * column :][:512, :512]
    np.testing.assert_array_equal(seen.reshape(wanted.shape), 255 * wanted)
    assert 0 < wanted.mean() < 1


def test_what_is_not_there_is_refused(key):
    for made in (
        lambda: render.layer_tile(key, 5, 0, 99, 0),
        lambda: render.box_form(key, 2),
        lambda: render.box_forms(key, 77),
        lambda: render.box_places("0" * 32),
        lambda: render.box_places("../../etc/passwd"),
        lambda: render.part_form(key, 0),  # a box is no part
    ):
        with pytest.raises(LedgerError):
            made()


def test_coarser_forms_are_made_once_and_hold_no_more_than_asked_for(key, home):
    most = sources.RUNGS[0]
    first = render.box_forms(key, most)
    (kept,) = (home / "forms").glob(f"*-{most}.bin")  # of the ball; the block has few triangles as it is
    made_at = kept.stat().st_mtime_ns
    assert render.box_forms(key, most) == first and kept.stat().st_mtime_ns == made_at
    triangles = np.frombuffer(first[:8], "<u4")[1]
    assert 0.5 * most < triangles <= 1.3 * most
    assert first.endswith(render.box_form(key, 1)) and len(first) < len(render.box_forms(key, 0))


@pytest.mark.slow
def test_layers_looked_at_last_stay_open_as_far_as_memory_goes(key, monkeypatch):
    for k in (10, 11, 12):
        render.open_layer(key, k)
    assert {k for at, k in render._masks if at == key} >= {10, 11, 12}
    monkeypatch.setattr(render, "_HELD_BYTES", 0)
    render.open_layer(key, 13)
    assert list(render._masks) == [(key, 13)]
    render.open_job(1)  # its middle layer is what a page shows first
    assert list(render._masks) == [(key, sources.stack(key).count // 2 - 1)]
    before = len(render._masks)
    render.open_layer(key, 10_000)  # there is none
    assert len(render._masks) == before


@pytest.mark.slow
def test_pictures_come_from_another_process_and_again_when_that_was_killed(key):
    async def asked():
        first = await workers.ask("shapes", render.box_places, key)
        with pytest.raises(LedgerError, match="no part 7"):
            await workers.ask("shapes", render.box_form, key, 7)
        (process,) = workers._crews["shapes"]._processes.values()
        assert process.pid != os.getpid()
        os.kill(process.pid, signal.SIGKILL)
        process.join()
        return first, await workers.ask("shapes", render.box_places, key)

    first, again = done(asked())
    assert first == again == render.box_places(key)


def test_density_over_the_bed_is_drawn_by_the_map_in_force(key, monkeypatch):
    with pytest.raises(LedgerError, match="no map of this bed"):
        render.box_density(key)
    at = np.array([[x, y, 5.0] for x in (20.0, 90.0, 150.0) for y in (20.0, 60.0)])
    found = BedMap(
        box="", material="", places_mm=at, density=0.5 + 1e-4 * at[:, 0], noise=1e-6, axes=(0, 1),
        amplitude=0.0, reach_mm=np.ones(3), reference=0.5,
    )  # fmt: skip
    monkeypatch.setattr(render, "bed_map", lambda _key: found)
    drawn = render.box_density(key).decode()
    assert drawn.startswith("<svg") and drawn.count("<circle") == len(at)
    assert all(f"+{100 * (density / 0.5 - 1):.2f}" in drawn for density in found.density)
