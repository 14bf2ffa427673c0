"""Layers drawn into a folder: what the files say, and going on after a stop."""

import dataclasses
import hashlib
import itertools
import json
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import tifffile

from sagger.desk.planning.export import drawing
from sagger.errors import Cancelled
from sagger.files import tiff
from sagger.goods.factors import Factors
from sagger.goods.good import digest
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Piece
from sagger.goods.order import Choices
from sagger.goods.part import Part
from sagger.stations import layers
from sagger.tick import Tick

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
CELL = shapes.cell(box="box-160x65x65", head="head-400")


def a_stack(head=CELL.head, **choices):
    """A wedge of 20 x 12 x 4 mm in a small box: no two layers, and no two sides, are alike."""
    shape = shapes.of(shapes.manifold3d.Manifold.cube((20, 12, 4)).warp_batch(sheared))
    place = np.eye(4)
    place[:3, 3] = (30, 8, 2)
    part = SimpleNamespace(request=shapes.request())
    layout = SimpleNamespace(
        number=1,
        box=CELL.box,
        greens=(SimpleNamespace(part=part, shape=shape),),
        pieces=(Piece(part=0, number=1, turn=0, placement=place),),
        height_mm=6.0,
    )
    stack = layers.draw(layout, head, CELL.powder, Choices(layer_um=200.0, **choices))
    return dataclasses.replace(stack, layout=whole(layout))


def whole(layout):
    """A layout with a digest."""
    part = Part(
        request=layout.greens[0].part.request,
        digest="d",
        shape=layout.greens[0].shape,
        volume_mm3=960.0,
        area_mm2=1.0,
        extent_mm=(20.0, 12.0, 4.0),
        thickest_mm=4.0,
        turns=np.eye(3)[None],
        healed=(),
        findings=(),
    )
    factors = Factors(k=np.ones(3), u=np.zeros(3), material="m", origin="card")
    facts = dict.fromkeys(("gap_mm", "least_gap_mm", "wall_gap_mm", "volume_mm3", "density"), 1.0)
    green = Green(part=part, shape=part.shape, factors=factors, maps=np.eye(3)[None])
    return Layout(**(vars(layout) | {"greens": (green,)} | facts))


def sheared(corners):
    moved = np.array(corners)
    moved[:, 0] += 0.7 * moved[:, 2] + 0.2 * moved[:, 1]
    return moved


def contents(into):
    files = (path for path in sorted(into.rglob("*")) if path.is_file())
    return {str(path.relative_to(into)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def manifest(into):
    return [json.loads(line) for line in (into / "layers" / "manifest.jsonl").read_text().splitlines()]


STYLES = {
    "plain": ({}, {}),
    "masked": ({"skin_mm": 1.0, "core_saturation": 0.5}, {}),
    "passes": ({}, {"pass_images": True, "dead_nozzles": (300,)}),
    "grey passes": ({}, {"pass_images": True, "bits": 2}),
}


@pytest.mark.slow
@pytest.mark.parametrize("style", STYLES.values(), ids=STYLES)
def test_stopped_anywhere_it_goes_on_to_the_same_bytes_and_the_same_tally(style, tmp_path):
    choices, card = style
    head = dataclasses.replace(CELL.head, **card)
    stack = a_stack(head, **choices)
    whole = drawing(tmp_path / "whole", head)(stack)
    asked = itertools.count()
    tick = Tick(lambda doing, done, total: None, lambda: next(asked) > 12)
    with pytest.raises(Cancelled):
        drawing(tmp_path / "cut", head, tick=tick)(stack)
    assert 1 < len(manifest(tmp_path / "cut")) < stack.count
    assert digest(drawing(tmp_path / "cut", head)(stack)) == digest(whole) == digest(layers.count(stack))
    assert contents(tmp_path / "cut") == contents(tmp_path / "whole")


def test_a_file_that_was_damaged_is_drawn_again(tmp_path):
    stack = a_stack()
    drawing(tmp_path, CELL.head)(stack)
    before = contents(tmp_path)
    (tmp_path / "layers" / "00015.tif").write_bytes(b"x")
    drawing(tmp_path, CELL.head)(stack)
    assert contents(tmp_path) == before


@pytest.mark.slow
def test_each_line_says_drops_by_size_and_class(tmp_path):
    head = dataclasses.replace(CELL.head, bits=2)
    stack = a_stack(head, skin_mm=1.0, core_saturation=0.5)
    drawing(tmp_path, head)(stack)
    line = manifest(tmp_path)[1 + 20]
    image = tifffile.imread(tmp_path / "layers" / "00021.tif")
    np.testing.assert_array_equal(line["drops"], np.bincount(image.ravel(), minlength=4)[1:])
    assert [share for share, _, _ in line["classes"]] == [1.0, 0.5]
    assert {"leaks", "bridges", "longest_bridge_mm", "lost", "digest", "section_mm2"} < set(line)


@pytest.mark.slow
def test_the_first_row_is_where_the_head_wants_it_and_a_viewer_sees_no_difference(tmp_path):
    shown, stored = [], []
    for first_row in ("y low", "y high"):
        head = dataclasses.replace(CELL.head, first_row=first_row)
        drawing(tmp_path / first_row, head)(a_stack())
        path = tmp_path / first_row / "layers" / "00020.tif"
        stored.append(tifffile.imread(path))
        shown.append(tiff.decode(path.read_bytes()).levels)
    np.testing.assert_array_equal(stored[0], stored[1][::-1])
    np.testing.assert_array_equal(shown[0], shown[1])
    assert (
        shown[0][: len(shown[0]) // 2].any() and not shown[0][len(shown[0]) // 2 :].any()
    )  # it lies at low y


@pytest.mark.parametrize(
    ("compression", "code"), [("", 4), ("g4", 4), ("packbits", 32773), ("deflate", 8), ("none", 1)]
)
def test_the_order_chooses_how_files_are_packed(compression, code, tmp_path):
    drawing(tmp_path, CELL.head, compression)(a_stack())
    with tifffile.TiffFile(tmp_path / "layers" / "00020.tif") as file:
        assert file.pages[0].compression == code


@pytest.mark.slow
def test_another_way_of_packing_draws_anew_and_leaves_no_pass_behind(tmp_path):
    asks = dataclasses.replace(CELL.head, pass_images=True)
    stack = a_stack()
    drawing(tmp_path, asks)(stack)
    assert len(list((tmp_path / "layers" / "passes").iterdir())) == stack.count
    drawing(tmp_path, CELL.head)(stack)
    assert list((tmp_path / "layers" / "passes").iterdir()) == []
    assert len(list((tmp_path / "layers").glob("*.tif"))) == stack.count


@pytest.mark.slow
def test_the_passes_of_a_layer_are_the_layer(tmp_path):
    head = dataclasses.replace(CELL.head, pass_images=True, nozzles=shapes_figure(500.0))
    stack = a_stack(head)
    drawing(tmp_path, head)(stack)
    folder = tmp_path / "layers"
    layer = tiff.decode((folder / "00020.tif").read_bytes()).levels
    passes = [
        tiff.decode(path.read_bytes()).levels for path in sorted((folder / "passes").glob("00020-*.tif"))
    ]
    assert len(passes) == 3  # 1023 rows in swaths of 500
    np.testing.assert_array_equal(np.concatenate(passes)[: len(layer)], layer)


def shapes_figure(value):
    return dataclasses.replace(CELL.head.nozzles, value=value)
