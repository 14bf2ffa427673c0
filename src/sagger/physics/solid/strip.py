"""The strip of memory in which a brick is worked out, and the slopes of its shape functions.

All stands in one strip, and loops over eight or 24 neighbours are innermost: only then does the compiler see
that they may be done at once, and a brick takes a sixth of the time. Unknowns stand component by component: x
of the eight nodes, y, z.
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import fast, fast_inner
from sagger.physics.solid.brick import SIGNS

Vector = tuple[float, float, float]
Jacobian = tuple[Vector, Vector, Vector]
PlacedPoint = tuple[tuple[float, float, float, float], Vector, Vector, Vector]
SIDES_OF_ALL = np.ascontiguousarray(SIGNS.T).ravel()

# where things stand in the strip; (3, 8) is axis by node, q a point
CORNERS = 0  # (3, 8) [m]
POINTS = CORNERS + 24  # (3, q) in the brick's own coordinates
WARPED = POINTS + 24  # (3, 8): place as a sum of 1, z, y, yz, x, xz, xy, xyz
TURNED = WARPED + 24  # (3, 3, q): d xi_k / d x_i [1/m]
WEIGHT = TURNED + 72  # (q,) volume that each point stands for [m3]
SLOPES = WEIGHT + 8  # (q, 3, 8): gradients of the nodes' shape functions [1/m]
HEAVY = SLOPES + 192  # the same times weight
MEAN = HEAVY + 192  # (3, 8): sums of weight times gradient [m2]
BUBBLE = MEAN + 24  # (3, q): of each mode, its slope over its cofactors
HEAVY_BUBBLE = BUBBLE + 24  # the same times weight
CROSS = HEAVY_BUBBLE + 24  # (3, 120): sums of bubble times weight times gradient, in the first 24
MODES = CROSS + 360  # (9, 40): stiffness of modes against nodes (24) and modes (9)
SIDES = MODES + 360  # (3, 8): signs of the nodes' own coordinates
PIVOTS = SIDES + 24  # (9,): one over each pivot of the modes
PAIRS = PIVOTS + 16  # (24, 24): sums of weight times gradient times gradient
STIFF = PAIRS + 576  # (24, 24): the answer [N/m]
GUESS = STIFF + 576  # (3, 8) [m]
FORCE = GUESS + 24  # (3, 8) [N]
SIZE = FORCE + 24


@fast
def scratch() -> ndarray:
    """The strip in which one brick is worked out."""
    s = np.zeros(SIZE)
    s[SIDES : SIDES + 24] = SIDES_OF_ALL
    return s


@fast
def standing(nodes: ndarray, field: ndarray, s: ndarray, out: int) -> None:
    """A field (n, 3) at a brick's nodes into the strip, (3, 8)."""
    for a in range(8):
        for i in range(3):
            s[out + 8 * i + a] = field[nodes[a], i]


@fast_inner
def row(s: ndarray, r: int) -> tuple[float, ...]:
    """Eight numbers that stand next to each other."""
    return s[r], s[r + 1], s[r + 2], s[r + 3], s[r + 4], s[r + 5], s[r + 6], s[r + 7]


@fast_inner
def column(s: ndarray, r: int) -> tuple[float, ...]:
    """Eight numbers 24 apart."""
    return s[r], s[r + 24], s[r + 48], s[r + 72], s[r + 96], s[r + 120], s[r + 144], s[r + 168]


@fast_inner
def blend(w: tuple[float, ...], s: ndarray, r: int) -> float:
    """Sum of eight weights times eight numbers 24 apart."""
    out: float = (w[0] * s[r] + w[1] * s[r + 24] + w[2] * s[r + 48] + w[3] * s[r + 72]) + (
        w[4] * s[r + 96] + w[5] * s[r + 120] + w[6] * s[r + 144] + w[7] * s[r + 168]
    )
    return out


@fast
def slopes(points: ndarray, share: float, s: ndarray) -> float:
    """Gradients of the nodes at the points, their weights and sums; the volume of material."""
    jacobians(points, share, s)
    for q in range(4):  # two points at once: the compiler would take a shorter loop apart
        one, two = _at(s, q), _at(s, q + 4)
        for n in range(8):
            _gradient(one, s, 24 * q + n, n)
            _gradient(two, s, 24 * q + 96 + n, n)
    for c in range(24):
        r = HEAVY + c
        s[MEAN + c] = (s[r] + s[r + 24] + s[r + 48] + s[r + 72]) + (
            s[r + 96] + s[r + 120] + s[r + 144] + s[r + 168]
        )
    volume = 0.0
    for q in range(8):
        volume += s[WEIGHT + q]
    return volume


