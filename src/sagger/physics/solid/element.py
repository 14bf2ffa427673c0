"""Stiffness of one brick with eight weighted points: bends without locking, and at any Poisson's ratio.

Eight nodes and nine inner modes 1 - xi^2 (incompatible modes, Jacobian of the centre, weighted mean taken off
so that the patch test holds with any points and weights). Of the bulk stiffness, `local` acts on the full
strain and the rest on the cell's mean dilatation.

All is worked out in one strip of memory, with loops over eight or 24 neighbours innermost: only then
does the compiler see that they may be done at once, and a brick takes a sixth of the time. Unknowns stand
component by component: x of the eight nodes, y, z.

Source: incompatible modes after Taylor, Beresford and Wilson, Int. J. Num. Meth. Eng. 10 (1976) 1211; mean
dilatation after Hughes, ibid. 15 (1980) 1413 (both from memory); cut cells derived.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sagger.physics.solid.brick import SIGNS
from sagger.physics.solid.kernel import inlined, kernel

SOFT = 1e-6  # of the modes' mean stiffness, added to each: keeps the elimination regular
SIGNS_FLAT = np.ascontiguousarray(SIGNS.T).ravel()

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


@kernel
def scratch() -> Any:
    """The strip in which one brick is worked out."""
    s = np.zeros(SIZE)
    s[SIDES : SIDES + 24] = SIGNS_FLAT
    return s


@kernel
def stiffness(points: Any, share: float, shear: float, bulk: float, local: float, s: Any) -> float:
    """Fill STIFF of the brick at CORNERS, and MEAN; its volume of material [m3]."""
    lame = local - 2 * shear / 3
    volume = slopes(points, share, s)
    _modes(1 / volume, shear, lame, s)
    _eliminate(s)
    _pairs(s)
    _stiffen(shear, lame, s)
    _condense((bulk - local) / volume, s)
    return volume


@inlined
def resistance(moved: int, out: int, s: Any) -> None:
    """What STIFF makes of a displacement of the nodes in the strip, both (3, 8)."""
    x, y, z = row(s, moved), row(s, moved + 8), row(s, moved + 16)
    for c in range(24):
        s[out + c] = blend(x, s, STIFF + c) + blend(y, s, STIFF + 192 + c) + blend(z, s, STIFF + 384 + c)


@kernel
def standing(nodes: Any, field: Any, s: Any, out: int) -> None:
    """A field (n, 3) at a brick's nodes into the strip, (3, 8)."""
    for a in range(8):
        for i in range(3):
            s[out + 8 * i + a] = field[nodes[a], i]


@inlined
def row(s: Any, r: int) -> Any:
    """Eight numbers that stand next to each other."""
    return s[r], s[r + 1], s[r + 2], s[r + 3], s[r + 4], s[r + 5], s[r + 6], s[r + 7]


@inlined
def column(s: Any, r: int) -> Any:
    """Eight numbers 24 apart."""
    return s[r], s[r + 24], s[r + 48], s[r + 72], s[r + 96], s[r + 120], s[r + 144], s[r + 168]


@inlined
def blend(w: Any, s: Any, r: int) -> float:
    """Sum of eight weights times eight numbers 24 apart."""
    out: float = (w[0] * s[r] + w[1] * s[r + 24] + w[2] * s[r + 48] + w[3] * s[r + 72]) + (
        w[4] * s[r + 96] + w[5] * s[r + 120] + w[6] * s[r + 144] + w[7] * s[r + 168]
    )
    return out


@kernel
def slopes(points: Any, share: float, s: Any) -> float:
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


@inlined
def _at(s: Any, q: int) -> Any:
    """Place and weight of a point, and its inverse Jacobian."""
    t = TURNED + q
    return (
        (s[POINTS + q], s[POINTS + 8 + q], s[POINTS + 16 + q], s[WEIGHT + q]),
        (s[t], s[t + 8], s[t + 16]),
        (s[t + 24], s[t + 32], s[t + 40]),
        (s[t + 48], s[t + 56], s[t + 64]),
    )


