"""Heat into a block of powder: product of slabs, full series. All SI, temperatures in kelvin.

The bed's own conductivity is in `bed_conductivity.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, pi, sqrt
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from sagger.errors import LawError

SMALL = 1e-12  # terms below this are left out


class Block(NamedTuple):
    """A cuboid of one material that is put into an oven, heated on all faces alike."""

    sides: tuple[float, float, float]  # [m]
    conductivity: float  # [W/(m K)]
    volume_heat: float  # heat capacity per volume [J/(m3 K)]
    film: float  # heat transfer coefficient at the faces [W/(m2 K)]; inf = faces at oven temperature
    start: float  # [K]
    oven: float  # [K]
    insulated: tuple[bool, bool, bool] = (False, False, False)  # one face of that axis lets no heat in

    @property
    def half_sides(self) -> tuple[float, ...]:
        """Distance from the coldest plane to a heated face, along each axis [m]."""
        return tuple(
            side if shut else side / 2 for side, shut in zip(self.sides, self.insulated, strict=True)
        )

    @property
    def diffusivity(self) -> float:
        """[m2/s]"""
        return self.conductivity / self.volume_heat


def unheated(block: Block, depth: Sequence[float], times: np.ndarray | Sequence[float]) -> np.ndarray:
    """Share of the step from start to oven temperature that one place has still to go, from 1 to 0.

    Parameters
    ----------
    block : Block
    depth : 3 float
        How far the place lies inside the nearest heated face, along each axis [m].
    times : array (n,)
        Since it was put in the oven [s].

    Returns
    -------
    ndarray (n,)

    Raises
    ------
    LawError
        If the place lies outside, or a side or property is not above 0.

    Source
    ------
    Incropera et al., Fundamentals of Heat and Mass Transfer, sections 5.5 and 5.8: exact series of the
    slab and the product of three slabs. One material, constant properties, no latent heat.
    """
    _check(block, depth)
    times = np.asarray(times, dtype=float)
    left = np.ones_like(times)
    for half, inside in zip(block.half_sides, depth, strict=True):
        biot = block.film * half / block.conductivity
        fourier = block.diffusivity * times / half**2
        left = left * slab(biot, fourier, 1 - inside / half)
    return left


def time_to_temperature(block: Block, depth: Sequence[float], target: float) -> float:
    """Time until one place in a block reaches `target` [s]; 0 if it is past it at once, inf if it never is.

    Parameters, raises and source as in `unheated`; `target` [K].
    """
    step = block.oven - block.start
    if step == 0:
        return 0.0 if target == block.start else inf
    share = (block.oven - target) / step
    if share >= 1:
        return 0.0
    if share <= 0:
        return inf

    def excess(time: float) -> float:
        return float(unheated(block, depth, [time])[0] - share)

    late = min(block.half_sides) ** 2 / block.diffusivity
    while excess(late) > 0:
        late *= 2
    return float(brentq(excess, 0.0, late, rtol=1e-12))


def core(block: Block) -> tuple[float, float, float]:
    """Depth of the place that heats last [m], along each axis."""
    along, across, up = block.half_sides
    return along, across, up


def slab(biot: float, fourier: np.ndarray | Sequence[float] | float, place: float) -> np.ndarray:
    """Share of the temperature step that a slab has still to go, (T_oven - T) / (T_oven - T_start).

    Parameters
    ----------
    biot : float
        film x half thickness / conductivity [-]; inf = face at oven temperature.
    fourier : array or float
        diffusivity x time / half thickness^2 [-].
    place : float
        From 0 in the middle to 1 at the face [-].

    Source
    ------
    Incropera et al., section 5.5.1: sum of C exp(-zeta^2 Fo) cos(zeta x), zeta tan zeta = Bi,
    C = 4 sin zeta / (2 zeta + sin 2 zeta). Terms are added until the next is below 1e-12.
    """
    fourier = np.atleast_1d(np.asarray(fourier, dtype=float))
    left = np.ones_like(fourier)
    begun = fourier > 1e-7  # before that only a skin has felt the oven
    if begun.any():
        count = 2 + int(sqrt(-np.log(SMALL) / fourier[begun].min()) / pi)
        zeta = eigenvalues(biot, count)
        weight = coefficients(zeta) * np.cos(zeta * place)
        left[begun] = np.exp(-np.outer(fourier[begun], zeta**2)) @ weight
    return np.asarray(np.clip(left, 0.0, 1.0))


def eigenvalues(biot: float, count: int) -> np.ndarray:
    """The first `count` roots of zeta tan zeta = Bi.

    Source: bisection; root n lies between (n-1) pi and (n-1/2) pi.
    """
    if biot <= 0:
        raise LawError(f"Biot number must be above 0, got {biot:g}")
    low = pi * np.arange(count)
    high = low + pi / 2
    if biot == inf:
        return high
    for _ in range(60):
        middle = (low + high) / 2
        above = middle * np.sin(middle) > biot * np.cos(middle)
        above ^= (np.arange(count) % 2).astype(bool)  # both sides change sign each half turn
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return (low + high) / 2


def coefficients(zeta: np.ndarray | Sequence[float]) -> np.ndarray:
    """Weights of the slab's series, 4 sin zeta / (2 zeta + sin 2 zeta)."""
    zeta = np.asarray(zeta)
    return np.asarray(4 * np.sin(zeta) / (2 * zeta + np.sin(2 * zeta)))


def _check(block: Block, depth: Sequence[float]) -> None:
    if min(*block.sides, block.conductivity, block.volume_heat, block.film) <= 0:
        raise LawError(f"sides and properties of a block must be above 0, got {block}")
    if any(not 0 <= inside <= half for inside, half in zip(depth, block.half_sides, strict=True)):
        raise LawError(f"the place {tuple(depth)} m lies outside a block of {block.sides} m")
