"""Exact squared distance in a grid of cubes, in time that goes with their number."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy import ndarray

FAR = 2**28  # of a cell when there is nothing to be near to; more than any grid's diagonal squared


def squared(near: ndarray) -> ndarray:
    """Squared distance of each cell's middle to that of the nearest True cell, int32 [cells2].

    Parameters
    ----------
    near : ndarray
        bool (nx, ny, nz)

    Source
    ------
    Felzenszwalb and Huttenlocher, Theory of Computing 8 (2012) 415 (memory): lower envelope of parabolas,
    axis by axis.
    """
    out = np.empty(near.shape, np.int32)
    _along_last(np.ascontiguousarray(near), out)
    _along_rows(out)
    _along_rows(out.transpose(1, 0, 2))
    return out


@njit(cache=True, nogil=True)
def _along_last(near: Any, out: Any) -> None:
    """Distance along z alone: once forth, once back."""
    nx, ny, nz = near.shape
    for i in range(nx):
        for j in range(ny):
            steps = FAR
            for k in range(nz):
                steps = 0 if near[i, j, k] else steps + 1
                out[i, j, k] = min(steps, 16384)
            steps = FAR
            for k in range(nz - 1, -1, -1):
                steps = 0 if near[i, j, k] else steps + 1
                least = min(out[i, j, k], steps)
                out[i, j, k] = least * least if least < 16384 else FAR


@njit(cache=True, nogil=True)
def _along_rows(out: Any) -> None:
    """Lower envelope of parabolas along the middle axis, in place."""
    count, length, width = out.shape
    foot, begin = np.empty(length, np.int64), np.empty(length + 1)
    line = np.empty(length, np.int64)
    for i in range(count):
        for k in range(width):
            last = -1
            for q in range(length):
                line[q] = out[i, q, k]
                if line[q] >= FAR:
                    continue
                at = -np.inf
                while last >= 0:
                    p = foot[last]
                    at = (line[q] + q * q - line[p] - p * p) / (2.0 * (q - p))
                    if at > begin[last]:
                        break
                    last -= 1
                last += 1
                foot[last] = q
                begin[last] = at if last > 0 else -np.inf
            if last < 0:
                continue
            begin[last + 1] = np.inf
            piece = 0
            for q in range(length):
                while begin[piece + 1] < q:
                    piece += 1
                p = foot[piece]
                out[i, q, k] = (q - p) * (q - p) + line[p]
