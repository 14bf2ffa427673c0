"""How densely grains of several sizes pack. All SI; a packing is the share of space that is solid.

Sizes may stand in any order. Every model takes a packing of each size alone, one for all or one per size, and
answers with the packing of the mixture. Grains that stick or segregate pack worse than any of them says.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from sagger.errors import LawError

Alone = float | Sequence[float]
MIXING = 0.154  # Yu and Standish 1991: finer than this share of the controlling size, grains fill its pores
ALIKE = 0.741  # the same: coarser than this share, sizes mix without change of volume


class _Mix(NamedTuple):
    """A mixture from coarse to fine, without sizes that are not there."""

    size: np.ndarray  # [m]
    share: np.ndarray  # of solid volume [-]
    volume: np.ndarray  # space per solid volume of each size alone [-]


def linear(sizes: Sequence[float], shares: Sequence[float], alone: Alone) -> float:
    """Packing of a mixture by the linear packing model; the one we use.

    Parameters as in `furnas`; sizes count.

    Source
    ------
    Yu, Zou, Standish, Ind. Eng. Chem. Res. 35 (1996) 3730; coefficients read in code that quotes it.
    Within 0.015 of computed packings of frictionless balls at size ratios 0.3 and 0.5.
    """
    mix = _mix(sizes, shares, alone)
    spaces = [_controlled(mix, i, i, i, mix.volume[i]) for i in range(len(mix.size))]
    return float(1 / max(spaces))


def mixture(sizes: Sequence[float], shares: Sequence[float], alone: Alone) -> float:
    """Packing of a mixture by the linear mixture packing model.

    Parameters as in `linear`.

    Source
    ------
    Yu and Standish, Ind. Eng. Chem. Res. 30 (1991) 1372; polynomials read in code that quotes it. It steps
    where a size passes 0.154 of the controlling one.
    """
    mix = _mix(sizes, shares, alone)
    spaces = []
    for i, size in enumerate(mix.size):
        inside = np.flatnonzero(_ratio(mix.size, size) >= MIXING)
        first, last = int(inside[0]), int(inside[-1])
        spaces.append(_controlled(mix, i, first, last, _mixed_volume(mix, first, last)))
    return float(1 / max(spaces))


def _controlled(mix: _Mix, i: int, first: int, last: int, within: float) -> float:
    """Space per solid volume if size i controls; sizes first to last take up `within` together."""
    ratio = _ratio(mix.size, mix.size[i])
    coarse = (mix.volume - (mix.volume - 1) * _displacing(ratio)) * mix.share
    fine = mix.volume * (1 - _filling(ratio)) * mix.share
    return float(coarse[:first].sum() + within * mix.share[first : last + 1].sum() + fine[last + 1 :].sum())


def _mixed_volume(mix: _Mix, first: int, last: int) -> float:
    """Space per solid volume of sizes that mix without controlling each other."""
    share = mix.share[first : last + 1] / mix.share[first : last + 1].sum()
    plain = float(share @ mix.volume[first : last + 1])
    rho, change = 1 / plain, 0.0
    for h in range(len(share)):
        for l in range(h + 1, len(share)):
            r = float(mix.size[first + l] / mix.size[first + h])
            if r <= ALIKE:
                product, lean = share[h] * share[l], share[h] - share[l]
                change += product * (_even(r, rho) + _uneven(r, rho) * lean)
    return plain + change


def _even(r: float, rho: float) -> float:
    """Coefficient of x_h x_l."""
    factor = 10.288 * 10 ** (-1.4566 * rho)
    return float(factor * np.polyval([3.1222, -7.9488, 5.8455, 0.1126, -1.0002], r))


def _uneven(r: float, rho: float) -> float:
    """Coefficient of x_h x_l (x_h - x_l)."""
    factor = np.polyval([-17.110, 40.869, -37.453, 15.039, -1.3092], rho)
    return float(factor * np.polyval([12.434, -22.197, 10.970, 0.3589, -1.0029], r))


def _filling(r: np.ndarray) -> np.ndarray:
    """How far fines of relative size r fill pores: 1 for dust, 0 for equals."""
    return np.asarray((1 - r) ** 3.3 + 2.8 * r * (1 - r) ** 2.7)


def _displacing(r: np.ndarray) -> np.ndarray:
    """How far coarse grains replace a bed of relative size r: 1 for dust, 0 for equals."""
    return np.asarray((1 - r) ** 2.0 + 0.4 * r * (1 - r) ** 3.7)


def _ratio(sizes: np.ndarray, size: float) -> np.ndarray:
    """Small over large."""
    return np.asarray(np.minimum(sizes, size) / np.maximum(sizes, size))


def compressible(sizes: Sequence[float], shares: Sequence[float], virtual: Alone, index: float) -> float:
    """Packing of a mixture by the compressible packing model.

    Parameters
    ----------
    sizes, shares
        As in `linear`.
    virtual : float or (n,) float
        Packing that each size alone would reach without end of compaction: packing (1 + 1/index) [-].
    index : float
        Compaction: 4.1 poured, 4.5 rodded, 4.75 vibrated, 9 vibrated under load [-].

    Source
    ------
    de Larrard, Concrete Mixture Proportioning, 1999, chapter 1 (memory).
    """
    mix = _mix(sizes, shares, virtual)
    beta = 1 / mix.volume
    if len(beta) == 1:
        return float(beta[0] / (1 + 1 / index))
    most = np.array([_virtual(mix, beta, i) for i in range(len(beta))])

    def missing(packing: float) -> float:
        return float((mix.share / beta / (1 / packing - 1 / most)).sum()) - index

    top = float(most.min())
    return float(brentq(missing, 1e-6, top * (1 - 1e-12), xtol=1e-14))


def _virtual(mix: _Mix, beta: np.ndarray, i: int) -> float:
    """Highest packing if size i controls."""
    r = _ratio(mix.size, mix.size[i])
    loosening = np.sqrt(1 - (1 - r) ** 1.02)
    wall = 1 - (1 - r) ** 1.50
    coarser = (1 - beta[i] + wall * beta[i] * (1 - 1 / beta)) * mix.share
    finer = (1 - loosening * beta[i] / beta) * mix.share
    return float(beta[i] / (1 - coarser[:i].sum() - finer[i + 1 :].sum()))


def lognormal_classes(sigma: float, count: int = 15, reach: float = 2.5) -> tuple[np.ndarray, np.ndarray]:
    """Classes of a lognormal distribution: sizes over the median, and shares [-].

    Parameters
    ----------
    sigma : float
        Standard deviation of ln size.
    count, reach : int, float
        Classes, even in ln size, over plus or minus `reach` standard deviations.
    """
    edges = np.linspace(-reach, reach, count + 1)
    shares = np.diff(ndtr(edges))
    return np.exp(sigma * (edges[:-1] + edges[1:]) / 2), shares / shares.sum()


def _mix(sizes: Sequence[float], shares: Sequence[float], alone: Alone) -> _Mix:
    size, share = np.asarray(sizes, dtype=float), np.asarray(shares, dtype=float)
    packing = np.broadcast_to(np.asarray(alone, dtype=float), size.shape)
    if size.shape != share.shape or (size <= 0).any() or (share < 0).any() or share.sum() <= 0:
        raise LawError("sizes above 0 and as many shares of 0 or more are needed, not all 0")
    if (packing <= 0).any() or (packing >= 1).any():
        raise LawError(f"packing must lie between 0 and 1, got {alone}; check the powder card")
    there = share > 0
    order = np.argsort(-size[there], kind="stable")
    return _Mix(size[there][order], share[there][order] / share.sum(), 1 / packing[there][order])
