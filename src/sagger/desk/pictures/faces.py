"""What a click on a part's picture finds, and whether lines of a drawing hold on it.

Runs in the processes of `workers`: reading a part and growing a face take up to a second.
"""

from __future__ import annotations

import dataclasses
import functools
import json
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger import files
from sagger.desk.pictures import render
from sagger.desk.planning.orders import with_tables
from sagger.errors import InputError
from sagger.files import order_stated
from sagger.files.parts import chosen
from sagger.files.reading import CHORD_MM, SECONDS, Wish
from sagger.geometry.surface import band, links, lookup, mesh
from sagger.geometry.surface.links import LinkedMesh
from sagger.geometry.surface.lookup import Fitted
from sagger.goods.drawing import Dimension, GeometricTolerance
from sagger.goods.good import plain
from sagger.goods.picked import DrawnHere, Picked, PickedFace
from sagger.goods.plain import Table
from sagger.goods.shape import PartFile, Shape
from sagger.stations import intake
from sagger.stations.intake.clicked import clicked as face_of_facet
from sagger.stations.intake.clicked import questions, same_face
from sagger.views.words import drawn, faces

NONE = "No plane, bore, pin, cone or sphere passes through this triangle."
SAME = "This is the first face; choose another one."
UNSTATED = "An order has words for planes, bores and pins only, so nothing can be asked of this face here."


class PartSource(NamedTuple):
    """A part file that a page shows; made by the server, never by what a browser sends."""

    path: str
    unit: str = ""  # of files that carry none; "" = shown as if in mm
    body: str = ""  # of a file that holds several
    chord_mm: float = CHORD_MM
    reading_s: float = SECONDS
    turn_deg: tuple[float, float, float] = (
        0.0,
        0.0,
        0.0,
    )  # as it is shown; faces are said in the file's axes
    scale: float = 1.0  # likewise


def form(source: PartSource, triangles: int) -> bytes:
    """The part's shape as a picture draws it, see `render.form`."""
    return render.form(_laid(source), triangles)


def size(source: PartSource) -> bytes:
    """Ends and number of triangles, as JSON: what a view needs before it draws."""
    shape = _laid(source)
    low, high = shape.vertices.min(axis=0).tolist(), shape.vertices.max(axis=0).tolist()
    return json.dumps({"low": low, "high": high, "triangles": len(shape.triangles)}).encode()


def picked(source: PartSource, triangles: tuple[int, ...]) -> bytes:
    """The faces under one or two triangles, as JSON of `goods.picked.Picked`.

    Raises
    ------
    InputError
        If the part has no such triangle.
    """
    part = _read(source, _stamp(source))
    count = len(part.file.shape.triangles)
    if not all(0 <= facet < count for facet in triangles):
        raise InputError("the part has no such triangle", remedy="Click on the part again.")
    found = [face_of_facet(part.file, part.on, facet) for facet in triangles]
    shown = [_shown(part, face, facet) for face, facet in zip(found, triangles, strict=True)]
    clear = [face for face in found if face is not None]
    if len(shown) > 1 and shown[0].runs == shown[1].runs:
        shown[1] = dataclasses.replace(shown[1], why=SAME)
    fit = bool(clear) and not any(face.why for face in shown)
    may = questions(clear[0], clear[1] if len(clear) > 1 else None) if fit else ()
    return json.dumps(plain(Picked(faces=tuple(shown), questions=may))).encode()


def lines(source: PartSource, row: Table, name: str) -> bytes:
    """What the [[part.datum]] and [[part.dimension]] tables of a part say on this very part.

    Read by the order file's own rules and tied to faces as planning ties them: JSON of
    `goods.picked.DrawnHere`.

    Raises
    ------
    InputError
        As the order file would be refused.
    """
    request = with_tables(files.order.part(row, name))
    part = _read(source, _stamp(source))
    tied = intake.asked_for.asked(request, part.file)
    if tied is None:
        return json.dumps(plain(DrawnHere(rows=(), facets=()))).encode()
    drawing = intake.characteristics.evaluated(tied, request.tolerance).drawing
    asked: tuple[Dimension | GeometricTolerance, ...] = (*drawing.dimensions, *drawing.tolerances)
    facets = tuple(tuple(_runs(_of(tied.facets, _numbers(line)))) for line in asked)
    rows = tuple(tuple(map(str, line)) for line in drawn.lines(drawing))
    return json.dumps(plain(DrawnHere(rows=rows, facets=facets))).encode()


def _laid(source: PartSource) -> Shape:
    """The shape as it is shown."""
    body = _read(source, _stamp(source)).file.shape
    return mesh.mapped(body, intake.rotation(source.turn_deg) * source.scale)


def _numbers(line: Dimension | GeometricTolerance) -> tuple[int, ...]:
    return (*line.faces, *line.to) if isinstance(line, Dimension) else line.faces


class _OpenPart(NamedTuple):
    file: PartFile
    on: LinkedMesh


def _stamp(source: PartSource) -> tuple[int, int]:
    stat = Path(source.path).stat()
    return stat.st_size, stat.st_mtime_ns


@functools.lru_cache(maxsize=4)
def _read(source: PartSource, stamp: tuple[int, int]) -> _OpenPart:
    wish = Wish(source.chord_mm, source.reading_s)
    parts = files.read_parts(Path(source.path), source.unit, assume="mm", wish=wish)
    file = chosen(parts, source.body) if source.body and len(parts) > 1 else parts[0]
    return _OpenPart(file, links.linked(file.shape))


def _shown(part: _OpenPart, face: Fitted | None, facet: int) -> PickedFace:
    if face is None:
        return PickedFace(words=NONE, stated="", why=NONE, runs=(facet, 1))
    at = _place(part.on, face)
    words, runs = faces.told(face, at), tuple(_runs(face.triangles))
    if face.kind not in ("bore", "pin", "plane"):
        return PickedFace(words=words, stated="", why=UNSTATED, runs=runs)
    text = faces.stated(face, at)
    why = same_face(part.file, order_stated.face(text), part.on, face)
    return PickedFace(words=words, stated="" if why else text, why=why, runs=runs)


def _place(on: LinkedMesh, face: Fitted) -> ndarray:
    """Where a face is said to be: of a plane a place that lies on it, also where its middle is a hole."""
    if face.kind != "plane" or lookup.apart(on.body, face, face.at) < band.FLAT_MM:
        return face.at
    largest = face.triangles[int(np.argmax(on.areas[face.triangles]))]
    return np.asarray(on.corners[largest].mean(axis=0))


def _of(facets: dict[int, ndarray], numbers: tuple[int, ...]) -> ndarray:
    rows = [facets[number] for number in numbers if number in facets]
    return np.unique(np.concatenate(rows)) if rows else np.empty(0, np.int64)


def _runs(rows: ndarray) -> list[int]:
    """Numbers as runs: first, how many, first, how many, …"""
    rows = np.unique(rows)
    if not len(rows):
        return []
    starts = np.flatnonzero(np.diff(rows, prepend=rows[0] - 2) > 1)
    lengths = np.diff(np.append(starts, len(rows)))
    return [int(value) for pair in zip(rows[starts], lengths, strict=True) for value in pair]
