"""Solids to pixels without a graphics card: parallel projection and a depth buffer.

Depth grows towards the eye. Pixels count from the upper left corner.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.goods.good import good

NOBODY = -1
_LIGHT = np.array([-0.42, 0.62, 0.66])  # in the picture's own axes: from the upper left, in front


@good
class Camera:
    """`turn @ point * scale + shift` gives column, row (downwards) and depth, in pixels."""

    turn: ndarray  # float64 (3, 3): rows = picture's right, up and towards the eye, in box axes
    scale: float  # pixels per mm
    shift: tuple[float, float]  # column and row of the origin
    columns: int
    rows: int


@good
class Film:
    """What a camera saw."""

    depth: ndarray  # float32 (rows, columns); -inf where nothing was seen
    owner: ndarray  # int32 (rows, columns): which solid; -1 where nothing was seen
    shade: ndarray  # float32 (rows, columns): 0 dark to 1 bright


class Buffers(NamedTuple):
    """What is drawn into, see `Film`."""

    depth: ndarray
    owner: ndarray
    shade: ndarray


def camera(
    corners: ndarray, azimuth_deg: float, elevation_deg: float, size: tuple[int, int], margin: int
) -> Camera:
    """A camera that holds all `corners` [mm] in a picture of `size` (columns, most rows).

    There are as many rows as are needed at that width. `margin` pixels stay free left and right, half of
    that above and below.

    Azimuth says where the eye stands, counted from x towards y: at -90 it stands in front, at the box's y = 0
    side. Elevation 90 with azimuth -90 looks straight down with x to the right and y up.
    """
    a, e = math.radians(azimuth_deg), math.radians(elevation_deg)
    right = np.array([-math.sin(a), math.cos(a), 0.0])
    eye = np.array([math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)])
    turn = np.array([right, np.cross(eye, right), eye])
    seen = np.asarray(corners, dtype=float) @ turn.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    columns, rows = size
    scale = (columns - 2 * margin) / (high[0] - low[0])
    scale = min(scale, (rows - margin) / (high[1] - low[1]))
    rows = min(rows, 2 * math.ceil(((high[1] - low[1]) * scale + margin) / 2))
    middle = (low + high) / 2
    shift = (columns / 2 - scale * middle[0], rows / 2 + scale * middle[1])
    return Camera(turn=turn, scale=float(scale), shift=shift, columns=columns, rows=rows)


def project(eye: Camera, points: ndarray) -> ndarray:
    """Column, row and depth of points, float64 (n, 3), from points [mm] of shape (n, 3)."""
    seen = np.asarray(points, dtype=float) @ eye.turn.T * eye.scale
    return np.column_stack((seen[:, 0] + eye.shift[0], eye.shift[1] - seen[:, 1], seen[:, 2]))


def expose(eye: Camera, solids: list[tuple[ndarray, ndarray]]) -> Film:
    """What the camera sees of closed solids, each (vertices [mm] (n, 3), triangles (m, 3))."""
    size = (eye.rows, eye.columns)
    film = Buffers(
        np.full(size, -np.inf, np.float32), np.full(size, NOBODY, np.int32), np.zeros(size, np.float32)
    )
    light = _LIGHT / np.linalg.norm(_LIGHT)
    for number, (vertices, triangles) in enumerate(solids):
        _fill(project(eye, vertices), np.asarray(triangles), light, number, film)
    return Film(depth=film.depth, owner=film.owner, shade=film.shade)


@checked
def _fill(points, triangles, light, number, film):  # type: ignore[no-untyped-def]
    """Draw front-facing triangles into the three buffers; the nearer one stays."""
    depth, owner, shade = film
    rows, columns = depth.shape
    for t in range(triangles.shape[0]):
        a, b, c = points[triangles[t, 0]], points[triangles[t, 1]], points[triangles[t, 2]]
        # rows run downwards: a face that looks at the eye turns clockwise here
        twice = (c[0] - a[0]) * (b[1] - a[1]) - (b[0] - a[0]) * (c[1] - a[1])
        if twice <= 0.0:
            continue
        left = max(0, math.ceil(min(a[0], b[0], c[0]) - 0.5))
        right = min(columns - 1, math.floor(max(a[0], b[0], c[0]) - 0.5))
        top = max(0, math.ceil(min(a[1], b[1], c[1]) - 0.5))
        bottom = min(rows - 1, math.floor(max(a[1], b[1], c[1]) - 0.5))
        if left > right or top > bottom:
            continue
        # slopes of depth per column and per row
        across = ((c[2] - a[2]) * (b[1] - a[1]) - (b[2] - a[2]) * (c[1] - a[1])) / twice
        down = ((b[2] - a[2]) * (c[0] - a[0]) - (c[2] - a[2]) * (b[0] - a[0])) / twice
        length = math.sqrt(across * across + down * down + 1.0)
        cosine = (-across * light[0] + down * light[1] + light[2]) / length
        bright = 0.38 + 0.62 * max(0.0, cosine)
        for row in range(top, bottom + 1):
            y = row + 0.5
            for column in range(left, right + 1):
                x = column + 0.5
                u = (b[1] - a[1]) * (x - a[0]) - (b[0] - a[0]) * (y - a[1])
                v = (c[1] - b[1]) * (x - b[0]) - (c[0] - b[0]) * (y - b[1])
                w = (a[1] - c[1]) * (x - c[0]) - (a[0] - c[0]) * (y - c[1])
                if u < 0.0 or v < 0.0 or w < 0.0:
                    continue
                z = a[2] + across * (x - a[0]) + down * (y - a[1])
                if z > depth[row, column]:
                    depth[row, column] = z
                    owner[row, column] = number
                    shade[row, column] = bright
