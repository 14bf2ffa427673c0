"""What coupons say of a powder: direction of shrinkage, scatter, density, and r / alpha from a bridge."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sagger.errors import LawError
from sagger.physics.sintering import sag
from sagger.statistics import chance
from sagger.statistics.chance import Belief

Array = NDArray[np.float64]


class Directions(NamedTuple):
    """How cubes shrank."""

    y: Belief  # shrinkage along y over that along x [-]
    z: Belief  # and along z
    scatter: Belief  # part-to-part standard deviation of a length, relative [-]


def directions(
    green: ArrayLike, sintered: ArrayLike, reading: float, firings: Sequence[str] = ()
) -> Directions:
    """Anisotropy of shrinkage and part-to-part scatter from cubes.

    Parameters
    ----------
    green, sintered : array (n, 3)
        Lengths along machine x, y, z before and after, in any one unit.
    reading : float
        Standard uncertainty of one reading, in that unit.
    firings : sequence of n str
        What each cube was fired with; scatter is told within a firing. Empty: all with the same.

    Returns
    -------
    Directions
        u of the ratios: the larger of their spread over root n and of the readings'; scatter less readings,
        its u that of a standard deviation, s / sqrt(2 (n - 1)), infinite where no firing has two cubes.

    Raises
    ------
    LawError
        If fewer than two cubes are given, or one did not shrink.
    """
    before, after = np.asarray(green, float), np.asarray(sintered, float)
    if before.shape != after.shape or before.ndim != 2 or len(before) < 2:
        raise LawError(f"two cubes or more are needed, with three lengths each, got {len(before)}")
    if np.any(after <= 0) or np.any(after >= before):
        raise LawError("a cube must get smaller along every axis; see whether green and sintered are swapped")
    ratios = after / before
    shrinkage = 1 - ratios
    read = chance.combined_by_result((reading / before, reading * after / before**2))  # of each shrinkage
    beliefs = []
    for axis in (1, 2):
        ratio = shrinkage[:, axis] / shrinkage[:, 0]
        slip = ratio * chance.combined_by_result(
            (read[:, axis] / shrinkage[:, axis], read[:, 0] / shrinkage[:, 0])
        )
        beliefs.append(_mean(ratio, float(np.sqrt(np.mean(slip**2)))))
    y, z = beliefs
    return Directions(y, z, _scatter(ratios, list(firings) or [""] * len(ratios), read / ratios))


def _scatter(ratios: Array, firings: Sequence[str], noise: Array) -> Belief:
    """Standard deviation of lengths within a firing, relative, less that of the readings."""
    squares, free = 0.0, 0
    for name in set(firings):
        here = ratios[[each == name for each in firings]]
        squares += float(np.sum((here / here.mean(axis=0) - 1) ** 2))
        free += 3 * (len(here) - 1)
    if not free:
        return Belief(0.0, float("inf"))
    whole = squares / free
    part = float(np.sqrt(max(whole - float(np.mean(noise**2)), 0.0)))
    return Belief(part, float(np.sqrt(whole / (2 * free))))


def _mean(values: Array, slip: float) -> Belief:
    """Mean, and the larger of its standard error and of the readings' part in it."""
    count = len(values)
    spread = float(np.std(values, ddof=1)) if count > 1 else 0.0
    return Belief(float(values.mean()), max(spread, slip) / float(np.sqrt(count)))


def mean_density(densities: ArrayLike, u: float) -> Belief:
    """Mean of relative densities that have an uncertainty `u` in common and their own scatter [-]."""
    values = np.asarray(densities, float)
    spread = float(np.std(values, ddof=1)) / np.sqrt(values.size) if values.size > 1 else 0.0
    return Belief(float(values.mean()), chance.combined((spread, u)))


class Bridge(NamedTuple):
    """A bar that lay on two ridges while it sintered [m]."""

    span: float  # between the ridges, green
    height: float  # of the bar, green
    sag: float  # in the middle, after
    span_after: float


def softness(bridges: Sequence[Bridge], start: Belief, end: Belief, weight: float, reading: float) -> Belief:
    """r / alpha from bars that sagged [m2/N].

    Parameters
    ----------
    bridges : sequence of Bridge
        Each between its own ridges, which shrink with it (a base of the same powder).
    start, end : Belief
        Relative density before and after [-].
    weight : float
        Of the dense solid per volume, rho_th x g [N/m3].
    reading : float
        Standard uncertainty of one reading of a length [m].

    Raises
    ------
    LawError
        If there is no bridge, or one did not sag.

    Source
    ------
    `sag.sag_after_sintering`, which is in proportion to r / alpha; JCGM 100:2008, 5.1.2.
    """
    if not bridges or min(bridge.sag for bridge in bridges) <= 0:
        raise LawError(f"one bridge at least must have sagged, got {len(bridges)}; make it longer or thinner")

    def soft(bridge: Bridge, first: float, last: float) -> float:
        once = sag.sag_after_sintering(first, last, sag.Beam(bridge.span, bridge.height), weight, 1.0)
        return bridge.sag / bridge.span_after / once.total

    values = np.array([soft(bridge, start.value, end.value) for bridge in bridges])
    slips = [
        reading * chance.combined((1 / one.sag, 2 / one.height, 3 / one.span, 1 / one.span_after))
        for one in bridges
    ]
    mean = _mean(values, float(np.sqrt(np.mean((values * np.array(slips)) ** 2))))
    rows = [
        np.mean([soft(one, start.value + a, end.value + b) for one in bridges]) - mean.value
        for a, b in ((start.u, 0.0), (0.0, -end.u))
    ]
    return Belief(mean.value, chance.combined([mean.u, *(float(row) for row in rows)]))


def bar_height(span: float, share: float, law: sag.Yielding) -> float:
    """Green height of a bar on two ridges that will sag by `share` of its span [m], by bending alone.

    Parameters
    ----------
    span : float
        Green [m].
    share : float
        Sag over span wanted [-].
    law : Yielding
    """
    return float(np.sqrt(sag.ON_ENDS.bending * law.bending * span**3 / share))
