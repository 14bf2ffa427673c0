"""The face under a click on a part's picture, how an order would state it, and what it may be asked for."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.errors import OrderError
from sagger.geometry.surface import band, links, round_fits
from sagger.geometry.surface.links import LinkedMesh
from sagger.geometry.surface.lookup import Fitted, turn_spanned
from sagger.geometry.surface.round_fits import RoundFace
from sagger.goods.drawing import ExactFace
from sagger.goods.shape import PartFile
from sagger.goods.stated import StatedFace
from sagger.stations.intake.found_face import found

SAME_MM = 1e-3  # axes and planes of one surface lie so near one another
SAME_RADIUS_MM = 1e-4
ALIKE = 1 - 1e-9  # cosine between their directions
PARALLEL = 0.9998  # about 1 degree, as distances are taken
STATED = ("bore", "pin", "plane")  # kinds that an order has words for
OF_ROUND = ("diameter", "radius", "roundness", "cylindricity", "straightness")
OF_PLANE = ("flatness", "straightness")
TO_DATUM = ("position", "profile", "runout", "concentricity", "symmetry")


def clicked(file: PartFile, on: LinkedMesh, facet: int) -> Fitted | None:
    """The face that a triangle of a part file belongs to; None of a bare mesh where none can be told.

    Parameters
    ----------
    file : PartFile
        Of a STEP file its own faces and surfaces count; of a bare mesh the face is grown and fitted.
    on : LinkedMesh
        Of the file's shape.
    facet : int
        Which triangle.
    """
    if file.face_of is None or file.drawing is None:
        return band.grown(on, facet)
    faces = {face.number: face for face in file.drawing.faces}
    own = faces.get(int(file.face_of[facet]))
    if own is None:
        return band.grown(on, facet)
    same = [number for number, face in faces.items() if _one_surface(own, face)]
    rows = links.together(on, facet, np.isin(file.face_of, same))
    return _exact(own, on, rows)


def same_face(file: PartFile, stated: StatedFace, on: LinkedMesh, face: Fitted) -> str:
    """Why an order that states the face so would not find it; "" if it does."""
    try:
        other = found(on.body, stated, "the face")
    except OrderError as error:
        return f"An order cannot state it: {error.what}. {error.remedy}"
    if not np.isin(other.triangles, face.triangles).any():
        return "An order would find another face there."
    return ""


def questions(first: Fitted, second: Fitted | None) -> tuple[str, ...]:
    """What may be asked of one face, or of a face and another, in the order's words."""
    if first.kind not in STATED or (second is not None and second.kind not in STATED):
        return ()
    if second is None:
        return OF_PLANE if first.kind == "plane" else OF_ROUND
    cosine = abs(float(first.along @ second.along))
    sizes = _sizes(first, second, cosine)
    runs = (first.kind == "plane") == (second.kind == "plane")
    alike, upright = cosine > PARALLEL, cosine < np.sqrt(1 - PARALLEL**2)
    turned = ("parallelism",) if (alike if runs else upright) else ("angularity",)
    if upright if runs else alike:
        turned = ("perpendicularity",)
    return (*sizes, *turned, *TO_DATUM)


def _sizes(first: Fitted, second: Fitted, cosine: float) -> tuple[str, ...]:
    """Sizes between two faces; see `nominal`."""
    flat = (first.kind == "plane") + (second.kind == "plane")
    if flat == 1:
        return ("distance",) if cosine < np.sqrt(1 - PARALLEL**2) else ("angle",)
    if cosine < PARALLEL:
        return ("angle",)
    across = flat == 2 and float(first.along @ second.along) < 0
    return ("thickness", "distance") if across else ("distance",)


def _one_surface(one: ExactFace, other: ExactFace) -> bool:
    """Whether two faces of a file lie on the same surface and look the same way."""
    if one is other:
        return True
    if one.kind != other.kind or one.kind not in ("plane", "cylinder", "sphere"):
        return False
    between, way = np.subtract(other.at_mm, one.at_mm), _way(one)
    if one.kind == "plane":
        return float(_facing(one) @ _facing(other)) > ALIKE and abs(float(between @ way)) < SAME_MM
    aside = between - (between @ way) * way if one.kind == "cylinder" else between
    alike = one.kind == "sphere" or abs(float(way @ _way(other))) > ALIKE
    one_radius = abs(one.radius_mm - other.radius_mm) < SAME_RADIUS_MM and one.outward == other.outward
    return bool(alike and one_radius and np.linalg.norm(aside) < SAME_MM)


def _way(face: ExactFace) -> ndarray:
    along = np.asarray(face.along, dtype=float)
    return np.asarray(along / max(float(np.linalg.norm(along)), 1e-300))


def _facing(face: ExactFace) -> ndarray:
    return _way(face) if face.outward else -_way(face)


def _exact(face: ExactFace, on: LinkedMesh, rows: ndarray) -> Fitted:
    """The face with the file's own figures, and how far its facets' corners lie off."""
    points = np.unique(on.corners[rows].reshape(-1, 3), axis=0)
    at, along = np.asarray(face.at_mm, dtype=float), _way(face)
    if face.kind == "plane":
        flat = band.flat_face(on, rows)
        off = float(np.abs((points - at) @ along).max())
        return flat._replace(along=_facing(face), off=off)
    if face.kind not in ("cylinder", "sphere"):
        made = band.cone_of(on, rows) if face.kind == "cone" else None
        return made or Fitted(face.kind, at, along, 2 * face.radius_mm, 1.0, 0.0, rows)
    exact = RoundFace(face.kind, at, along, face.radius_mm, 0.0, face.outward, rows)
    off = float(np.abs(round_fits.off(exact, points)).max())
    if face.kind == "sphere":
        return Fitted("sphere", at, along, 2 * face.radius_mm, 1.0, off, rows)
    heights = (points - at) @ along
    middle = at + along * float(heights.min() + heights.max()) / 2
    kind = "pin" if face.outward else "bore"
    turn = turn_spanned(points, middle, along)
    return Fitted(kind, middle, along, 2 * face.radius_mm, turn, off, rows)
