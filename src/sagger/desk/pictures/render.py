"""The bytes a browser draws pictures with. Runs in the processes of `workers`, never in the server."""

from __future__ import annotations

import functools
import json
from pathlib import Path

from sagger.desk.home import home, write_whole
from sagger.desk.pictures.sources import RUNGS, bed_map, boxes, good_at, green, part, stack
from sagger.desk.planning.warm import warmed
from sagger.errors import LedgerError
from sagger.geometry import raster
from sagger.geometry.surface.coarse import coarser
from sagger.goods.cured import Cured
from sagger.goods.good import digest
from sagger.goods.shape import Shape
from sagger.stations import layers, measure
from sagger.tick import silent
from sagger.views.pictures import deviation, mesh, tile
from sagger.views.words import learned, pieces

_HELD_BYTES = 200_000_000  # of masks good_at open

_masks: dict[tuple[str, int], tile.Mask] = {}
_scratch = raster.Scratch()


def box_document(key: str, cure_key: str) -> bytes:
    """A box with its pieces as JSON, see `views.pieces`; density by the map of the bed in force now."""
    bed = bed_map(key)
    cured = good_at(cure_key, Cured) if cure_key else None
    return json.dumps(pieces.document(stack(key), bed, cured), ensure_ascii=False).encode()


def box_density(key: str) -> bytes:
    """Green density over the bed as SVG, from above, by the map in force now."""
    bed, box = bed_map(key), stack(key).layout.box
    if bed is None:
        raise LedgerError("no map of this bed is approved")
    at = learned.grid(box, float(bed.places_mm[:, 2].mean()))
    return learned.bed_picture(bed, box, measure.bed_map.over(bed, at).mean, at).encode()


def box_places(key: str) -> bytes:
    """Placements of a box's pieces, see `views.mesh`."""
    return mesh.places(stack(key).layout)


def box_forms(key: str, triangles: int) -> bytes:
    """Forms of all parts that lie in a box, one after the other, at nominal size; 0 triangles = all."""
    layout = stack(key).layout
    used = sorted({piece.part for piece in layout.pieces})
    return b"".join(form(layout.greens[part].shape, triangles) for part in used)


def box_form(key: str, number: int) -> bytes:
    """Form of one part of a box with all its triangles."""
    greens = stack(key).layout.greens
    if not 0 <= number < len(greens):
        raise LedgerError(f"the box has no part {number}")
    return mesh.mesh(greens[number].shape)


def part_form(key: str, triangles: int) -> bytes:
    """Form of a part at nominal size."""
    return form(part(key).shape, triangles)


def part_maps(key: str) -> bytes:
    """What a green part's way through the furnace leaves over its surface, see `views.deviation`."""
    sag = green(key).sag
    if sag is None or not deviation.maps(sag):
        raise LedgerError("this part was not followed through the furnace")
    return deviation.numbers(sag)


def layer_tile(key: str, layer: int, level: int, column: int, row: int) -> bytes:
    """A square cut of a layer (from 0), one byte a pixel in zlib format, see `views.tile`."""
    try:
        return tile.packed(tile.tile(_mask(key, layer), level, column, row))
    except IndexError as error:
        raise LedgerError(str(error)) from None


def warm() -> bytes:
    """Nothing, once the compiled loops are loaded that the first layer would otherwise wait for."""
    warmed(silent)
    layers.warm()
    blank = raster.blank(4096, 64)
    for level in (0, 3):
        tile.tile(tile.mask(blank, None, 1), level, 0, 0)
    return b""


def open_box(key: str, cure_key: str) -> bytes:
    """Nothing; but what a page will ask for next is ready then."""
    box_forms(key, RUNGS[0])
    box_document(key, cure_key)
    return b""


def open_job(job: int) -> bytes:
    """Nothing; but the layer that is seen first is drawn then: whoever looks at a job may want it next."""
    for box in boxes(job)[:1]:
        open_layer(box.stack, stack(box.stack).count // 2 - 1)
    return b""


def open_layer(key: str, layer: int) -> bytes:
    """Nothing; but the layer is drawn then."""
    if 0 <= layer < stack(key).count:
        _mask(key, layer)
    return b""


def _mask(key: str, layer: int) -> tile.Mask:
    """A layer as drawn; those looked at last stay open."""
    mask = _masks.pop((key, layer), None)
    if mask is None:
        drawn = layers.sheet(_press(key), layer, scratch=_scratch)
        mask = tile.mask(drawn.runs, drawn.packed, drawn.bits)
    _masks[key, layer] = mask
    while len(_masks) > 1 and sum(each.nbytes for each in _masks.values()) > _HELD_BYTES:
        del _masks[next(iter(_masks))]
    return mask


@functools.lru_cache(maxsize=4)
def _press(key: str) -> layers.ReadyStack:
    return layers.press(stack(key))


def form(shape: Shape, triangles: int) -> bytes:
    """The bytes of a form; coarser ones are made once and good_at."""
    if triangles not in (0, *RUNGS):
        raise LedgerError(f"forms have 0 (all) or {RUNGS} triangles, not {triangles}")
    if not triangles or len(shape.triangles) <= triangles:
        return mesh.mesh(shape)
    path = _forms() / f"{digest(shape)}-{triangles}.bin"
    if not path.exists():
        write_whole(path, mesh.mesh(coarser(shape, triangles)))
    return path.read_bytes()


def _forms() -> Path:
    return home() / "forms"
