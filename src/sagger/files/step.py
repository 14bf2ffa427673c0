"""STEP (ISO 10303-21): exact shapes, turned into triangles on reading, and what is asked of their faces."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import PartFileError
from sagger.files import glb, pmi, step_bodies, step_sound
from sagger.files.glb import Solid
from sagger.files.part21 import Damaged, Text
from sagger.files.pmi_measures import length_units
from sagger.files.reading import Read, Wish
from sagger.files.step_bodies import NAMELESS, MeshRun, TextBody
from sagger.geometry.surface import mesh
from sagger.goods.drawing import Drawing
from sagger.goods.finding import Against, Finding, advice, loss, risk
from sagger.goods.shape import Body

ANGLE_RAD = 0.2  # largest turn between neighbouring facets of a curve
WELD_MM = 1e-5  # faces are meshed one by one; their rims agree to rounding


class StepText(NamedTuple):
    """What the text of the file says."""

    bodies: list[TextBody]
    drawing: Drawing
    unit: str
    findings: tuple[Finding, ...]


class _Cut(NamedTuple):
    """Triangles of one body, and whether it is a solid or a free sheet."""

    body: Body
    solid: bool


def read(path: Path, wish: Wish) -> Read:
    """All solids of a STEP file, each in its own axes, in mm, with the drawing that the file carries.

    Raises
    ------
    PartFileError
        If the kernel finds no shape in it.
    """
    data = path.read_bytes()
    text = _text(data, path.name)
    meshes = glb.solids(_triangles(data, path.name, wish.chord_mm))
    if not meshes:
        raise PartFileError(
            "there are no faces in it", file=path.name, remedy="Export the solid, not lines or points."
        )
    cuts, tied = _cuts(meshes, text.bodies)
    solids = [cut.body for cut in cuts if cut.solid] or [_together(cuts)]
    findings = [*text.findings, *_sheets(cuts)]
    if not tied and _asks(text.drawing):
        findings.append(_untied())
    return Read(
        bodies=tuple(_named(solids)),
        unit=text.unit,
        drawing=text.drawing if _asks(text.drawing) or text.drawing.faces else None,
        findings=tuple(findings),
    )


def _triangles(data: bytes, name: str, chord_mm: float) -> bytes:
    import cascadio

    made: bytes = cascadio.to_glb_bytes(
        data,
        tol_linear=chord_mm,
        tol_angular=ANGLE_RAD,
        merge_primitives=True,
        use_parallel=False,
        include_brep=True,
    )
    if not made:
        raise PartFileError("no solid could be read from it", file=name, remedy="Export it again as AP242.")
    return made


def _text(data: bytes, name: str) -> StepText:
    file, lost = Text(data.decode("latin-1")), list[str]()
    step_sound.refuse_damaged(file, name)
    drawing, faces = pmi.drawn(file)
    bodies = step_bodies.bodies(file, faces, lost)
    try:
        units = length_units(file)
    except (Damaged, LookupError, TypeError, ValueError) as error:
        units = []
        lost.append(f"unit: {error}")
    findings = [*_contradiction(units), *_lost([*drawing.lost, *lost])]
    return StepText(bodies, drawing, units[0] if units else "mm", tuple(findings))


def _cuts(meshes: list[Solid], known: list[TextBody]) -> tuple[list[_Cut], bool]:
    """Each mesh as the bodies of the text that it is made of, and whether all could be matched."""
    cuts, free, tied = list[_Cut](), list(known), True
    for solid in meshes:
        runs = step_bodies.matched(solid, free)
        if runs is None:
            tied = False
            body = _body(solid, np.ones(len(solid.triangles), bool), None, solid.name)
            cuts.append(_Cut(body, not len(mesh.open_edges(body.shape)) or len(meshes) == 1))
            continue
        for run in runs:
            free.remove(run.body)
            cuts.append(_of_run(solid, run, len(runs) == 1))
    return cuts, tied


def _of_run(solid: Solid, run: MeshRun, alone: bool) -> _Cut:
    body, last = run.body, run.first + len(run.body.faces)
    chosen = (solid.face >= run.first) & (solid.face < last)
    numbers = np.array([face.number for face in body.faces], dtype=np.int32)
    own = alone and solid.name not in NAMELESS  # then the name is that of the product
    name = solid.name if own else body.name
    return _Cut(_body(solid, chosen, numbers[solid.face[chosen] - run.first], name), body.solid)


def _body(solid: Solid, chosen: ndarray, face_of: ndarray | None, name: str) -> Body:
    """The triangles welded, those that have collapsed left out."""
    body = mesh.welded(mesh.shape(solid.vertices, solid.triangles[chosen]))
    for _ in range(2):
        a, b, c = body.triangles.T
        plump = (a != b) & (b != c) & (c != a)
        body = mesh.shape(body.vertices, body.triangles[plump])
        face_of = None if face_of is None else face_of[plump]
        body = mesh.welded_within(body, WELD_MM)  # keeps the order of the triangles
    return Body(shape=mesh.welded(body), name=name, copies=solid.copies, face_of=face_of)


def _together(cuts: list[_Cut]) -> Body:
    """Sheets alone: what they enclose is for healing to find."""
    starts = np.cumsum([0, *(len(cut.body.shape.vertices) for cut in cuts)])
    points = np.concatenate([cut.body.shape.vertices for cut in cuts])
    corners = [cut.body.shape.triangles + start for cut, start in zip(cuts, starts[:-1], strict=True)]
    body = mesh.welded(mesh.shape(points, np.concatenate(corners)))
    return Body(shape=mesh.without_flat(mesh.welded_within(body, WELD_MM)))


def _named(bodies: list[Body]) -> list[Body]:
    """Each body with a name of its own; a lone one needs none."""
    if len(bodies) == 1:
        lone = bodies[0]
        return [Body(shape=lone.shape, copies=lone.copies, face_of=lone.face_of)]
    used, made = set[str](), list[Body]()
    for number, body in enumerate(bodies, start=1):
        plain = body.name.strip() or f"body {number}"
        name = plain if plain not in used else f"{plain} ({number})"
        used.add(name)
        made.append(Body(shape=body.shape, name=name, copies=body.copies, face_of=body.face_of))
    return made


def _asks(drawing: Drawing) -> bool:
    return bool(drawing.dimensions or drawing.tolerances or drawing.datums)


def _sheets(cuts: list[_Cut]) -> list[Finding]:
    count = sum(not cut.solid for cut in cuts)
    if not count or count == len(cuts):
        return []
    text = f"{count} free sheets of surface in the file bound no solid and were left out."
    if count == 1:
        text = "A free sheet of surface in the file bounds no solid and was left out."
    return [advice("free sheet", text, Against(float(count), unit="sheets"), "See that it is construction.")]


def _contradiction(units: list[str]) -> list[Finding]:
    if len(set(units)) < 2:
        return []
    text = f"The file names more than one unit of length: {', '.join(dict.fromkeys(units))}."
    return [loss("unit", text, remedy="Compare the size with the drawing; export the part in one unit.")]


def _lost(lost: list[str]) -> list[Finding]:
    if not lost:
        return []
    more = "" if len(lost) == 1 else f"; {len(lost) - 1} more like it"
    text = f"The file is damaged in part and was read without it: {lost[0]}{more}."
    remedy = "Hold the drawing against the list of what was read; export the part again."
    return [risk("drawing damaged", text, Against(float(len(lost)), 0.0, "places"), remedy)]


def _untied() -> Finding:
    text = "The faces of the file's text and of its shape do not match, so its dimensions are listed only."
    remedy = "Export the part alone, not as an assembly, or say what matters in [[part.dimension]]."
    return risk("drawing not tied", text, remedy=remedy)
