"""PLY, ASCII and binary: triangles without a unit. The header says what stands where."""

from __future__ import annotations

import re
from array import array
from pathlib import Path

import numpy as np

from sagger.errors import PartFileError
from sagger.files import polygons
from sagger.files.ply_rows import AGAIN, ByteRows, Element, Property, TextRows
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
FORMATS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
MOST_HEADER = 1 << 16  # bytes


def read(path: Path) -> tuple[Shape, str]:
    """Triangles in the file's own unit, and "" because PLY names none.

    Raises
    ------
    PartFileError
        If the header or a row cannot be read, a row is missing, or there are no faces.
    """
    data = path.read_bytes()
    order, elements, start = _header(data, path.name)
    rows = TextRows(data[start:], path.name) if order == "" else ByteRows(data, start, order, path.name)
    vertices, corners, counts = None, array("q"), array("q")
    for element in elements:
        if element.name == "vertex":
            vertices = rows.vertices(element)
        elif element.name == "face":
            rows.faces(element, corners, counts)
        else:
            rows.passed(element)
    rows.end()
    if vertices is None or not counts:
        raise PartFileError("there are no faces in it", file=path.name, remedy="Export a mesh, not points.")
    named = np.frombuffer(corners, np.int64)
    if named.min() < 0 or named.max() >= len(vertices):
        what = f"a face names a vertex that is not there; {len(vertices)} are"
        raise PartFileError(what, file=path.name, remedy=AGAIN)
    triangles = polygons.triangles(vertices, named, np.frombuffer(counts, np.int64))
    return mesh.welded(mesh.shape(vertices, triangles)), ""


def _header(data: bytes, name: str) -> tuple[str, list[Element], int]:
    """Byte order ("" = text), elements, and where their rows begin."""
    ending = re.search(rb"(?:^|[\r\n])end_header[ \t]*(\r\n|\n|\r)", data[:MOST_HEADER])
    if ending is None:
        raise PartFileError("its header has no end", file=name, field="end_header", remedy=AGAIN)
    lines = re.split(r"\r\n|\n|\r", data[: ending.start()].decode("latin-1"))
    order, elements = None, list[Element]()
    for line, text in enumerate(lines[1:], 2):
        words = text.split()
        if not words or words[0] in ("comment", "obj_info"):
            continue
        if words[0] == "format" and len(words) == 3 and words[1] in FORMATS and order is None:
            order = FORMATS[words[1]]
        elif words[0] == "element" and len(words) == 3 and re.fullmatch(r"\d{1,10}", words[2]):
            elements.append(Element(words[1], int(words[2]), ()))
        elif words[0] == "property" and elements and (made := _property(words)):
            elements[-1] = elements[-1]._replace(properties=(*elements[-1].properties, made))
        else:
            what = "its header says something that a PLY file cannot say"
            raise PartFileError(what, file=name, field=f"line {line}", value=text[:60], remedy=AGAIN)
    if order is None:
        raise PartFileError("its header names no format", file=name, field="format", remedy=AGAIN)
    if any(not element.properties and element.rows for element in elements):
        raise PartFileError("its header has an element of nothing", file=name, field="element", remedy=AGAIN)
    return order, elements, ending.end()


def _property(words: list[str]) -> Property | None:
    if len(words) == 5 and words[1] == "list" and words[2] in TYPES and words[3] in TYPES:
        count = TYPES[words[2]]
        return Property(words[4], TYPES[words[3]], count) if count[0] != "f" else None
    if len(words) == 3 and words[1] in TYPES:
        return Property(words[2], TYPES[words[1]], "")
    return None
