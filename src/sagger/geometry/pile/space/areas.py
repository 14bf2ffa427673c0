"""How much of a level plane lies inside a closed mesh."""

from __future__ import annotations

import numpy as np
from numpy import ndarray


def section_areas(vertices: ndarray, triangles: ndarray, heights: ndarray) -> ndarray:
    """Area of the section at each height, float64 (n,) [mm2].

    Parameters
    ----------
    vertices : ndarray
        float64 (v, 3) [mm].
    triangles : ndarray
        int (t, 3), outward by the right hand.
    heights : ndarray
        float64 (n,), rising [mm].

    A level face belongs to what lies above it.

    Source
    ------
    Green's theorem: half the sum of x dy - y dx over the segments that the plane cuts out of the triangles.
    """
    at = vertices[triangles]
    normals = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    at = np.take_along_axis(at, np.argsort(at[:, :, 2], axis=1)[:, :, None], axis=1)
    first, last = (np.searchsorted(heights, at[:, corner, 2], side="left") for corner in (0, 2))
    counts = last - first
    which = np.repeat(np.arange(len(at)), counts)
    level = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + first[which]
    low, middle, high = at[which].transpose(1, 0, 2)
    height = heights[level]
    below = height < middle[:, 2]
    one = _between(low, high, height)
    two = np.where(below[:, None], _between(low, middle, height), _between(middle, high, height))
    ahead = (two[:, 1] - one[:, 1]) * normals[which, 0] - (two[:, 0] - one[:, 0]) * normals[which, 1]
    doubled = np.sign(ahead) * (one[:, 0] * two[:, 1] - two[:, 0] * one[:, 1])
    return np.bincount(level, 0.5 * doubled, minlength=len(heights))


def _between(low: ndarray, high: ndarray, height: ndarray) -> ndarray:
    """Where edges (n, 3) to (n, 3) meet heights (n,), float64 (n, 2)."""
    rise = high[:, 2] - low[:, 2]
    share = (height - low[:, 2]) / np.where(rise > 0, rise, 1.0)
    return np.asarray(low[:, :2] + share[:, None] * (high[:, :2] - low[:, :2]))
