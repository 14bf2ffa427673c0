"""Binary glTF as the STEP library hands it over: triangles by body, each knowing its face."""

from __future__ import annotations

import json
from collections import Counter
from typing import NamedTuple, TypedDict

import numpy as np
from numpy import ndarray

MM = 1000.0  # glTF is in metres
EXTENSION = "TM_brep_faces"
DTYPES = {5121: "<u1", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
WIDTHS = {"SCALAR": 1, "VEC3": 3}


class Surface(NamedTuple):
    """What the library says of one face."""

    kind: str  # "plane", "cylinder", "cone", "sphere", "torus"; "" for the rest
    radius_mm: float  # 0 where there is none


class Solid(NamedTuple):
    """One mesh of the file, in its own axes."""

    name: str
    copies: int  # how often it is placed
    vertices: ndarray  # float64 (n, 3) [mm]
    triangles: ndarray  # int64 (m, 3)
    face: ndarray  # int64 (m,): index into `surfaces` of each triangle
    surfaces: tuple[Surface, ...]


class _Accessor(TypedDict, total=False):
    bufferView: int
    byteOffset: int
    componentType: int
    count: int
    type: str


class _View(TypedDict, total=False):
    byteOffset: int
    byteStride: int


class _Face(TypedDict, total=False):
    type: str
    radius: float


class _Faces(TypedDict):
    faceIndices: int
    faces: list[_Face | None]


class _Primitive(TypedDict):
    attributes: dict[str, int]
    indices: int
    mode: int
    extensions: dict[str, _Faces]


class _Mesh(TypedDict, total=False):
    name: str
    primitives: list[_Primitive]


class _Node(TypedDict, total=False):
    mesh: int
    children: list[int]


class _Document(TypedDict, total=False):
    accessors: list[_Accessor]
    bufferViews: list[_View]
    meshes: list[_Mesh]
    nodes: list[_Node]
    scenes: list[dict[str, list[int]]]


def solids(glb: bytes) -> list[Solid]:
    """All meshes with triangles, in the order of the file; lines and points are left out."""
    length = int.from_bytes(glb[12:16], "little")
    document: _Document = json.loads(glb[20 : 20 + length])
    binary = glb[20 + length + 8 :]
    copies = _placed(document)
    made = []
    for number, mesh in enumerate(document.get("meshes", [])):
        flat = [primitive for primitive in mesh["primitives"] if primitive.get("mode", 4) == 4]
        if flat and copies[number]:
            made.append(_solid(document, binary, mesh.get("name", ""), copies[number], flat))
    return _counted(made)


def _counted(made: list[Solid]) -> list[Solid]:
    """Each solid once: a product placed twice comes as two meshes of one name and the same triangles."""
    by_shape: dict[tuple[str, bytes, bytes], Solid] = {}
    for solid in made:
        key = (solid.name, solid.vertices.tobytes(), solid.triangles.tobytes())
        before = by_shape[key].copies if key in by_shape else 0
        by_shape[key] = solid._replace(copies=before + solid.copies)
    return list(by_shape.values())


def _placed(document: _Document) -> Counter[int]:
    """How often each mesh is placed in the scene."""
    nodes = document.get("nodes", [])
    count: Counter[int] = Counter()
    ahead = [number for scene in document.get("scenes", []) for number in scene.get("nodes", [])]
    while ahead:
        node = nodes[ahead.pop()]
        if "mesh" in node:
            count[node["mesh"]] += 1
        ahead += node.get("children", [])
    return count


def _solid(document: _Document, binary: bytes, name: str, copies: int, flat: list[_Primitive]) -> Solid:
    points, corners, owners, surfaces = [], [], [], list[Surface]()
    ahead = 0
    for primitive in flat:
        vertices = _array(document, binary, primitive["attributes"]["POSITION"])
        triangles = _array(document, binary, primitive["indices"]).astype(np.int64).reshape(-1, 3)
        faces = primitive.get("extensions", {}).get(EXTENSION)
        own = np.full(len(triangles), -1, dtype=np.int64)
        if faces is not None:
            own = _array(document, binary, faces["faceIndices"]).astype(np.int64).ravel() + len(surfaces)
            surfaces += [_surface(face) for face in faces["faces"]]
        points.append(vertices.astype(float) * MM)
        corners.append(triangles + ahead)
        owners.append(own)
        ahead += len(vertices)
    return Solid(
        name, copies, np.concatenate(points), np.concatenate(corners), np.concatenate(owners), tuple(surfaces)
    )


def _surface(face: _Face | None) -> Surface:
    if face is None:
        return Surface("", 0.0)
    return Surface(face.get("type", ""), float(face.get("radius", 0.0)) * MM)


def _array(document: _Document, binary: bytes, number: int) -> ndarray:
    """The numbers of an accessor, one row for each element."""
    accessor = document["accessors"][number]
    view = document["bufferViews"][accessor["bufferView"]]
    width, dtype = WIDTHS[accessor["type"]], np.dtype(DTYPES[accessor["componentType"]])
    start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    stride = view.get("byteStride", width * dtype.itemsize)
    shape = (accessor["count"], width)
    return np.ndarray(shape, dtype, binary, start, (stride, dtype.itemsize))
