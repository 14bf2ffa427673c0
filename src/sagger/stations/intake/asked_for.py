"""What drawing and order ask of a part, each line tied to faces; and what of it the promise counts."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import OrderError
from sagger.geometry.surface import mesh
from sagger.geometry.surface.lookup import Fitted
from sagger.goods.drawing import Datum, Dimension, Drawing, ExactFace, GeometricTolerance
from sagger.goods.order import Request
from sagger.goods.shape import PartFile
from sagger.goods.stated import StatedFace, StatedLine
from sagger.stations.intake.found_face import found
from sagger.stations.intake.nominal import nominal
from sagger.stations.intake.sides import legs_mm
from sagger.stations.intake.tied import Tied
from sagger.statistics import tolerance

SIZES = ("diameter", "radius", "distance", "thickness", "angle")
WHAT = {"profile": "surface profile", "runout": "circular runout"}  # as files call it
BONUS = {"most": "maximum material requirement", "least": "least material requirement"}
TWO_POINT = "two-point"
NOTHING = Drawing(faces=(), dimensions=(), tolerances=(), datums=(), lost=())


def asked(request: Request, file: PartFile) -> Tied | None:
    """All that is asked for on faces, the order's lines in place of the file's; None if there is nothing.

    Raises
    ------
    OrderError
        If a face that the order states is not there, or more than one fits.
    """
    read = file.drawing or NOTHING
    if request.drawing == "none":
        read = dataclasses.replace(NOTHING, faces=read.faces)
    tied = Tied(_scaled(read, request.scale), _facets(file), mesh.welded(file.shape))
    for place, datum in enumerate(request.datums, start=1):
        tied = _with_datum(tied, datum.name, _found(tied, datum.face, f"[[part.datum]] {place}, face"))
    of_file = frozenset(map(id, (*tied.drawing.dimensions, *tied.drawing.tolerances)))
    for place, line in enumerate(request.dimensions, start=1):
        tied = _with_line(tied, line, Placed(f"[[part.dimension]] {place}", request.scale, of_file))
    drawing = tied.drawing
    asks = drawing.dimensions or drawing.tolerances or drawing.datums or request.form
    return tied if asks else None


def _scaled(drawing: Drawing, scale: float) -> Drawing:
    """A file's drawing where its part is made so many times as large: sizes and limits are too."""
    if scale == 1.0:
        return drawing
    return dataclasses.replace(
        drawing,
        dimensions=tuple(_scaled_size(size, scale) for size in drawing.dimensions),
        tolerances=tuple(
            dataclasses.replace(zone, width_mm=zone.width_mm * scale) for zone in drawing.tolerances
        ),
    )


def _scaled_size(size: Dimension, scale: float) -> Dimension:
    if size.unit != "mm":
        return size
    nominal, lower, upper = (
        None if value is None else value * scale for value in (size.nominal, size.lower, size.upper)
    )
    return dataclasses.replace(size, nominal=nominal, lower=lower, upper=upper)


class Placed(NamedTuple):
    """Where a line stands."""

    field: str  # of the order
    scale: float  # of its part
    of_file: frozenset[int]  # identities of the lines that the part file asks


class HeldFace(NamedTuple):
    """A face that an order states, as part of the drawing."""

    faces: tuple[int, ...]
    new: ExactFace | None  # one that the file does not number
    fitted: Fitted | None


def _facets(file: PartFile) -> dict[int, ndarray]:
    if file.face_of is None:
        return {}
    order = np.argsort(file.face_of, kind="stable")
    numbers, starts = np.unique(file.face_of[order], return_index=True)
    return dict(zip(numbers.tolist(), np.split(order, starts[1:]), strict=True))


def _found(tied: Tied, stated: StatedFace, field: str) -> HeldFace:
    fitted = found(tied.body, stated, field)
    numbers = [number for number, rows in tied.facets.items() if np.isin(fitted.triangles, rows).any()]
    if numbers:
        return HeldFace(tuple(numbers), None, fitted)
    number = 1 + max((face.number for face in tied.drawing.faces), default=0)
    return HeldFace((number,), _exact(number, fitted), fitted)


def _exact(number: int, fitted: Fitted) -> ExactFace:
    at, along = (tuple(float(value) for value in row) for row in (fitted.at, fitted.along))
    return ExactFace(
        number=number,
        kind="plane" if fitted.kind == "plane" else "cylinder",
        at_mm=(at[0], at[1], at[2]),
        along=(along[0], along[1], along[2]),
        radius_mm=fitted.diameter / 2,
        outward=fitted.kind != "bore",
        solid=True,
    )


