"""Stiffness of one brick with eight weighted points: bends without locking, and at any Poisson's ratio.

Eight nodes and nine inner modes 1 - xi^2 (incompatible modes, Jacobian of the centre, weighted mean taken off
so that the patch test holds with any points and weights). Of the bulk stiffness, `local` acts on the full
strain and the rest on the cell's mean dilatation.

Source: incompatible modes after Taylor, Beresford and Wilson, Int. J. Num. Meth. Eng. 10 (1976) 1211; mean
dilatation after Hughes, ibid. 15 (1980) 1413 (both from memory); cut cells derived.
"""

from __future__ import annotations

from math import sqrt
from typing import Any, NamedTuple

import numpy as np

from sagger.physics.solid.brick import CENTRE, SIGNS
from sagger.physics.solid.kernel import kernel

SOFT = 1e-6  # of the modes' mean stiffness, added to each: keeps the elimination regular


class Scratch(NamedTuple):
    """What one brick is worked out in."""

    corners: np.ndarray  # (8, 3) [m]
    local: np.ndarray  # (8, 3) derivatives of shape functions in the brick's own coordinates
    slopes: np.ndarray  # (11, 3, 8): gradients of nodes, then modes, at the points [1/m]
    weight: np.ndarray  # (8,) volume that each point stands for [m3]
    mean: np.ndarray  # (8, 3): sums of weight times gradient [m2]
    stiff: np.ndarray  # (33, 33): nodes, then modes; right of the diagonal, and all of [:24, :24] when done
    cross: np.ndarray  # (9, 24)
    inner: np.ndarray  # (9, 9)
    half: np.ndarray  # (24, 24)
    other: np.ndarray  # (24, 24)


@kernel
def scratch() -> Any:
    return Scratch(
        np.empty((8, 3)),
        np.empty((8, 3)),
        np.empty((11, 3, 8)),
        np.empty(8),
        np.empty((8, 3)),
        np.empty((33, 33)),
        np.empty((9, 24)),
        np.empty((9, 9)),
        np.empty((24, 24)),
        np.empty((24, 24)),
    )


@kernel
def stiffness(points: Any, share: float, shear: float, bulk: float, local: float, s: Any) -> float:
    """Fill `stiff[:24, :24]` of the brick at `corners` and the sums `mean`; its volume of material [m3]."""
    volume = _slopes(points, share, s)
    _modes(points, share, volume, s)
    _products(s.slopes, s.weight, shear, local - 2 * shear / 3, s.stiff)
    _swell((bulk - local) / volume, s.mean, s.stiff)
    _condense(s.stiff, s.cross, s.inner)
    return volume


@kernel
def jacobian(local: Any, corners: Any) -> Any:
    """d x_i / d xi_k as nine numbers, row by row in k."""
    j00, j01, j02, j10, j11, j12, j20, j21, j22 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for a in range(8):
        x, y, z = corners[a, 0], corners[a, 1], corners[a, 2]
        d0, d1, d2 = local[a, 0], local[a, 1], local[a, 2]
        j00 += d0 * x
        j01 += d0 * y
        j02 += d0 * z
        j10 += d1 * x
        j11 += d1 * y
        j12 += d1 * z
        j20 += d2 * x
        j21 += d2 * y
        j22 += d2 * z
    return j00, j01, j02, j10, j11, j12, j20, j21, j22


@kernel
def cofactors(j: Any) -> Any:
    """Nine cofactors of a Jacobian, row by row, and its determinant."""
    c00, c01, c02 = j[4] * j[8] - j[5] * j[7], j[5] * j[6] - j[3] * j[8], j[3] * j[7] - j[4] * j[6]
    c10, c11, c12 = j[2] * j[7] - j[1] * j[8], j[0] * j[8] - j[2] * j[6], j[1] * j[6] - j[0] * j[7]
    c20, c21, c22 = j[1] * j[5] - j[2] * j[4], j[2] * j[3] - j[0] * j[5], j[0] * j[4] - j[1] * j[3]
    return (c00, c01, c02, c10, c11, c12, c20, c21, c22), j[0] * c00 + j[1] * c01 + j[2] * c02


@kernel
def derivatives(x: float, y: float, z: float, local: Any) -> None:
    """Derivatives of the eight shape functions at a place of the brick's own coordinates."""
    for a in range(8):
        sx, sy, sz = SIGNS[a, 0], SIGNS[a, 1], SIGNS[a, 2]
        fx, fy, fz = 1 + sx * x, 1 + sy * y, 1 + sz * z
        local[a, 0] = 0.125 * sx * fy * fz
        local[a, 1] = 0.125 * sy * fx * fz
        local[a, 2] = 0.125 * sz * fx * fy


@kernel
def _slopes(points: Any, share: float, s: Any) -> float:
    """Gradients of the nodes at the points, weights and sums; the volume of material."""
    volume = 0.0
    s.mean[:] = 0.0
    for q in range(8):
        derivatives(points[q, 0], points[q, 1], points[q, 2], s.local)
        c, det = cofactors(jacobian(s.local, s.corners))
        weight = det * share
        s.weight[q] = weight
        volume += weight
        for a in range(8):
            d0, d1, d2 = s.local[a, 0], s.local[a, 1], s.local[a, 2]
            gx = (c[0] * d0 + c[3] * d1 + c[6] * d2) / det
            gy = (c[1] * d0 + c[4] * d1 + c[7] * d2) / det
            gz = (c[2] * d0 + c[5] * d1 + c[8] * d2) / det
            s.slopes[a, 0, q], s.slopes[a, 1, q], s.slopes[a, 2, q] = gx, gy, gz
            s.mean[a, 0] += weight * gx
            s.mean[a, 1] += weight * gy
            s.mean[a, 2] += weight * gz
    return volume


