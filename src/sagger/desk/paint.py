"""The bytes a browser draws pictures with. Runs in the processes of `painter`, never in the server."""

from __future__ import annotations

import functools
import json
from pathlib import Path

import numpy as np

from sagger.desk.home import home, ledger, write_whole
from sagger.desk.pictures import RUNGS, kept, part, stack
from sagger.errors import LedgerError
from sagger.geometry import raster
from sagger.geometry.coarse import coarser
from sagger.goods.cured import Cured
from sagger.goods.good import digest
from sagger.goods.shape import Shape
from sagger.ledger import learned
from sagger.stations import layers
from sagger.views import mesh, pieces, tile

_HELD_BYTES = 200_000_000  # of masks kept open

_masks: dict[tuple[str, int], tile.Mask] = {}
_scratch = raster.Scratch()


def box_document(key: str, cure_key: str) -> bytes:
    """A box with its pieces as JSON, see `views.pieces`; density by the map of the bed in force now."""
    found = stack(key)
    factors = found.layout.greens[0].factors
    bed = learned.in_force(ledger(), factors.material, found.layout.box.name, factors.lot).bed
    cured = kept(cure_key, Cured) if cure_key else None
    return json.dumps(pieces.document(found, bed, cured), ensure_ascii=False).encode()


def box_places(key: str) -> bytes:
    """Placements of a box's pieces, see `views.mesh`."""
    return mesh.places(stack(key).layout)


def box_form(key: str, number: int, triangles: int) -> bytes:
    """Form of one part of a box as printed at nominal size; `triangles` as in `RUNGS`, 0 = all."""
    greens = stack(key).layout.greens
    if not 0 <= number < len(greens):
        raise LedgerError(f"the box has no part {number}")
    return _form(greens[number].shape, triangles)


def part_form(key: str, triangles: int) -> bytes:
    """Form of a part at nominal size."""
    return _form(part(key).shape, triangles)


def layer_tile(key: str, layer: int, level: int, column: int, row: int) -> bytes:
    """A PNG of a square cut of a layer (from 0), see `views.tile`."""
    try:
        return tile.tile(_mask(key, layer), level, column, row)
    except IndexError as error:
        raise LedgerError(str(error)) from None


def warm() -> bytes:
    """Nothing, once the compiled loops are loaded that the first layer would otherwise wait for."""
    layers.warm()
    for bits in (1, 2):
        blank = tile.mask(raster.blank(4096, 64), None if bits == 1 else np.zeros((64, 1024), np.uint8), bits)
        tile.tile(blank, 3, 0, 0)
    return b""


def _mask(key: str, layer: int) -> tile.Mask:
    """A layer as drawn; those looked at last stay open."""
    found = _masks.pop((key, layer), None)
    if found is None:
        drawn = layers.sheet(_press(key), layer, scratch=_scratch)
        found = tile.mask(drawn.runs, drawn.packed, drawn.bits)
    _masks[key, layer] = found
    while len(_masks) > 1 and sum(each.packed.nbytes for each in _masks.values()) > _HELD_BYTES:
        del _masks[next(iter(_masks))]
    return found


@functools.lru_cache(maxsize=4)
def _press(key: str) -> layers.Press:
    return layers.press(stack(key))


def _form(shape: Shape, triangles: int) -> bytes:
    """The bytes of a form; coarser ones are made once and kept."""
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
