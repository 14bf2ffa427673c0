"""Shapes whose size is known, and a cell, for the tests of files, meshes and intake."""

import manifold3d
import numpy as np
import trimesh

from sagger import cards
from sagger.geometry.surface import mesh
from sagger.goods.order import CardNames, Request, Tolerance
from sagger.goods.shape import PartFile


def of(solid):
    """A `Shape` of a trimesh mesh or a manifold."""
    if isinstance(solid, manifold3d.Manifold):
        out = solid.to_mesh64()
        return mesh.welded(mesh.shape(out.vert_properties[:, :3], out.tri_verts))
    return mesh.shape(solid.vertices, solid.faces)


def box(*size, at=(0.0, 0.0, 0.0)):
    return mesh.shape(trimesh.creation.box(size).vertices + at, trimesh.creation.box(size).faces)


def sphere(radius=10.0, fineness=4):
    return of(trimesh.creation.icosphere(fineness, radius))


def without(shape, *rows):
    return mesh.shape(shape.vertices, np.delete(shape.triangles, rows, axis=0))


def turned(shape, rows):
    triangles = shape.triangles.copy()
    triangles[rows] = triangles[rows][:, ::-1]
    return mesh.shape(shape.vertices, triangles)


def file(shape, unit_from="order"):
    return PartFile(name="x.stl", digest="0", format="STL", unit="mm", unit_from=unit_from, shape=shape)


def request(**given):
    plain = {
        "name": "x",
        "file": "x.stl",
        "unit": "mm",
        "quantity": 1,
        "tolerance": Tolerance(kind="mm", value=0.2),
    }
    return Request(**(plain | given))


def cell(**named):
    names = {field: getattr(cards.DEFAULTS, field) for field in CardNames.__slots__} | named
    return cards.cell(CardNames(**names))
