"""STL, binary and ASCII: triangles without a unit."""

from __future__ import annotations

from array import array
from pathlib import Path

import numpy as np
from numpy import ndarray

from sagger.errors import PartFileError
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

HEAD = 84  # bytes before the first triangle of a binary file: 80 of text and a count
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])


def read(path: Path) -> tuple[Shape, str]:
    """Triangles in the file's own unit, and "" because STL names none.

    Raises
    ------
    PartFileError
        If the file is cut short, empty, or neither binary nor ASCII STL.
    """
    corners = _binary(path) if is_binary(path) else _ascii(path)
    triangles = np.arange(len(corners) * 3).reshape(-1, 3)
    return mesh.welded(mesh.shape(corners.reshape(-1, 3), triangles)), ""


def is_binary(path: Path) -> bool:
    """True if the size fits the count in the header, or the file does not read as text."""
    with path.open("rb") as file:
        start = file.read(1024)
    if len(start) >= HEAD and path.stat().st_size == HEAD + _count(start) * RECORD.itemsize:
        return True
    return not (start.lstrip()[:5].lower() == b"solid" and (b"facet" in start.lower() or b"\0" not in start))


def _count(start: bytes) -> int:
    return int.from_bytes(start[80:84], "little")


def _binary(path: Path) -> ndarray:
    size = path.stat().st_size
    with path.open("rb") as file:
        start = file.read(HEAD)
        promised = _count(start)
        held = max(0, size - HEAD) // RECORD.itemsize
        if size < HEAD or held < promised:
            what = f"its header promises {promised} triangles, the file holds {held}"
            raise PartFileError(
                what, file=path.name, remedy="The file is cut short or is no STL; export it again."
            )
        records = np.fromfile(file, dtype=RECORD, count=promised)
    return np.asarray(records["corners"], dtype=np.float64)


def _ascii(path: Path) -> ndarray:
    numbers, facets, ends = array("d"), 0, 0
    with path.open("rb") as file:
        for place, line in enumerate(file, start=1):
            words = line.split()
            word = words[0].lower() if words else b""
            if word == b"vertex":
                numbers.extend(_vertex(words, path.name, place))
            facets += word == b"facet"
            ends += word == b"endfacet"
    if facets != ends or len(numbers) != 9 * facets:
        what = f"{facets} facets are begun and {ends} ended, with {len(numbers) // 3} vertices in all"
        raise PartFileError(
            what, file=path.name, remedy="The file is cut short or damaged; export it again as binary STL."
        )
    return np.frombuffer(numbers, dtype=np.float64).reshape(-1, 3, 3)


def _vertex(words: list[bytes], name: str, place: int) -> list[float]:
    try:
        x, y, z = words[1:4]
        return [float(x), float(y), float(z)]
    except ValueError:
        raise PartFileError(
            "a vertex needs three numbers",
            file=name,
            field=f"line {place}",
            value=b" ".join(words)[:60].decode("latin-1"),
            remedy="Export the part again, best as binary STL.",
        ) from None


def binary(body: Shape) -> bytes:
    """A binary STL of a shape, in its own unit."""
    corners = body.vertices[body.triangles].astype("<f4")
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    rows = np.zeros(len(corners), RECORD)
    rows["normal"], rows["corners"] = normals / np.maximum(lengths, 1e-30), corners
    return b"binary STL".ljust(80) + np.uint32(len(rows)).tobytes() + rows.tobytes()
