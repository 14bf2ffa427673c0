"""Stiffness of one brick with eight weighted points: bends without locking, and at any Poisson's ratio.

Eight nodes and nine inner modes 1 - xi^2 (incompatible modes, Jacobian of the centre, weighted mean taken off
so that the patch test holds with any points and weights). Of the bulk stiffness, `local` acts on the full
strain and the rest on the cell's mean dilatation.

Source: incompatible modes after Taylor, Beresford and Wilson, Int. J. Num. Meth. Eng. 10 (1976) 1211; mean
dilatation after Hughes, ibid. 15 (1980) 1413 (both from memory); cut cells derived.
"""

from __future__ import annotations

from numpy import ndarray

from sagger.compiled import fast, fast_inner
from sagger.physics.solid.strip import (
    BUBBLE,
    CROSS,
    HEAVY,
    HEAVY_BUBBLE,
    MEAN,
    MODES,
    PAIRS,
    PIVOTS,
    POINTS,
    SLOPES,
    STIFF,
    WARPED,
    WEIGHT,
    Vector,
    blend,
    cofactors,
    column,
    row,
    slopes,
)

SOFT = 1e-6  # of the modes' mean stiffness, added to each: keeps the elimination regular


@fast
def stiffness(points: ndarray, share: float, shear: float, bulk: float, local: float, s: ndarray) -> float:
    """Fill STIFF of the brick at CORNERS, and MEAN; its volume of material [m3]."""
    lame = local - 2 * shear / 3
    volume = slopes(points, share, s)
    _modes(1 / volume, shear, lame, s)
    _eliminate(s)
    _pairs(s)
    _stiffen(shear, lame, s)
    _condense((bulk - local) / volume, s)
    return volume


@fast_inner
def resistance(moved: int, out: int, s: ndarray) -> None:
    """What STIFF makes of a displacement of the nodes in the strip, both (3, 8)."""
    x, y, z = row(s, moved), row(s, moved + 8), row(s, moved + 16)
    for c in range(24):
        s[out + c] = blend(x, s, STIFF + c) + blend(y, s, STIFF + 192 + c) + blend(z, s, STIFF + 384 + c)


@fast
def _modes(per_volume: float, shear: float, lame: float, s: ndarray) -> None:
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


@fast_inner
def _bubble(m: int, per_volume: float, s: ndarray) -> None:
    """Slope of mode m along its own axis over its cofactors, its weighted mean taken off."""
    total = 0.0
    for q in range(8):
        total += s[POINTS + 8 * m + q]
    for q in range(8):
        w, slope = s[WEIGHT + q], -2 * s[POINTS + 8 * m + q]
        heavy = slope + 2 * total * per_volume * w
        s[HEAVY_BUBBLE + 8 * m + q] = heavy
        s[BUBBLE + 8 * m + q] = heavy / w


@fast_inner
def _against_node(r: int, out: int, c: Vector, shear: float, lame: float, s: ndarray) -> None:
    """Stiffness of a mode against a node, from their sums at r."""
    x, y, z = c
    a, b, d = s[r], s[r + 8], s[r + 16]
    both, t = lame + shear, shear * (x * a + y * b + z * d)
    s[out], s[out + 48], s[out + 96] = t + both * x * a, t + both * y * b, t + both * z * d
    s[out + 8], s[out + 40] = lame * x * b + shear * y * a, lame * y * a + shear * x * b
    s[out + 16], s[out + 80] = lame * x * d + shear * z * a, lame * z * a + shear * x * d
    s[out + 56], s[out + 88] = lame * y * d + shear * z * b, lame * z * b + shear * y * d


@fast_inner
def _against_modes(m: int, n: int, c: tuple[Vector, Vector], shear: float, lame: float, s: ndarray) -> None:
    both = 0.0
    for q in range(8):
        both += s[HEAVY_BUBBLE + 8 * m + q] * s[BUBBLE + 8 * n + q]
    u, v = c
    along = shear * (u[0] * v[0] + u[1] * v[1] + u[2] * v[2])
    for i in range(3):
        for j in range(3):
            stiff = lame * u[i] * v[j] + shear * u[j] * v[i] + (along if i == j else 0.0)
            s[MODES + 40 * (3 * m + i) + 24 + 3 * n + j] = both * stiff


@fast
def _eliminate(s: ndarray) -> None:
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


@fast
def _pairs(s: ndarray) -> None:
    for r in range(24):
        w = column(s, HEAVY + r)
        for c in range(24):
            s[PAIRS + 24 * r + c] = blend(w, s, SLOPES + c)


@fast
def _stiffen(shear: float, lame: float, s: ndarray) -> None:
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


@fast
def _condense(swell: float, s: ndarray) -> None:
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
