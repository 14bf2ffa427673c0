"""Layers as TIFF 6.0: 1, 2 or 4 bits a drop, resolution along both axes, the same bytes for the same layer.

Column 0 lies at low x. Rows go up from low y or down from high y, as the head wants them; the orientation tag
says which, so that a viewer shows the layer as seen from above either way.

Sources: TIFF Revision 6.0 (1992), part 1 (bilevel and grey images, p. 17-22) and section 11 (T.6); deflate as
compression 8: TIFF Technical Note "Adobe Photoshop TIFF", 2002.
"""

from __future__ import annotations

import io
import struct
import warnings
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from PIL import Image

from sagger.errors import InputError
from sagger.files.deflate import deflate
from sagger.files.g4 import g4, packbits
from sagger.geometry.raster import halftone
from sagger.geometry.raster.runs import Runs, bitmap, flipped, from_image
from sagger.stations.layers.band import Sheet

STRIP_ROWS = 1024  # small enough to decode a part of a layer, large enough to cost under half a percent
CODES = {"none": 1, "g4": 4, "deflate": 8, "packbits": 32773}
PHOTOMETRIC = {"black is drop": 0, "white is drop": 1}  # WhiteIsZero, BlackIsZero: a drop is 1 in both
FIRST_ROWS = {  # which row a file holds first: orientation tag, what the description says
    "y low": (4, "rows from low y up, columns from low x"),  # row 0 is shown at the bottom
    "y high": (1, "rows from high y down, columns from low x"),
}


class Layer(NamedTuple):
    """What a TIFF file of a layer holds."""

    levels: ndarray  # uint8 (rows, columns), row 0 at low y whatever the file's order: 0 = no drop
    bits: int
    pitch_mm: tuple[float, float]
    polarity: str
    text: str


class LayerForm(NamedTuple):
    """How a layer's file is written."""

    pitch_mm: tuple[float, float]  # spacing of drops along x and y; written as resolution per inch
    polarity: str = "black is drop"  # or "white is drop"; a drop is the bit 1 in both
    compression: str = ""  # "g4", "packbits", "deflate" or "none"; "" = by content
    first_row: str = "y low"  # rows go up; or "y high": rows go down
    text: str = ""  # what the file says of itself, ASCII


def encode(drops: Runs, style: LayerForm) -> bytes:
    """File of a layer of one bit a drop, G4 where the form names no compression.

    Raises
    ------
    InputError
        If polarity, compression or first row is none of these, or the text is not ASCII.
    """
    compression = style.compression or "g4"
    _known("compression", compression, CODES)
    about = _about(style)
    drops = flipped(drops) if style.first_row == "y high" else drops
    if compression == "g4":
        strips = [g4(drops, first, last) for first, last in _bands(drops.rows)]
    else:
        strips = _packed(bitmap(drops), 1, compression)
    return _file(strips, (drops.columns, drops.rows), 1, compression, about)


def encode_levels(packed: ndarray, columns: int, bits: int, style: LayerForm) -> bytes:
    """File of a layer of 1, 2 or 4 bits a drop from its packed image; deflate where no compression is named.

    Parameters
    ----------
    packed : uint8 (rows, ceil(columns * bits / 8))
        Levels from the highest bit down, 0 = no drop.
    columns, bits : int
        Drops in a row and bits in a drop.

    What is raised is that of `encode`; "g4" codes one bit only.
    """
    compression = style.compression or "deflate"
    codes = {name: code for name, code in CODES.items() if name != "g4"}
    _known("compression of grey levels", compression, codes)
    _known("bits", bits, {1: 1, 2: 2, 4: 4})
    if packed.shape[1] != (columns * bits + 7) // 8:
        raise InputError("the packed rows do not fit the columns", field="packed", value=packed.shape)
    about = _about(style)
    strips = _packed(packed[::-1] if style.first_row == "y high" else packed, bits, compression)
    return _file(strips, (columns, packed.shape[0]), bits, compression, about)


def encode_sheet(sheet: Sheet, style: LayerForm) -> bytes:
    """File of a layer by its content: G4 where runs say all, deflate for masked drops and for grey.

    A compression that is given is taken whatever the content.
    """
    columns = sheet.runs.columns
    if sheet.packed is None:
        return encode(sheet.runs, style)
    if style.compression == "g4" and sheet.bits == 1:
        return encode(from_image(np.unpackbits(sheet.packed, axis=1, count=columns).astype(bool)), style)
    return encode_levels(sheet.packed, columns, sheet.bits, style)


def decode(data: bytes) -> Layer:
    """What a file of a layer holds, read by a general image library.

    Raises
    ------
    InputError
        If it is no TIFF file of 1, 2 or 4 bits with a resolution.
    """
    limit, Image.MAX_IMAGE_PIXELS = (
        Image.MAX_IMAGE_PIXELS,
        None,
    )  # a whole layer is larger than most photographs
    try:
        with warnings.catch_warnings(action="error"), Image.open(io.BytesIO(data), formats=["TIFF"]) as image:
            tags = image.tag_v2  # type: ignore[attr-defined]
            bits, photometric = int(tags.get(258, (1,))[0]), int(tags.get(262, 0))
            dpi = float(tags.get(282, 0)), float(tags.get(283, 0))
            text, orientation = str(tags.get(270, "")), int(tags.get(274, 1))
            seen = np.asarray(image)
            as_shown = 274 not in image.tag_v2  # type: ignore[attr-defined]
    except (OSError, SyntaxError, ValueError, UserWarning) as error:
        raise InputError(
            "this is not a layer as TIFF", value=str(error), remedy="Export the layers again."
        ) from error
    finally:
        Image.MAX_IMAGE_PIXELS = limit
    if bits not in (1, 2, 4) or min(dpi) <= 0:
        raise InputError("a layer has 1, 2 or 4 bits and a resolution", field="tags", value=(bits, *dpi))
    polarity = "black is drop" if photometric == 0 else "white is drop"
    # The library turns the picture upright and drops the tag; what is shown begins at high y.
    seen = seen[::-1] if as_shown or orientation == 1 else seen
    return Layer(_levels(seen, bits, photometric), bits, (25.4 / dpi[0], 25.4 / dpi[1]), polarity, text)


