"""Tables of the eight-node brick: corner a has bits (x, y, z) = (a >> 2, a >> 1, a) & 1."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

BITS = np.array([[(a >> 2) & 1, (a >> 1) & 1, a & 1] for a in range(8)])
SIGNS = 2.0 * BITS - 1
GAUSS = SIGNS / np.sqrt(3)  # points at which a full cell is integrated
CENTRE = SIGNS / 8  # gradients of the shape functions in the middle


def weights(place: ndarray) -> ndarray:
    """Shape functions at places (…, 3) that run from -1 to 1: float64 (…, 8)."""
    return np.asarray(np.prod(1 + SIGNS * place[..., None, :], axis=-1) / 8)


# CHILD[o, a, b]: share of the coarse cell's corner b in corner a of its octant o
CHILD = weights(BITS[:, None, :] + BITS[None, :, :] - 1.0)


def points(mean: ndarray, spread: ndarray) -> ndarray:
    """Eight points of equal weight with this centre (m, 3) and covariance (m, 3, 3): (m, 8, 3).

    A full cell gets the Gauss points. A covariance without extent along some way would leave the brick
    without stiffness there, so a thousandth of the cell's edge is the least.
    """
    values, axes = np.linalg.eigh(spread)
    reach = np.sqrt(np.maximum(values, 1e-6))
    return np.asarray(mean[:, None, :] + np.einsum("mik,mk,qk->mqi", axes, reach, SIGNS))
