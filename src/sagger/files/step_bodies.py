"""Which bodies the text of a STEP file holds, and which of the library's triangles belong to which."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sagger.files import part21
from sagger.files.glb import Solid, Surface
from sagger.files.part21 import Text
from sagger.files.pmi_links import read_each
from sagger.goods.drawing import ExactFace

SOLIDS = ("MANIFOLD_SOLID_BREP", "FACETED_BREP", "BREP_WITH_VOIDS")
SHEETS = ("OPEN_SHELL", "CLOSED_SHELL")
NAMELESS = ("SOLID", "COMPOUND", "COMPSOLID", "SHELL", "FACE", "")  # what the library calls what has no name
CLOSE_MM = 1e-4  # radii of one face in text and library; they differ by rounding


class TextBody(NamedTuple):
    """A body as the text has it."""

    name: str
    faces: tuple[ExactFace, ...]
    solid: bool  # False: a free sheet, which is construction


class MeshRun(NamedTuple):
    """A run of a mesh's faces that is one body of the text."""

    first: int  # face of the mesh
    body: TextBody


def bodies(file: Text, faces: dict[int, ExactFace], lost: list[str]) -> list[TextBody]:
    """All solids of the text, then the shells that are part of none, in the order of the file."""

    def solid(number: int) -> TextBody:
        values = file.entity(number).need(*SOLIDS)
        shells = _shells(file, part21.references(values[1:]))
        used.update(shells)
        return TextBody(part21.words(values[0]), _faces(file, shells, faces), solid=True)

    def sheet(number: int) -> TextBody:
        entity = file.entity(number)
        return TextBody("", _faces(file, [number], faces), solid="CLOSED_SHELL" in entity)

    used = set[int]()
    made = read_each(solid, file.of_type(*SOLIDS), "body", lost)
    loose = [number for number in file.of_type(*SHEETS) if number not in used]
    return [*made, *read_each(sheet, loose, "shell", lost)]


def matched(solid: Solid, known: list[TextBody]) -> list[MeshRun] | None:
    """Which bodies of the text a mesh is made of, by kind and radius of each face; None if none fit."""
    runs, at = list[MeshRun](), 0
    free = list(known)
    while at < len(solid.surfaces):
        fitting = [body for body in free if _alike(solid.surfaces[at : at + len(body.faces)], body.faces)]
        if not fitting:
            return None
        body = max(fitting, key=lambda body: len(body.faces))  # the first of the longest
        free.remove(body)
        runs.append(MeshRun(at, body))
        at += len(body.faces)
    return runs


def _alike(surfaces: tuple[Surface, ...], faces: tuple[ExactFace, ...]) -> bool:
    return 0 < len(faces) == len(surfaces) and all(map(_same, surfaces, faces))


def _same(surface: Surface, face: ExactFace) -> bool:
    kind = "" if face.kind == "other" else face.kind
    one_radius = abs(surface.radius_mm - face.radius_mm) <= CLOSE_MM
    return surface.kind == kind and (one_radius or kind not in ("cylinder", "sphere"))


def _shells(file: Text, named: list[part21.Reference]) -> list[int]:
    """Shells, those turned over as the shells that they turn."""
    shells = []
    for number in named:
        turned = file.entity(number).one_of("ORIENTED_CLOSED_SHELL")
        shells.append(int(part21.reference(turned[2])) if turned else int(number))
    return shells


def _faces(file: Text, shells: list[int], faces: dict[int, ExactFace]) -> tuple[ExactFace, ...]:
    return tuple(faces[number] for shell in shells for number in _listed(file, shell) if number in faces)


def _listed(file: Text, shell: int) -> Iterator[int]:
    yield from part21.references(file.entity(shell).need(*SHEETS)[1])
