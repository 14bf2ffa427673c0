"""From a lot's size curve to the packing of its bed, and which second cut would pack better. All SI.

The linear model says how much closer several sizes pack than one. How closely one size packs alone is not
in it: that is found from a density somebody measured on the very powder.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from sagger.errors import LawError
from sagger.physics.powder import packing

COUNT = 15  # classes of a curve, even in ln size
POURED = 4.1  # compaction index of the compressible model; de Larrard 1999 (memory)
LOOSEST, CLOSEST = 0.05, 0.80  # packings of one size alone that are looked among


def _compressible(sizes: Sequence[float], shares: Sequence[float], alone: packing.Alone) -> float:
    virtual = np.asarray(alone, dtype=float) * (1 + 1 / POURED)
    return packing.compressible(sizes, shares, virtual.tolist(), POURED)


Model = Callable[[Sequence[float], Sequence[float], packing.Alone], float]
MODELS: dict[str, Model] = {
    "linear": packing.linear,
    "mixture": packing.mixture,
    "compressible": _compressible,
}


def classes(sizes: Sequence[float], finer: Sequence[float], count: int = COUNT) -> tuple[list[float], ...]:
    """Classes of a cumulative curve, even in ln size: their sizes [m] and mass shares [-].

    Parameters
    ----------
    sizes, finer : (n,) float
        Curve: sizes rising [m], mass share finer [-].
    count : int
        Classes between the first and the last size. What is finer than the first or coarser than the last
        gets a class of its own half a step outside.

    Raises
    ------
    LawError
        If the curve has fewer than two sizes, or does not rise.
    """
    x, share = np.asarray(sizes, dtype=float), np.asarray(finer, dtype=float)
    if x.size < 2 or x.shape != share.shape or (np.diff(x) <= 0).any() or (np.diff(share) < 0).any():
        raise LawError("a size curve needs two sizes or more, and sizes and shares that rise")
    if x[0] <= 0 or share[0] < 0 or share[-1] > 1 + 1e-9:
        raise LawError("sizes must be above 0 and shares between 0 and 1; check the size curve")
    edges = np.linspace(np.log(x[0]), np.log(x[-1]), count + 1)
    inner = np.diff(np.interp(edges, np.log(x), share))
    half = (edges[1] - edges[0]) / 2
    centres = np.concatenate([[edges[0] - half], (edges[:-1] + edges[1:]) / 2, [edges[-1] + half]])
    shares = np.concatenate([[share[0]], inner, [max(0.0, 1 - share[-1])]])
    there = shares > 0
    return np.exp(centres[there]).tolist(), (shares[there] / shares.sum()).tolist()


def calibrated(
    sizes: Sequence[float], shares: Sequence[float], measured: float, model: str = "linear"
) -> float:
    """Packing of one size alone with which a model gives the `measured` packing of the mixture [-].

    Parameters
    ----------
    sizes, shares : (n,) float
        Classes [m], mass shares.
    measured : float
        Packing of the powder, for instance its tap density over that of the solid [-].
    model : str
        "linear", "mixture" or "compressible".

    Raises
    ------
    LawError
        If no packing alone gives it: a density or the curve is wrong.
    """
    law = MODELS[model]

    def off(alone: float) -> float:
        return law(sizes, shares, alone) - measured

    if off(LOOSEST) > 0 or off(CLOSEST) < 0:
        raise LawError(
            f"a packing of {measured:.3g} cannot come from grains of these sizes; "
            "check the lot's densities and its size curve"
        )
    return float(brentq(off, LOOSEST, CLOSEST, xtol=1e-10))


class Cut(NamedTuple):
    """A powder that may go into a blend."""

    sizes: list[float]  # classes [m]
    shares: list[float]  # by mass
    alone: float  # packing of one of its sizes alone [-]


class Best(NamedTuple):
    """The best that two cuts give together."""

    share: float  # of the second cut, by mass [-]
    packing: float  # [-]
    curve: np.ndarray  # packing at shares of 0, 1, 2 … 100 %


def blended(first: Cut, second: Cut, share: float, model: str = "linear") -> float:
    """Packing of two cuts with a mass `share` of the second [-]; both of one solid.

    Source: the model's own; each class keeps the packing alone of its cut.
    """
    sizes = [*first.sizes, *second.sizes]
    shares = [(1 - share) * x for x in first.shares] + [share * x for x in second.shares]
    alone = [first.alone] * len(first.sizes) + [second.alone] * len(second.sizes)
    return MODELS[model](sizes, shares, alone)


def best_blend(first: Cut, second: Cut, model: str = "linear") -> Best:
    """The share of a second cut that packs closest, to one per cent. Source: all shares tried."""
    curve = np.array([blended(first, second, percent / 100, model) for percent in range(101)])
    at = int(curve.argmax())
    return Best(at / 100, float(curve[at]), curve)
