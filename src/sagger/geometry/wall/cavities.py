"""Hollows of a part from which a ball of given size cannot roll out [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy import ndimage

from sagger.compiled import checked
from sagger.geometry.surface.shells import Shells
from sagger.geometry.wall import distance
from sagger.goods.shape import Shape

CELLS = 6_000_000  # in the grid; a large part gets larger cells
PER_BALL = 6  # cells across the ball, where the part is small enough


class Hollow(NamedTuple):
    """One hollow."""

    volume_mm3: float
    at_mm: ndarray  # float64 (3,): a place inside it


class CubeGrid(NamedTuple):
    """Cubes over a part; True where their middle lies inside."""

    solid: ndarray  # bool (nx, ny, nz)
    low: ndarray  # float64 (3,): middle of cube (0, 0, 0) [mm]
    pitch_mm: float


def sealed(body: Shape, shells: Shells) -> list[Hollow]:
    """Hollows without any opening: shells at odd nesting depth, less the solids in them. Exact."""
    hollows = []
    for index in np.flatnonzero(shells.depth % 2 == 1):
        inside = np.flatnonzero(shells.parent == index)
        volume = abs(float(shells.volume[index])) - float(np.abs(shells.volume[inside]).sum())
        points = body.vertices[body.triangles[shells.of_triangle == index].ravel()]
        hollows.append(Hollow(volume, (points.min(axis=0) + points.max(axis=0)) / 2))
    return hollows


class Flooded(NamedTuple):
    """The empty space around and in a part, flooded from outside by a ball."""

    grid: CubeGrid
    empty: ndarray  # bool: cells joined to the outside by air, however narrow
    apart: ndarray  # float (nx, ny, nz): distance to the nearest solid cell [cells]
    reach: float  # radius of the ball [cells]
    rooms: ndarray  # int: label of each place where the ball's middle may be; 0 = nowhere
    open_air: int  # label of the one outside; 0 if there is none


def flooded(body: Shape, ball_mm: float) -> Flooded:
    """Where a ball finds room around and in a part, and which of these rooms is the outside.

    Parameters
    ----------
    body : Shape
        Closed, facing outward.
    ball_mm : float
        Diameter of the ball.

    Source
    ------
    Opening of the empty space by a ball, then flood from outside.
    """
    grid = _gridded(body, ball_mm)
    reach = max(1.0, ball_mm / 2 / grid.pitch_mm)
    outside, _ = ndimage.label(~grid.solid)
    empty = outside == outside[0, 0, 0]
    apart = np.sqrt(distance.squared(grid.solid), dtype=np.float32)
    rooms, _ = ndimage.label(empty & (apart >= reach - 1e-6))
    return Flooded(grid, empty, apart, reach, rooms, int(rooms[0, 0, 0]))


def narrow(flooded: Flooded) -> list[Hollow]:
    """Hollows that the ball does not leave, largest first.

    Only those in which the ball itself has room; slots narrower than it are gaps, not hollows. Openings are
    judged to about one cell. Sealed hollows are left out.
    """
    hollows = [
        _hollow(flooded, label, place)
        for label, place in enumerate(ndimage.find_objects(flooded.rooms), start=1)
        if label != flooded.open_air
    ]
    return sorted(hollows, key=lambda hollow: -hollow.volume_mm3)


def _hollow(flooded: Flooded, label: int, place: tuple[slice, ...]) -> Hollow:
    """The room of a ball's middle, grown back to all that the ball can touch."""
    grid, wide = flooded.grid, int(np.ceil(flooded.reach)) + 1
    window = tuple(slice(max(0, span.start - wide), span.stop + wide) for span in place)
    middles = flooded.rooms[window] == label
    cells = ndimage.binary_dilation(middles, _ball(wide - 0.5)) & flooded.empty[window]
    inside = np.argwhere(middles)
    nearest = inside[np.argmin(((inside - inside.mean(axis=0)) ** 2).sum(axis=1))]
    at = grid.low + grid.pitch_mm * (nearest + [span.start for span in window])
    return Hollow(float(np.count_nonzero(cells)) * grid.pitch_mm**3, at)


def _ball(radius: float) -> ndarray:
    """Cells no farther than `radius` from the middle one."""
    span = np.arange(-int(radius), int(radius) + 1)
    x, y, z = np.meshgrid(span, span, span, indexing="ij")
    return np.asarray(x * x + y * y + z * z <= radius * radius)


def _gridded(body: Shape, ball_mm: float) -> CubeGrid:
    """The part in cubes, with enough air around it for the ball to pass."""
    points = body.vertices[body.triangles].reshape(-1, 3)
    low, size = points.min(axis=0), np.ptp(points, axis=0) + 2 * ball_mm
    pitch = max(ball_mm / PER_BALL, float((size.prod() / CELLS) ** (1 / 3)))
    rim = int(np.ceil(ball_mm / 2 / pitch)) + 2
    counts = np.ceil(np.ptp(points, axis=0) / pitch).astype(int) + 2 * rim
    # An odd offset keeps the cubes' middles off faces that lie at round figures.
    start = low - (rim - 0.5) * pitch + pitch * np.array([1.9e-4, 2.3e-4, 3.1e-4])
    change = np.zeros(tuple(counts), dtype=np.int8)
    _enter((body.vertices - start) / pitch, body.triangles, change)
    return CubeGrid(np.cumsum(change, axis=2, dtype=np.int8) > 0, start, pitch)


@checked
def _enter(vertices: ndarray, triangles: ndarray, change: ndarray) -> None:
    """Mark, in each column along z, where the surface is entered (+1) and left (-1).

    vertices in cells; the middle of cell (i, j, k) has whole coordinates. Each edge is looked at from its
    lower vertex, so neighbours agree to the last bit about which side a column is on.
    """
    for t in range(len(triangles)):
        a, b, c = triangles[t]
        x0 = max(0, int(np.ceil(min(vertices[a, 0], vertices[b, 0], vertices[c, 0]))))
        x1 = min(change.shape[0] - 1, int(np.floor(max(vertices[a, 0], vertices[b, 0], vertices[c, 0]))))
        y0 = max(0, int(np.ceil(min(vertices[a, 1], vertices[b, 1], vertices[c, 1]))))
        y1 = min(change.shape[1] - 1, int(np.floor(max(vertices[a, 1], vertices[b, 1], vertices[c, 1]))))
        for i in range(x0, x1 + 1):
            for j in range(y0, y1 + 1):
                u = _side(vertices, b, c, i, j)
                v = _side(vertices, c, a, i, j)
                w = _side(vertices, a, b, i, j)
                up = u > 0 and v > 0 and w > 0
                if up or (u < 0 and v < 0 and w < 0):
                    z = (u * vertices[a, 2] + v * vertices[b, 2] + w * vertices[c, 2]) / (u + v + w)
                    k = min(max(0, int(np.ceil(z))), change.shape[2] - 1)
                    change[i, j, k] += -1 if up else 1


@checked
def _side(vertices: ndarray, start: int, end: int, i: int, j: int) -> float:
    """Twice the area between an edge and a column, seen along z; positive if the column is to the left."""
    a, b, sign = (start, end, 1.0) if start < end else (end, start, -1.0)
    across = (vertices[b, 0] - vertices[a, 0]) * (j - vertices[a, 1])
    along = (vertices[b, 1] - vertices[a, 1]) * (i - vertices[a, 0])
    return sign * float(across - along)