@kernel
def _modes(points: Any, share: float, volume: float, s: Any) -> None:
    """Gradients of the three modes at the points, their weighted mean taken off."""
    c, _ = cofactors(jacobian(CENTRE, s.corners))
    for k in range(3):
        for i in range(3):
            cofactor = c[3 * k + i]
            mean = 0.0
            for q in range(8):
                slope = -2 * share / s.weight[q] * points[q, k] * cofactor
                s.slopes[8 + k, i, q] = slope
                mean += s.weight[q] * slope
            for q in range(8):
                s.slopes[8 + k, i, q] -= mean / volume


@kernel
def _pair(d: Any, w: Any, a: int, b: int) -> Any:
    """Sums over the points of weight times gradient of a times gradient of b, row by row in a's axis."""
    m00, m01, m02, m10, m11, m12, m20, m21, m22 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for q in range(8):
        a0, a1, a2 = d[a, 0, q] * w[q], d[a, 1, q] * w[q], d[a, 2, q] * w[q]
        b0, b1, b2 = d[b, 0, q], d[b, 1, q], d[b, 2, q]
        m00 += a0 * b0
        m01 += a0 * b1
        m02 += a0 * b2
        m10 += a1 * b0
        m11 += a1 * b1
        m12 += a1 * b2
        m20 += a2 * b0
        m21 += a2 * b1
        m22 += a2 * b2
    return m00, m01, m02, m10, m11, m12, m20, m21, m22


@kernel
def _products(slopes: Any, weight: Any, shear: float, lame: float, out: Any) -> None:
    """Stiffness of nodes and modes, blocks right of the diagonal."""
    both = shear + lame
    for a in range(11):
        for b in range(a, 11):
            m = _pair(slopes, weight, a, b)
            t, r, c = shear * (m[0] + m[4] + m[8]), 3 * a, 3 * b
            out[r, c] = t + both * m[0]
            out[r, c + 1] = shear * m[3] + lame * m[1]
            out[r, c + 2] = shear * m[6] + lame * m[2]
            out[r + 1, c] = shear * m[1] + lame * m[3]
            out[r + 1, c + 1] = t + both * m[4]
            out[r + 1, c + 2] = shear * m[7] + lame * m[5]
            out[r + 2, c] = shear * m[2] + lame * m[6]
            out[r + 2, c + 1] = shear * m[5] + lame * m[7]
            out[r + 2, c + 2] = t + both * m[8]


@kernel
def _swell(swell: float, mean: Any, out: Any) -> None:
    """Add what acts on the mean dilatation."""
    flat = mean.reshape(24)
    for r in range(24):
        factor = swell * flat[r]
        for c in range(24):
            out[r, c] += factor * flat[c]


@kernel
def _condense(k: Any, cross: Any, inner: Any) -> None:
    """Take the modes out of `k`: Cholesky of their block, then the rest less the product."""
    for i in range(9):
        for c in range(24):
            cross[i, c] = k[c, 24 + i]
        for j in range(i + 1):
            inner[i, j] = k[24 + j, 24 + i]
    soft = SOFT / 9 * np.trace(inner)
    for i in range(9):
        inner[i, i] += soft
        for j in range(i):
            for m in range(j):
                inner[i, j] -= inner[i, m] * inner[j, m]
            inner[i, j] /= inner[j, j]
            inner[i, i] -= inner[i, j] ** 2
            _less(cross, i, inner[i, j], j)
        inner[i, i] = sqrt(max(inner[i, i], 1e-3 * soft))
        for c in range(24):
            cross[i, c] /= inner[i, i]
    for r in range(24):
        _row(k, r, cross)


@kernel
def _less(rows: Any, r: int, factor: float, i: int) -> None:
    for c in range(24):
        rows[r, c] -= factor * rows[i, c]


@kernel
def _row(k: Any, r: int, u: Any) -> None:
    u0, u1, u2, u3, u4 = u[0, r], u[1, r], u[2, r], u[3, r], u[4, r]
    u5, u6, u7, u8 = u[5, r], u[6, r], u[7, r], u[8, r]
    for c in range(24):
        k[r, c] -= (u0 * u[0, c] + u1 * u[1, c] + u2 * u[2, c]) + (u3 * u[3, c] + u4 * u[4, c] + u5 * u[5, c])
        k[r, c] -= u6 * u[6, c] + u7 * u[7, c] + u8 * u[8, c]


@kernel
def coarsened(fine: Any, child: Any, half: Any, other: Any, coarse: Any) -> None:
    """Add to `coarse` what the symmetric matrix `fine` (24, 24) of a child is there: P^T K P."""
    half[:] = 0.0
    _combined(child, fine, half)
    for r in range(24):
        for c in range(24):
            other[c, r] = half[r, c]
    _combined(child, other, coarse)


@kernel
def _combined(child: Any, fine: Any, out: Any) -> None:
    """Add rows of a child's nodes to those of its parent's."""
    for a in range(8):
        for b in range(8):
            w = child[a, b]
            if w != 0.0:
                for i in range(3):
                    for c in range(24):
                        out[3 * b + i, c] += w * fine[3 * a + i, c]
