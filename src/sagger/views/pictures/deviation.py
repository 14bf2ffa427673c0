"""A part as it comes out of the furnace, point by point: how far off, how dense, how much it was pulled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh as mesh_of
from sagger.goods.plain import Plain, Table
from sagger.goods.sag import Misfit, Sag
from sagger.goods.shape import Shape
from sagger.views.pictures import mesh

LEAST_MM = 0.001  # a scale of deviations is no shorter: below that the colours would show noise


class MapView(NamedTuple):
    """One picture of a map."""

    title: str
    words: str  # how far off it is
    off_mm: ndarray  # float64 (n, 3): vertices less nominal
    values: ndarray  # float64 (m, 3): at the corners of each triangle


class Map(NamedTuple):
    """A quantity over the surface, in one picture or two of the same scale."""

    name: str
    unit: str
    about: float | None  # the middle of the scale, if it has one
    ends: tuple[float, float]
    views: tuple[MapView, ...]


def maps(sag: Sag) -> tuple[Map, ...]:
    """What is known over the surface of a part that was followed through the furnace; nothing if it was not.

    Deviations are along the normal of each nominal triangle: above 0 the part stands out, below it lacks.
    """
    out = sag.finished
    if out is None:
        return ()
    helped = sag.after is not None
    after = np.asarray(out.surface.vertices) - out.nominal
    views = []
    if sag.untreated_mm is not None and sag.before is not None:
        views.append(_deviation("printed at even oversize", sag.before, sag.untreated_mm, _nominal(sag)))
    if helped:
        views.append(_deviation("pre-deformed", out.misfit, after, _nominal(sag)))
    if not views:
        return ()
    most = max(LEAST_MM, *(float(np.abs(view.values).max()) for view in views))
    known = [Map("deviation from nominal", "mm", 0.0, (-most, most), tuple(views))]
    if helped:  # else what was checked is not what is printed
        corners = out.surface.triangles
        dense = MapView("pre-deformed", "", after, 100 * out.density[corners])
        pulled = MapView("pre-deformed", "", after, out.tension[corners])
        known.append(_alone("relative density", "%", dense))
        known.append(_alone("largest tension on the way", "times the sintering stress", pulled))
    return tuple(known)


def document(sag: Sag) -> Table | None:
    """What a page says of the maps; None if there are none."""
    known = maps(sag)
    if not known:
        return None
    vertices = _nominal(sag).vertices
    drawn: list[Plain] = [_map(quantity) for quantity in known]
    return {
        "low": vertices.min(axis=0).tolist(),
        "high": vertices.max(axis=0).tolist(),
        "method": sag.method,
        "maps": drawn,
    }


def _map(quantity: Map) -> Table:
    return {
        "name": quantity.name,
        "unit": quantity.unit,
        "about": quantity.about,
        "ends": list(quantity.ends),
        "views": [{"title": view.title, "words": view.words} for view in quantity.views],
    }


def numbers(sag: Sag) -> bytes:
    """The nominal surface, see `views.mesh`; then float32 for each view: (n, 3) off [mm], (m, 3) values."""
    fields = [
        part.astype("<f4").tobytes()
        for quantity in maps(sag)
        for view in quantity.views
        for part in (view.off_mm, view.values)
    ]
    return mesh.mesh(_nominal(sag)) + b"".join(fields)


def _nominal(sag: Sag) -> Shape:
    assert sag.finished is not None
    return Shape(vertices=np.asarray(sag.finished.nominal), triangles=sag.finished.surface.triangles)


def _deviation(title: str, misfit: Misfit, off: ndarray, nominal: Shape) -> MapView:
    words = f"up to {misfit.most_mm:.3f} mm off in any direction, rms {misfit.rms_mm:.3f} mm"
    across = mesh_of.area_vectors(nominal)
    across = across / np.maximum(np.linalg.norm(across, axis=1), 1e-300)[:, None]
    return MapView(title, words, off, np.einsum("tcj,tj->tc", off[nominal.triangles], across))


def _alone(name: str, unit: str, view: MapView) -> Map:
    low, high = float(view.values.min()), float(view.values.max())
    return Map(name, unit, None, (low, max(high, low + 1e-9)), (view,))