@fast_inner
def _at(s: ndarray, q: int) -> PlacedPoint:
    """Place and weight of a point, and its inverse Jacobian."""
    t = TURNED + q
    return (
        (s[POINTS + q], s[POINTS + 8 + q], s[POINTS + 16 + q], s[WEIGHT + q]),
        (s[t], s[t + 8], s[t + 16]),
        (s[t + 24], s[t + 32], s[t + 40]),
        (s[t + 48], s[t + 56], s[t + 64]),
    )


@fast_inner
def _gradient(at: PlacedPoint, s: ndarray, r: int, n: int) -> None:
    """Gradient of node n's shape function."""
    (x, y, z, w), a, b, c = at
    i, j, k = s[SIDES + n], s[SIDES + 8 + n], s[SIDES + 16 + n]
    fx, fy, fz = 1 + i * x, 1 + j * y, 1 + k * z
    u, v, o = 0.125 * i * fy * fz, 0.125 * j * fx * fz, 0.125 * k * fx * fy
    gx, gy, gz = (
        a[0] * u + b[0] * v + c[0] * o,
        a[1] * u + b[1] * v + c[1] * o,
        a[2] * u + b[2] * v + c[2] * o,
    )
    s[SLOPES + r], s[SLOPES + r + 8], s[SLOPES + r + 16] = gx, gy, gz
    s[HEAVY + r], s[HEAVY + r + 8], s[HEAVY + r + 16] = w * gx, w * gy, w * gz


@fast
def jacobians(points: ndarray, share: float, s: ndarray) -> None:
    """Fill TURNED and WEIGHT."""
    for i in range(3):
        for q in range(8):
            s[POINTS + 8 * i + q] = points[q, i]
        _warp(s, CORNERS + 8 * i, WARPED + 8 * i)
    _, x1, x2, x3, x4, x5, x6, x7 = row(s, WARPED)
    _, y1, y2, y3, y4, y5, y6, y7 = row(s, WARPED + 8)
    _, z1, z2, z3, z4, z5, z6, z7 = row(s, WARPED + 16)
    for q in range(8):
        x, y, z = s[POINTS + q], s[POINTS + 8 + q], s[POINTS + 16 + q]
        xy, xz, yz = x * y, x * z, y * z
        j = (
            (x4 + y * x6 + z * x5 + yz * x7, y4 + y * y6 + z * y5 + yz * y7, z4 + y * z6 + z * z5 + yz * z7),
            (x2 + x * x6 + z * x3 + xz * x7, y2 + x * y6 + z * y3 + xz * y7, z2 + x * z6 + z * z3 + xz * z7),
            (x1 + x * x5 + y * x3 + xy * x7, y1 + x * y5 + y * y3 + xy * y7, z1 + x * z5 + y * z3 + xy * z7),
        )
        (c00, c01, c02), (c10, c11, c12), (c20, c21, c22) = cofactors(j)
        det = j[0][0] * c00 + j[0][1] * c01 + j[0][2] * c02
        t, one = TURNED + q, 1 / det
        s[WEIGHT + q] = det * share
        s[t], s[t + 8], s[t + 16] = c00 * one, c01 * one, c02 * one
        s[t + 24], s[t + 32], s[t + 40] = c10 * one, c11 * one, c12 * one
        s[t + 48], s[t + 56], s[t + 64] = c20 * one, c21 * one, c22 * one


@fast_inner
def cofactors(j: Jacobian) -> Jacobian:
    """Cofactors of a Jacobian d x_i / d xi_k, row by row in k."""
    (a, b, c), (d, e, f), (g, h, i) = j
    return (
        (e * i - f * h, f * g - d * i, d * h - e * g),
        (c * h - b * i, a * i - c * g, b * g - a * h),
        (b * f - c * e, c * d - a * f, a * e - b * d),
    )


@fast_inner
def _warp(s: ndarray, nodes: int, out: int) -> None:
    """A field of the nodes as a sum of 1, z, y, yz, x, xz, xy, xyz."""
    a, b, c, d, e, f, g, h = row(s, nodes)
    a, b, c, d, e, f, g, h = a + b, b - a, c + d, d - c, e + f, f - e, g + h, h - g
    a, b, c, d, e, f, g, h = a + c, b + d, c - a, d - b, e + g, f + h, g - e, h - f
    s[out], s[out + 1], s[out + 2], s[out + 3] = (a + e) / 8, (b + f) / 8, (c + g) / 8, (d + h) / 8
    s[out + 4], s[out + 5], s[out + 6], s[out + 7] = (e - a) / 8, (f - b) / 8, (g - c) / 8, (h - d) / 8