def _with_face(tied: Tied, held: HeldFace) -> Tied:
    if held.new is None or held.fitted is None:
        return tied
    drawing = dataclasses.replace(tied.drawing, faces=(*tied.drawing.faces, held.new))
    return tied._replace(drawing=drawing, facets={**tied.facets, held.new.number: held.fitted.triangles})


def _with_datum(tied: Tied, name: str, held: HeldFace) -> Tied:
    """The order's datum in place of one of the same letter."""
    tied = _with_face(tied, held)
    others = tuple(datum for datum in tied.drawing.datums if datum.name != name)
    datums = (*others, Datum(name=name, faces=held.faces))
    return tied._replace(drawing=dataclasses.replace(tied.drawing, datums=datums))


def _with_line(tied: Tied, line: StatedLine, placed: Placed) -> Tied:
    """The order's line in place of one of the file that asks the same of the same faces."""
    tied, on = _end(tied, line.of, f"{placed.field}, of")
    if line.what not in SIZES:
        made = _tolerance(line, on)
        zones = (*(old for old in tied.drawing.tolerances if not _alike(old, made, placed)), made)
        return tied._replace(drawing=dataclasses.replace(tied.drawing, tolerances=zones))
    tied, to = _end(tied, line.to[0], f"{placed.field}, to") if line.to else (tied, ())
    size = _size(tied, line, (on, to), placed)
    sizes = (*(old for old in tied.drawing.dimensions if not _alike(old, size, placed)), size)
    return tied._replace(drawing=dataclasses.replace(tied.drawing, dimensions=sizes))


def _size(
    tied: Tied,
    line: StatedLine,
    ends: tuple[tuple[int, ...], tuple[int, ...]],
    placed: Placed,
) -> Dimension:
    by_number = {face.number: face for face in tied.drawing.faces}
    on, to = ([by_number[number] for number in numbers] for numbers in ends)
    value = nominal(line, on, to)
    if value is None:
        kinds = " and ".join(face.kind for face in (*on[:1], *to[:1]))
        remedy = "Distances are between planes or axes that run alike, diameters of bores and pins."
        raise OrderError(
            f"a {line.what} cannot be taken of {kinds}", field=f"{placed.field}, what", remedy=remedy
        )
    value *= 1.0 if line.what == "angle" else placed.scale
    sides = min(legs_mm(ends[0][0], ends[1][0], tied)) if line.what == "angle" else None
    lower, upper = tolerance.ends(value, line.limit, sides)
    return Dimension(
        name=line.name,
        kind=line.what,
        nominal=value,
        lower=lower,
        upper=upper,
        unit="deg" if line.what == "angle" else "mm",
        fit=line.limit.letter + line.limit.grade if line.limit.kind == "grade" else "",
        faces=ends[0],
        to=ends[1],
        notes=(line.size,) if line.size != TWO_POINT else (),
        machined_mm=line.machined_mm,
        offset_mm=line.offset_mm,
    )


def _end(tied: Tied, of: StatedFace | str, field: str) -> tuple[Tied, tuple[int, ...]]:
    """The faces that are stated, by size and place or by the name of a line or datum."""
    if isinstance(of, StatedFace):
        held = _found(tied, of, field)
        return _with_face(tied, held), held.faces
    drawing = tied.drawing
    named: tuple[Dimension | GeometricTolerance | Datum, ...]
    named = (*drawing.dimensions, *drawing.tolerances, *drawing.datums)
    faces = next((line.faces for line in named if line.name == of), ())
    if not faces:
        known = ", ".join(line.name for line in named if line.name)
        remedy = f"Known: {known}." if known else 'State the face, "bore 8 mm at 12, 30, 5 along z".'
        raise OrderError("nothing has this name", field=field, value=of, remedy=remedy)
    return tied, faces


def _tolerance(line: StatedLine, on: tuple[int, ...]) -> GeometricTolerance:
    return GeometricTolerance(
        name=line.name,
        kind=WHAT.get(line.what, line.what),
        width_mm=line.limit.upper,
        zone=line.zone if line.zone in ("round", "sphere") else "",
        datums=tuple(end for end in line.to if isinstance(end, str)),
        modifiers=(BONUS[line.material],)
        if line.material
        else (line.limit.letter,) * bool(line.limit.letter),
        faces=on,
        whole=False,
        machined_mm=line.machined_mm,
    )


def _alike(old: Dimension | GeometricTolerance, new: Dimension | GeometricTolerance, placed: Placed) -> bool:
    return id(old) in placed.of_file and old.kind == new.kind and set(old.faces) == set(new.faces)