@inlined
def _gradient(at: Any, s: Any, r: int, n: int) -> None:
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


@kernel
def jacobians(points: Any, share: float, s: Any) -> None:
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


@inlined
def cofactors(j: Any) -> Any:
    """Cofactors of a Jacobian d x_i / d xi_k, row by row in k."""
    (a, b, c), (d, e, f), (g, h, i) = j
    return (
        (e * i - f * h, f * g - d * i, d * h - e * g),
        (c * h - b * i, a * i - c * g, b * g - a * h),
        (b * f - c * e, c * d - a * f, a * e - b * d),
    )


@inlined
def _warp(s: Any, nodes: int, out: int) -> None:
    """A field of the nodes as a sum of 1, z, y, yz, x, xz, xy, xyz."""
    a, b, c, d, e, f, g, h = row(s, nodes)
    a, b, c, d, e, f, g, h = a + b, b - a, c + d, d - c, e + f, f - e, g + h, h - g
    a, b, c, d, e, f, g, h = a + c, b + d, c - a, d - b, e + g, f + h, g - e, h - f
    s[out], s[out + 1], s[out + 2], s[out + 3] = (a + e) / 8, (b + f) / 8, (c + g) / 8, (d + h) / 8
    s[out + 4], s[out + 5], s[out + 6], s[out + 7] = (e - a) / 8, (f - b) / 8, (g - c) / 8, (h - d) / 8


@kernel
def _modes(per_volume: float, shear: float, lame: float, s: Any) -> None:
    """Stiffness of the modes against nodes and each other."""
    x, y, z = WARPED, WARPED + 8, WARPED + 16
    c = cofactors(
        ((s[x + 4], s[y + 4], s[z + 4]), (s[x + 2], s[y + 2], s[z + 2]), (s[x + 1], s[y + 1], s[z + 1]))
    )
    for m in range(3):
        _bubble(m, per_volume, s)
        w = row(s, HEAVY_BUBBLE + 8 * m)
        for r in range(24):
            s[CROSS + 120 * m + r] = blend(w, s, SLOPES + r)
    for n in range(8):
        _against_node(CROSS + n, MODES + n, c[0], shear, lame, s)
        _against_node(CROSS + 120 + n, MODES + 120 + n, c[1], shear, lame, s)
        _against_node(CROSS + 240 + n, MODES + 240 + n, c[2], shear, lame, s)
    for m in range(3):
        for n in range(3):
            _against_modes(m, n, (c[m], c[n]), shear, lame, s)


@inlined
def _bubble(m: int, per_volume: float, s: Any) -> None:
    """Slope of mode m along its own axis over its cofactors, its weighted mean taken off."""
    total = 0.0
    for q in range(8):
        total += s[POINTS + 8 * m + q]
    for q in range(8):
        w, slope = s[WEIGHT + q], -2 * s[POINTS + 8 * m + q]
        heavy = slope + 2 * total * per_volume * w
        s[HEAVY_BUBBLE + 8 * m + q] = heavy
        s[BUBBLE + 8 * m + q] = heavy / w


@inlined
def _against_node(r: int, out: int, c: Any, shear: float, lame: float, s: Any) -> None:
    """Stiffness of a mode against a node, from their sums at r."""
    x, y, z = c
    a, b, d = s[r], s[r + 8], s[r + 16]
    both, t = lame + shear, shear * (x * a + y * b + z * d)
    s[out], s[out + 48], s[out + 96] = t + both * x * a, t + both * y * b, t + both * z * d
    s[out + 8], s[out + 40] = lame * x * b + shear * y * a, lame * y * a + shear * x * b
    s[out + 16], s[out + 80] = lame * x * d + shear * z * a, lame * z * a + shear * x * d
    s[out + 56], s[out + 88] = lame * y * d + shear * z * b, lame * z * b + shear * y * d


