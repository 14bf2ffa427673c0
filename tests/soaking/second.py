"""A second look at what was accepted: volume, overlaps and walls by other means than the program's own.

Each bound is told: volumes of two readers within a length of 1e-5 of the size over the surface; volume by winding numbers
of random points within five standard errors; walls within 1e-6 of the size.
"""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import numpy as np
import trimesh
from numpy import ndarray

from sagger.files import step
from sagger.files.reading import Read, Wish
from sagger.geometry.surface import heal, mesh
from sagger.geometry.tree.bvh import tree
from sagger.geometry.wall import thickness
from sagger.goods.shape import Shape

POINTS, RAYS, TRIANGLES = 2000, 60, 3000
CHORD_MM = 0.05


def disagrees(kind: str, path: Path, accepted: Read) -> str:
    """What another method says otherwise; "" if nothing."""
    ours = sum(mesh.volume(body.shape) for body in accepted.bodies)
    if (fault := _volumes(kind, path, ours, accepted)) or kind == "STEP":
        return fault
    healed = heal.heal(accepted.bodies[0].shape)
    if healed.open_edges or healed.crossing or not healed.manifold or len(healed.shape.triangles) > TRIANGLES:
        return ""  # is told as such elsewhere, or too large for every triangle with every point
    return _overlaps(healed.shape) or _walls(healed.shape)


def _volumes(kind: str, path: Path, ours: float, accepted: Read) -> str:
    """A general library's volume of the same file; of STEP, that of a chord twice as fine."""
    if kind == "STEP":
        if any(len(mesh.open_edges(body.shape)) for body in accepted.bodies):
            return ""  # is told as open elsewhere
        again = step.read(path, Wish(chord_mm=CHORD_MM / 2))
        theirs = sum(mesh.volume(body.shape) for body in again.bodies)
        area = sum(mesh.area(body.shape) for body in again.bodies)
        bound = 2 * CHORD_MM * area
    else:
        if kind == "OBJ" and any(
            len(line.split()) > 4 for line in path.read_bytes().splitlines() if line[:2] == b"f "
        ):
            return ""  # corners of a polygon that is not flat may be joined in other ways
        read = _lib3mf if kind == "3MF" else _trimesh
        with contextlib.redirect_stderr(io.StringIO()), np.errstate(all="ignore"):
            try:
                other = read(path)
                theirs, area = float(other.volume), float(other.area)
                sound = other.is_watertight and np.isfinite(theirs)
            except Exception:  # the second reader is no reader of ours
                return ""
        if not sound:
            return ""  # an open surface has no volume but that of its rim and the origin
        bound = 1e-5 * area * float(np.ptp(other.vertices, axis=0).max()) + 1e-9
    return "" if abs(ours - theirs) <= bound else f"volume {ours:g}, by another reader {theirs:g}"


def _trimesh(path: Path) -> trimesh.Trimesh:
    return trimesh.load_mesh(path, process=False, skip_materials=True)


def _lib3mf(path: Path) -> trimesh.Trimesh:
    """All items of a package in one mesh, by the consortium's library."""
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromFile(str(path))
    flat = model.MergeToModel()
    parts, objects = [], flat.GetMeshObjects()
    while objects.MoveNext():
        solid = objects.GetCurrentMeshObject()
        corners = np.array([list(point.Coordinates) for point in solid.GetVertices()], dtype=float)
        parts.append(
            trimesh.Trimesh(
                corners, [list(face.Indices) for face in solid.GetTriangleIndices()], process=False
            )
        )
    return trimesh.util.concatenate(parts)


def _overlaps(shape: Shape) -> str:
    """Whether the surface winds once round what is inside and round nothing twice, and holds the volume that it says."""
    low, high = shape.vertices.min(axis=0), shape.vertices.max(axis=0)
    rng = np.random.default_rng(1)
    points = low + rng.random((POINTS, 3)) * (high - low)
    turns = _winding(shape, points)
    inside = np.abs(turns - 1) < 1e-3
    if (strange := ~inside & (np.abs(turns) > 1e-3)).mean() > 2e-3:
        return f"surface winds {turns[strange][0]:.3f} times round a point"
    share, box = inside.mean(), float(np.prod(high - low))
    doubt = 5 * box * np.sqrt(max(share * (1 - share), 1 / POINTS) / POINTS)
    told = mesh.volume(shape)
    return (
        ""
        if abs(share * box - told) <= doubt
        else f"volume {told:g}, by winding numbers {share * box:g} ± {doubt:g}"
    )


def _winding(shape: Shape, points: ndarray) -> ndarray:
    """Solid angle of all triangles from each point over that of a sphere (van Oosterom and Strackee 1983)."""
    corners, turns = mesh.corners(shape), np.zeros(len(points))
    for first in range(0, len(points), 200):
        a, b, c = (corners[None, :, k] - points[first : first + 200, None] for k in range(3))
        lengths = [np.linalg.norm(side, axis=2) for side in (a, b, c)]
        over = np.einsum("ptj,ptj->pt", a, np.cross(b, c))
        under = lengths[0] * lengths[1] * lengths[2] + sum(
            np.einsum("ptj,ptj->pt", one, other) * length for one, other, length in zip((a, b, c), (b, c, a), (lengths[2], lengths[0], lengths[1]), strict=True)
        )  # fmt: skip
        turns[first : first + 200] = np.arctan2(over, under).sum(axis=1) / (2 * np.pi)
    return turns


def _walls(shape: Shape) -> str:
    """Whether what lies straight across from points of the surface is what trying every triangle gives."""
    found = thickness.walls(shape, tree(shape))
    if not len(found.distance):
        return ""
    chosen = np.unique(
        np.append(np.linspace(0, len(found.distance) - 1, RAYS).astype(int), found.distance.argmin())
    )
    size = float(mesh.extent(shape).max())
    for k in chosen:
        nearest = _first(shape, found.points[k], -found.normals[k])
        if abs(nearest - found.distance[k]) > 1e-6 * size + 1e-9:
            return f"a wall of {found.distance[k]:g}, trying every triangle gives {nearest:g}"
    return ""


def _first(shape: Shape, start: ndarray, way: ndarray) -> float:
    """Distance along a ray to the first triangle behind its start, all of them tried (Möller and Trumbore 1997)."""
    corners = mesh.corners(shape)
    one, other = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    p = np.cross(way, other)
    det = np.einsum("tj,tj->t", one, p)
    with np.errstate(all="ignore"):
        s = start - corners[:, 0]
        u = np.einsum("tj,tj->t", s, p) / det
        q = np.cross(s, one)
        v = q @ way / det
        t = np.einsum("tj,tj->t", other, q) / det
    size = float(mesh.extent(shape).max())
    hit = (det != 0) & (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1 + 1e-9) & (t > 1e-12 * size)
    return float(t[hit].min()) if hit.any() else np.inf
