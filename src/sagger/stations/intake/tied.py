"""A drawing with the facets of its faces on the part file's mesh."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.goods.drawing import Drawing, ExactFace
from sagger.goods.shape import Shape

ROUGHNESS = "roughness"  # its parameter is its modifier


class Tied(NamedTuple):
    """A drawing, and the facets of each of its faces on the part file's mesh."""

    drawing: Drawing
    facets: dict[int, ndarray]  # number of a face -> int64 (t,)
    body: Shape


def laid(tied: Tied, turn: ndarray, scale: float) -> Tied:
    """The same in the part's axes: body and faces turned and scaled; values of lines are so already."""
    faces = tuple(_laid_face(face, turn, scale) for face in tied.drawing.faces)
    body = mesh.mapped(tied.body, turn * scale)
    return tied._replace(drawing=dataclasses.replace(tied.drawing, faces=faces), body=body)


def _laid_face(face: ExactFace, turn: ndarray, scale: float) -> ExactFace:
    (x, y, z), (a, b, c) = (turn @ face.at_mm * scale).tolist(), (turn @ face.along).tolist()
    return dataclasses.replace(face, at_mm=(x, y, z), along=(a, b, c), radius_mm=face.radius_mm * scale)