@inlined
def _against_modes(m: int, n: int, c: Any, shear: float, lame: float, s: Any) -> None:
    both = 0.0
    for q in range(8):
        both += s[HEAVY_BUBBLE + 8 * m + q] * s[BUBBLE + 8 * n + q]
    u, v = c
    along = shear * (u[0] * v[0] + u[1] * v[1] + u[2] * v[2])
    for i in range(3):
        for j in range(3):
            stiff = lame * u[i] * v[j] + shear * u[j] * v[i] + (along if i == j else 0.0)
            s[MODES + 40 * (3 * m + i) + 24 + 3 * n + j] = both * stiff


@kernel
def _eliminate(s: Any) -> None:
    """Rows of MODES so combined that the modes' block is upper triangular."""
    soft = 0.0
    for m in range(9):
        soft += s[MODES + 41 * m + 24] * (SOFT / 9)
    for m in range(9):
        s[MODES + 41 * m + 24] += soft
    for m in range(9):
        pivot = max(s[MODES + 41 * m + 24], 1e-3 * soft)
        s[MODES + 41 * m + 24] = pivot
        for other in range(m + 1, 9):
            factor = s[MODES + 40 * other + 24 + m] / pivot
            for c in range(40):
                s[MODES + 40 * other + c] -= factor * s[MODES + 40 * m + c]
    for m in range(9):
        s[PIVOTS + m] = 1 / s[MODES + 41 * m + 24]


@kernel
def _pairs(s: Any) -> None:
    for r in range(24):
        w = column(s, HEAVY + r)
        for c in range(24):
            s[PAIRS + 24 * r + c] = blend(w, s, SLOPES + c)


@kernel
def _stiffen(shear: float, lame: float, s: Any) -> None:
    """Stiffness of the nodes by shear and by local bulk stiffness."""
    both = shear + lame
    for a in range(8):
        for b in range(8):
            p, k = PAIRS + 24 * a + b, STIFF + 24 * a + b
            x, y, z = s[p], s[p + 200], s[p + 400]
            t = shear * (x + y + z)
            s[k], s[k + 200], s[k + 400] = t + both * x, t + both * y, t + both * z
            s[k + 8], s[k + 192] = lame * s[p + 8] + shear * s[p + 192], shear * s[p + 8] + lame * s[p + 192]
            s[k + 16], s[k + 384] = (
                lame * s[p + 16] + shear * s[p + 384],
                shear * s[p + 16] + lame * s[p + 384],
            )
            s[k + 208], s[k + 392] = (
                lame * s[p + 208] + shear * s[p + 392],
                shear * s[p + 208] + lame * s[p + 392],
            )


@kernel
def _condense(swell: float, s: Any) -> None:
    """Add what acts on the mean dilatation, take the modes out."""
    for r in range(24):
        m = MODES + r
        w = (
            s[m] * s[PIVOTS],
            s[m + 40] * s[PIVOTS + 1],
            s[m + 80] * s[PIVOTS + 2],
            s[m + 120] * s[PIVOTS + 3],
            s[m + 160] * s[PIVOTS + 4],
            s[m + 200] * s[PIVOTS + 5],
            s[m + 240] * s[PIVOTS + 6],
            s[m + 280] * s[PIVOTS + 7],
            s[m + 320] * s[PIVOTS + 8],
        )
        mean = swell * s[MEAN + r]
        for c in range(24):
            n = MODES + c
            s[STIFF + 24 * r + c] += (
                mean * s[MEAN + c]
                - (w[0] * s[n] + w[1] * s[n + 40] + w[2] * s[n + 80] + w[3] * s[n + 120])
                - (w[4] * s[n + 160] + w[5] * s[n + 200] + w[6] * s[n + 240] + w[7] * s[n + 280])
                - w[8] * s[n + 320]
            )
