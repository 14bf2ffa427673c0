"""Small holes in a surface, closed with as few triangles as their rim allows [mm]."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

FLAT = 1e-4  # a rim this flat, against its width, has one obvious patch
FLAT_AREA = 0.1  # of the surface: a larger missing face is not guessed at


def fill(body: Shape, most_mm: float) -> tuple[Shape, tuple[float, ...], int]:
    """The shape with holes closed that are small, or flat; how wide each was; and how many were left open.

    Parameters
    ----------
    body : Shape
        Consistently wound.
    most_mm : float
        Largest diagonal of a rim's bounding box that is closed whatever its form.
    """
    patches, widths, left = [], [], 0
    largest = FLAT_AREA * mesh.area(body)
    for rim in rims(body):
        points = body.vertices[rim]
        width = float(np.linalg.norm(np.ptp(points, axis=0)))
        if width > most_mm and not _is_flat(points, width, largest):
            left += 1
            continue
        patches.append(_patch(points, rim))
        widths.append(width)
    if not patches:
        return body, (), left
    triangles = np.concatenate([body.triangles, *patches])
    return mesh.shape(body.vertices, triangles), tuple(widths), left


def rims(body: Shape) -> list[ndarray]:
    """Loops of vertices round each hole, in the way the missing surface would walk them."""
    seams = mesh.edges(body.triangles)
    ragged = np.flatnonzero(seams.net)
    onward: defaultdict[int, list[int]] = defaultdict(list)
    for (lower, higher), net in zip(seams.ends[ragged].tolist(), seams.net[ragged].tolist(), strict=True):
        start, end = (higher, lower) if net > 0 else (lower, higher)
        onward[start] += [end] * abs(net)
    return [loop for start in sorted(onward) for loop in _loops(onward, start)]


def _loops(onward: dict[int, list[int]], start: int) -> list[ndarray]:
    """Walk from `start` until nothing is left there, cutting off a loop wherever the path meets itself."""
    loops, path, place = [], [start], {start: 0}
    while onward.get(path[-1]):
        vertex = onward[path[-1]].pop()
        if vertex in place:
            cut = place[vertex]
            loops.append(np.array(path[cut:]))
            for gone in path[cut + 1 :]:
                del place[gone]
            path = path[: cut + 1]
        else:
            place[vertex] = len(path)
            path.append(vertex)
    return loops


def _is_flat(points: ndarray, width: float, largest_mm2: float) -> bool:
    spokes = points - points.mean(axis=0)
    normal = _normal(spokes)
    size = float(np.linalg.norm(normal))
    if size / 2 > largest_mm2:
        return False
    heights = spokes @ normal / size if size > 0 else np.zeros(len(points))
    return bool(np.abs(heights).max() <= FLAT * width)


def _normal(spokes: ndarray) -> ndarray:
    """Normal of a loop, twice as long as its area (Newell)."""
    return np.asarray(np.cross(spokes, np.roll(spokes, -1, axis=0)).sum(axis=0))


def _patch(points: ndarray, rim: ndarray) -> ndarray:
    """Triangles that span a rim, int (n-2, 3)."""
    if len(rim) == 3:
        return rim[None, :]
    from manifold3d import triangulate

    spokes = points - points.mean(axis=0)
    normal = _normal(spokes)
    if np.linalg.norm(normal) < 1e-12:
        return _fan(rim)
    across = np.linalg.svd(normal[None, :])[2][1:]
    if np.dot(np.cross(across[0], across[1]), normal) < 0:
        across = across[::-1]
    flat = triangulate([np.ascontiguousarray(spokes @ across.T)])
    return rim[flat] if len(flat) == len(rim) - 2 else _fan(rim)


def _fan(rim: ndarray) -> ndarray:
    spokes = np.arange(1, len(rim) - 1)
    return np.asarray(rim[np.stack([np.zeros_like(spokes), spokes, spokes + 1], axis=1)])
