"""Shapes with fewer triangles, for looking at many of them."""

from __future__ import annotations

import numpy as np

from sagger.goods.shape import Shape

_NEARLY = 1.3  # times the triangles asked for is good enough
_ROUNDS = 12  # of halving the span in which the right cell lies


def coarser(shape: Shape, triangles: int) -> Shape:
    """The shape with about `triangles` triangles; itself if it has no more.

    For pictures only: a coarser shape need not be closed.

    Parameters
    ----------
    shape : Shape
        Any triangles.
    triangles : int
        How many should be left. Edges are drawn together where that moves the surface least; slivers can
        stop that, then corners that share a cell of a grid become one.

    Returns
    -------
    Shape
        Vertices to single precision.

    Source
    ------
    Quadric error of a collapsed edge: Garland and Heckbert, SIGGRAPH 1997, in fast-simplification.
    Corners by cells: Rossignac and Borrel, Modeling in Computer Graphics (1993), 455.
    """
    if len(shape.triangles) <= triangles:
        return shape
    import fast_simplification

    vertices, faces = fast_simplification.simplify(
        np.array(shape.vertices, np.float32),
        np.array(shape.triangles, np.int32),  # a copy: the library refuses arrays that are read-only
        target_count=triangles,
    )
    drawn = Shape(vertices=np.asarray(vertices, np.float64), triangles=np.asarray(faces, np.int32))
    return drawn if len(faces) <= _NEARLY * triangles else _clustered(drawn, triangles)


def _clustered(shape: Shape, triangles: int) -> Shape:
    """The finest grid of cells whose shared corners leave no more triangles than asked for."""
    low, high = 0.0, float(np.ptp(shape.vertices, axis=0).max())
    best = _on_grid(shape, high)
    for _ in range(_ROUNDS):
        middle = (low + high) / 2
        tried = _on_grid(shape, middle)
        if len(tried.triangles) > triangles:
            low = middle
        else:
            high, best = middle, tried
    return best


def _on_grid(shape: Shape, cell: float) -> Shape:
    """Corners of one cell drawn into the outermost of them; triangles that collapse are left out."""
    low, size = shape.vertices.min(axis=0), np.ptp(shape.vertices, axis=0)
    cells = np.maximum(2, np.ceil(size / cell)).astype(np.int64)  # two at least, or plates would vanish
    places = np.minimum((shape.vertices - low) / np.where(size > 0, size, 1.0) * cells, cells - 1).astype(int)
    _, member = np.unique(places, axis=0, return_inverse=True)
    inward = np.lexsort((-np.linalg.norm(shape.vertices - low - size / 2, axis=1), member))
    first = inward[np.unique(member[inward], return_index=True)[1]]
    corners = member[shape.triangles]
    kept = np.all(corners != np.roll(corners, 1, axis=1), axis=1)
    return Shape(vertices=shape.vertices[first], triangles=corners[kept].astype(np.int32))
