"""General tolerances of form and place, put on the faces that have none of their own."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator

import numpy as np

from sagger.goods.drawing import Dimension, Drawing, ExactFace, GeometricTolerance
from sagger.goods.finding import Against, Finding, advice, ok
from sagger.goods.stated import GeneralForm
from sagger.stations.intake.sides import legs_mm, longest_mm, normal
from sagger.stations.intake.tied import Tied
from sagger.stations.intake.zone_rows import DATUM_FACE, PROFILES, RUNOUTS, TILTS
from sagger.statistics import tolerance

SQUARE = 1e-3  # of a cosine: faces nearer to a right angle are drawn square
ROUND_OWN = ("roundness", "cylindricity", *RUNOUTS)
PROFILE = "general profile"
GENERAL, NAMED = "general tolerance", 6
Group = dict[tuple[float, str], list[int]]  # faces by width and datum


def generally(tied: Tied, put: GeneralForm | None) -> Tied:
    """The drawing with a line for each kind and width of general tolerance, and the faces that it holds for.

    Source
    ------
    ISO 2768-2 (withdrawn) and ISO 22081, both from memory: defer to the edition that the drawing names. Of
    ISO 2768-2: flatness by the longer side, squareness of neighbours by the shorter side with the longer face
    as datum, roundness as the size but no more than runout. Symmetry, coaxiality and runout need to know
    which features belong together and are not applied; parallelism follows from size and flatness.
    """
    if put is None:
        return tied
    if put.kind == "profile":
        return _profiled(tied, put)
    drawing, name = tied.drawing, called(put)
    made = [
        *_lines("flatness", name, _flat(tied, put)),
        *_lines("perpendicularity", name, _square(tied, put)),
        *_lines("roundness", name, _round(drawing, put)),
    ]
    return _with(tied, made)


def told(drawing: Drawing, put: GeneralForm | None) -> list[Finding]:
    """What the general tolerance of form was put on; nothing where the order names none."""
    if put is None:
        return []
    lines = [line for line in drawing.tolerances if line.name in (called(put), PROFILE)]
    named = "; ".join(
        f"{line.kind} {line.width_mm:g} mm{' to ' + ' '.join(line.datums) if line.datums else ''} on "
        f"{len(line.faces)} faces"
        for line in lines[:NAMED]
    )
    more = f"; {len(lines) - NAMED} lines more" if len(lines) > NAMED else ""
    if put.kind == "profile":
        return [
            ok(GENERAL, f"The general profile holds for: {named or 'no face, all have limits of their own'}.")
        ]
    text = f"ISO 2768-{put.grade} puts on faces without a tolerance of their own: {named or 'nothing'}{more}."
    remedy = "Its table is from memory and the standard is withdrawn: agree with the customer what holds."
    return [advice(GENERAL, text, Against(source="ISO 2768-2, from memory"), remedy)]


def called(put: GeneralForm) -> str:
    """Name of the lines that a class puts on a drawing."""
    return f"by ISO 2768-{put.grade}"


def _profiled(tied: Tied, put: GeneralForm) -> Tied:
    """One zone about all faces that no line limits; of a bare mesh, all the rest is one."""
    drawing, rest = tied.drawing, _rest(tied)
    limited = {number for line in _asked(drawing) for number in _on(line)}
    datum = {number for one in drawing.datums if one.name in put.datums for number in one.faces}
    free = [face.number for face in drawing.faces if face.number in tied.facets and face.solid]
    faces = tuple(number for number in (*free, *rest.facets) if number not in limited | datum)
    if not faces:
        return tied
    known = {**tied.facets, **rest.facets}
    tied = tied._replace(
        facets=known, drawing=dataclasses.replace(drawing, faces=(*drawing.faces, *rest.drawing.faces))
    )
    return _with(tied, [_made("surface profile", PROFILE, (put.width_mm, put.datums), faces)])


def _rest(tied: Tied) -> Tied:
    """Facets of no known face, as one of a form of its own."""
    known = np.zeros(len(tied.body.triangles), dtype=bool)
    for rows in tied.facets.values():
        known[rows] = True
    left = np.flatnonzero(~known)
    if not len(left):
        return tied._replace(facets={}, drawing=dataclasses.replace(tied.drawing, faces=()))
    number = 1 + max((face.number for face in tied.drawing.faces), default=0)
    nowhere = (0.0, 0.0, 0.0)
    face = ExactFace(
        number=number, kind="other", at_mm=nowhere, along=nowhere, radius_mm=0.0, outward=True, solid=True
    )
    return tied._replace(facets={number: left}, drawing=dataclasses.replace(tied.drawing, faces=(face,)))


def _asked(drawing: Drawing) -> tuple[Dimension | GeometricTolerance, ...]:
    return (*drawing.dimensions, *drawing.tolerances)


def _on(line: Dimension | GeometricTolerance) -> tuple[int, ...]:
    """Faces that a line limits by itself: an exact dimension limits none."""
    if isinstance(line, GeometricTolerance):
        return line.faces
    return (*line.faces, *line.to) if line.lower is not None or line.fit else ()


def _planes(tied: Tied) -> list[int]:
    cut = {number for line in _asked(tied.drawing) if line.machined_mm is not None for number in line.faces}
    return [face.number for face in tied.drawing.faces
            if face.kind == "plane" and face.solid and face.number in tied.facets.keys() - cut]  # fmt: skip


def _flat(tied: Tied, put: GeneralForm) -> Group:
    own = _having(tied.drawing, ("flatness", *PROFILES))
    group: Group = {}
    for number in _planes(tied):
        width = tolerance.band(longest_mm(number, tied), put.flatness)
        if number not in own and width is not None:
            group.setdefault((width, ""), []).append(number)
    return group


def _square(tied: Tied, put: GeneralForm) -> Group:
    """Of each flat face to the longest of its neighbours that it is drawn square to, if that is longer."""
    planes, group = _planes(tied), dict[tuple[float, str], list[int]]()
    own = _having(tied.drawing, (*TILTS, *PROFILES, "position"))
    corners = {number: set(tied.body.triangles[tied.facets[number]].ravel().tolist()) for number in planes}
    ways = {number: normal(number, tied) for number in planes}
    for number in planes:
        if number in own:
            continue
        beside = [other for other in planes if len(corners[number] & corners[other]) > 1
                  and abs(float(ways[number] @ ways[other])) < SQUARE]  # fmt: skip
        legs = {other: legs_mm(number, other, tied) for other in beside}
        longer = [other for other, (mine, its) in legs.items() if (its, -other) > (mine, -number)]
        datum = max(longer, key=lambda other: legs[other][1], default=None)
        width = None if datum is None else tolerance.band(legs[datum][0], put.squareness)
        if width is not None:
            group.setdefault((width, f"{DATUM_FACE} {datum}"), []).append(number)
    return group


def _round(drawing: Drawing, put: GeneralForm) -> Group:
    """Of bores and pins with a limited diameter."""
    own, group = _having(drawing, ROUND_OWN), dict[tuple[float, str], list[int]]()
    for size in drawing.dimensions:
        if (
            size.kind != "diameter"
            or size.lower is None
            or size.upper is None
            or size.machined_mm is not None
        ):
            continue
        width = min(size.upper - size.lower, put.runout_mm)
        free = [number for number in size.faces if number not in own]
        if free:
            group.setdefault((width, ""), []).extend(free)
            own = own | set(free)
    return group


def _having(drawing: Drawing, kinds: Iterable[str]) -> set[int]:
    wanted = set(kinds)
    return {number for line in drawing.tolerances if line.kind in wanted for number in line.faces}


def _lines(kind: str, name: str, group: Group) -> Iterator[GeometricTolerance]:
    for (width, datum), faces in sorted(group.items()):
        yield _made(kind, name, (width, (datum,) if datum else ()), tuple(faces))


def _made(
    kind: str, name: str, asked: tuple[float, tuple[str, ...]], faces: tuple[int, ...]
) -> GeometricTolerance:
    width, datums = asked
    return GeometricTolerance(
        kind=kind, width_mm=width, zone="", datums=datums, modifiers=(), faces=faces, whole=False, name=name
    )


def _with(tied: Tied, made: list[GeometricTolerance]) -> Tied:
    drawing = tied.drawing
    return tied._replace(drawing=dataclasses.replace(drawing, tolerances=(*drawing.tolerances, *made)))