def _levels(seen: ndarray, bits: int, photometric: int) -> ndarray:
    """Levels as stored, from grey values as shown."""
    steps = 2**bits - 1
    if seen.dtype == bool:
        shown = seen.astype(np.uint8)
    else:
        shown = ((seen.astype(np.uint16) * steps + 127) // 255).astype(np.uint8)
    return (steps - shown).astype(np.uint8) if photometric == 0 else shown


def _packed(image: ndarray, bits: int, compression: str) -> list[bytes]:
    bands = [np.ascontiguousarray(image[first:last]) for first, last in _bands(len(image))]
    if compression == "packbits":
        return [packbits(band) for band in bands]
    if compression == "deflate":
        return [deflate(band, halftone.SIDE * bits // 8) for band in bands]
    return [band.tobytes() for band in bands]


def _bands(rows: int) -> list[tuple[int, int]]:
    return [(first, min(first + STRIP_ROWS, rows)) for first in range(0, rows, STRIP_ROWS)]


def _about(form: LayerForm) -> tuple[tuple[Fraction, Fraction], int, int, str]:
    """Resolution, photometric, orientation and description, checked."""
    pitch_mm, polarity, _, first_row, text = form
    _known("polarity", polarity, PHOTOMETRIC)
    _known("first row", first_row, FIRST_ROWS)
    if not text.isascii() or "\0" in text:
        raise InputError("the description must be ASCII", field="text", value=text)
    x, y = (Fraction(25.4 / pitch).limit_denominator(1000) for pitch in pitch_mm)
    orientation, place = FIRST_ROWS[first_row]
    return (x, y), PHOTOMETRIC[polarity], orientation, f"{text}; {place}" if text else place


def _known(name: str, value: object, table: dict) -> None:  # type: ignore[type-arg]
    if value not in table:
        words = ", ".join(str(word) for word in table)
        raise InputError(f"{name} is not known", field=name, value=value, remedy=f"Known: {words}.")


Entry = tuple[int, int, int, bytes]  # tag, type, count, value
_SHORT, _LONG, _RATIONAL, _ASCII = 3, 4, 5, 2


def _file(
    strips: list[bytes],
    size: tuple[int, int],
    bits: int,
    compression: str,
    about: tuple[tuple[Fraction, Fraction], int, int, str],
) -> bytes:
    """Header, tags, values of tags and strips, in this order."""
    dpi, photometric, orientation, text = about
    described = text.encode("ascii") + b"\0"
    entries: list[Entry] = [
        (256, _LONG, 1, struct.pack("<I", size[0])),
        (257, _LONG, 1, struct.pack("<I", size[1])),
        (258, _SHORT, 1, struct.pack("<H", bits)),
        (259, _SHORT, 1, struct.pack("<H", CODES[compression])),
        (262, _SHORT, 1, struct.pack("<H", photometric)),
        (266, _SHORT, 1, struct.pack("<H", 1)),  # bits fill from the highest
        (270, _ASCII, len(described), described),
        (273, _LONG, len(strips), b""),  # where the strips begin: set below
        (274, _SHORT, 1, struct.pack("<H", orientation)),
        (277, _SHORT, 1, struct.pack("<H", 1)),
        (278, _LONG, 1, struct.pack("<I", STRIP_ROWS)),
        (279, _LONG, len(strips), struct.pack(f"<{len(strips)}I", *map(len, strips))),
        (282, _RATIONAL, 1, struct.pack("<II", *dpi[0].as_integer_ratio())),
        (283, _RATIONAL, 1, struct.pack("<II", *dpi[1].as_integer_ratio())),
        *([(293, _LONG, 1, struct.pack("<I", 0))] if compression == "g4" else []),
        (296, _SHORT, 1, struct.pack("<H", 2)),  # per inch
    ]

    def laid(offsets: bytes) -> tuple[bytes, int]:
        filled = [(tag, kind, count, offsets if tag == 273 else value) for tag, kind, count, value in entries]
        head = _directory(filled)
        return head, len(head)

    _, body = laid(bytes(4 * len(strips)))
    starts = np.cumsum([body, *map(len, strips[:-1])])
    head, _ = laid(starts.astype("<u4").tobytes())
    return b"".join([head, *strips])


def _directory(entries: list[Entry]) -> bytes:
    """File header, directory and the values too long to stand in it."""
    table, values = struct.pack("<2sHIH", b"II", 42, 8, len(entries)), b""
    after = len(table) + 12 * len(entries) + 4
    for tag, kind, count, value in entries:
        short = len(value) <= 4
        table += struct.pack("<HHI", tag, kind, count)
        table += value.ljust(4, b"\0") if short else struct.pack("<I", after + len(values))
        if not short:
            values += value + b"\0" * (len(value) % 2)
    return table + bytes(4) + values
