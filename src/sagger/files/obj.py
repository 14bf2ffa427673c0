"""OBJ: triangles without a unit, from the lines that say vertices and faces. Every line is accounted for."""

from __future__ import annotations

from array import array
from pathlib import Path

import numpy as np

from sagger.errors import PartFileError
from sagger.files import polygons
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

# What does not change the shape of a mesh. A word that stands in neither list may be a damaged line, and
# leaving a vertex out would shift every one after it.
PASSED = frozenset(
    b"vn vt g o s mg usemtl mtllib usemap maplib lod bevel c_interp d_interp shadow_obj trace_obj l p".split()
)
CURVED = frozenset(b"vp cstype deg bmat step curv curv2 surf parm trim hole scrv sp end con".split())
LONGEST = 1 << 20  # bytes of a line
MOST_CORNERS = 10_000  # of one face
SHOWN = 60


def read(path: Path) -> tuple[Shape, str]:
    """Triangles in the file's own unit, and "" because OBJ names none.

    Raises
    ------
    PartFileError
        With the line, if one cannot be read, or there are no faces.
    """
    numbers, corners = array("d"), array("q")
    counts = array("q")
    line, joined = 0, b""
    with path.open("rb") as file:
        while text := file.readline(LONGEST + 1):
            line += 1
            joined += text.rstrip(b"\r\n")
            if len(joined) > LONGEST:
                raise _wrong(path, line, "this line is longer than any of a part", b"")
            if joined.endswith(b"\\"):  # it goes on in the next
                joined = joined[:-1] + b" "
                continue
            _line(joined.partition(b"#")[0].split(), numbers, corners, counts, (path, line))
            joined = b""
    if not counts:
        what = "there are no faces in it"
        raise PartFileError(what, file=path.name, remedy="Export a mesh, not points.")
    vertices = np.frombuffer(numbers, np.float64).reshape(-1, 3)
    triangles = polygons.triangles(
        vertices, np.frombuffer(corners, np.int64), np.frombuffer(counts, np.int64)
    )
    return mesh.welded(mesh.shape(vertices, triangles)), ""


def _line(
    words: list[bytes], numbers: array[float], corners: array[int], counts: array[int], at: tuple[Path, int]
) -> None:
    if not words:
        return
    if words[0] == b"v":
        numbers.extend(_vertex(words, at))
    elif words[0] in (b"f", b"fo"):
        face = _face(words, len(numbers) // 3, at)
        corners.extend(face)
        counts.append(len(face))
    elif words[0] in CURVED:
        what = "this file holds curved surfaces, not a mesh"
        raise _wrong(*at, what, b" ".join(words), "Export a mesh, or the solid as STEP.")
    elif words[0] not in PASSED:
        raise _wrong(*at, "this line says nothing that an OBJ file can say", b" ".join(words))


def _vertex(words: list[bytes], at: tuple[Path, int]) -> list[float]:
    try:
        values = [float(word) for word in words[1:]]
    except ValueError:
        raise _wrong(*at, "a vertex needs three numbers", b" ".join(words)) from None
    if len(values) not in (3, 4, 6, 7):  # with a weight, with a colour, with both
        raise _wrong(*at, "a vertex needs three numbers", b" ".join(words))
    if len(values) == 4 and values[3] != 1.0:
        raise _wrong(*at, "a vertex with a weight belongs to a curved surface", b" ".join(words))
    return values[:3]


def _face(words: list[bytes], known: int, at: tuple[Path, int]) -> list[int]:
    """Corners counted from 0; the file counts from 1, or backwards from the newest vertex."""
    if not 3 <= len(words) - 1 <= MOST_CORNERS:
        raise _wrong(*at, f"a face has 3 to {MOST_CORNERS:,} corners", b" ".join(words))
    try:
        places = [int(word.partition(b"/")[0]) for word in words[1:]]
    except ValueError:
        raise _wrong(*at, "a corner of a face is the number of a vertex", b" ".join(words)) from None
    corners = [place - 1 if place > 0 else known + place for place in places]
    if not all(0 <= corner < known for corner in corners) or 0 in places:
        what = f"this face names a vertex that is not there yet; {known} are"
        raise _wrong(*at, what, b" ".join(words))
    return corners


def _wrong(path: Path, line: int, wrong: str, value: bytes, remedy: str = "") -> PartFileError:
    shown = value[:SHOWN].decode("latin-1")
    remedy = remedy or "The file is damaged; export it again, best as 3MF."
    return PartFileError(wrong, file=path.name, field=f"line {line}", value=shown, remedy=remedy)
