"""What a lattice of drops makes of a round edge: its mean size holds, a plug meets the corners. SI."""

from __future__ import annotations

from math import pi
from typing import NamedTuple

import numpy as np

from sagger.errors import LawError

REACH = 200  # rows of the reciprocal lattice that are summed; what lies beyond is an integral
PHASES = 64  # places of a middle on its cell, spread evenly over it
GOLDEN = np.array([0.7548776662466927, 0.5698402909980532])  # of the plane: fills it evenly


class PlugLoss(NamedTuple):
    """How much smaller the largest circle about the middle is than the outline, on the radius [m]."""

    mean: float  # over places of the middle on the lattice
    most: float


def area_variance(perimeter: float, pitch: tuple[float, float]) -> float:
    """Variance of the area of a shape that is drawn by the drops whose middles lie inside it [m4].

    Parameters
    ----------
    perimeter : float
        [m]; of a smooth outline that is many drops long.
    pitch : tuple of 2 float
        Spacing of drops both ways [m].

    Returns
    -------
    float
        The mean area is exact. On a square lattice 0.072837 perimeter pitch^3.

    Source
    ------
    Kendall, Hlawka, Matheron: variance of systematic sampling goes with outline times spacing^3 (abstract
    read); the constant is perimeter / (4 pi^3) times the sum of |k|^-3 over the reciprocal lattice, here
    summed: 4 zeta(3/2) beta(3/2) / (4 pi^3) where both pitches are alike.
    """
    across, along = pitch
    if perimeter <= 0 or min(pitch) <= 0:
        raise LawError(f"lengths must be above 0, got {perimeter:g} m and {across:g} x {along:g} m")
    far = REACH / max(pitch)
    i, j = (np.arange(-int(far * p), int(far * p) + 1) for p in pitch)
    k2 = (i[:, None] / across) ** 2 + (j / along) ** 2
    near = (k2 > 0) & (k2 <= far**2)
    beyond = 2 * pi * across * along / far
    return float(perimeter / (4 * pi**3) * ((k2[near] ** -1.5).sum() + beyond))


def round_u(diameter: float, pitch: tuple[float, float]) -> float:
    """Standard deviation of the diameter that a round area amounts to, over its places on the lattice [m].

    Parameters
    ----------
    diameter : float
        [m]
    pitch : tuple of 2 float
        Spacing of drops both ways [m].

    Source
    ------
    `area_variance` through d(area) = pi diameter / 2 d(diameter).
    """
    return float(area_variance(pi * diameter, pitch) ** 0.5 / (pi * diameter / 2))


def plug_loss(radius: float, pitch: tuple[float, float]) -> PlugLoss:
    """How far corners of raw drops reach inside a round outline that they were drawn by.

    A hole is left where the middles of drops lie inside the outline; the corners of those round it reach in.
    A disc loses as much to the gaps round it, and by symmetry its corners reach out as far.

    Parameters
    ----------
    radius : float
        Of the outline [m].
    pitch : tuple of 2 float
        Spacing of drops, or of drops and layers where the axis lies in the bed [m].

    Returns
    -------
    PlugLoss
        Before bleeding and sintering, which smooth it by what nobody has measured here.

    Source
    ------
    Enumerated over places of the middle on its cell; no corner reaches further than half a cell's diagonal.
    """
    if radius <= max(pitch):
        raise LawError(f"a round of {radius:g} m is not drawn by drops {max(pitch):g} m apart")
    phases = np.mod(0.5 + np.outer(np.arange(1, PHASES + 1), GOLDEN), 1.0)
    losses = radius - np.array([_clear(radius, pitch, phase) for phase in phases])
    return PlugLoss(float(losses.mean()), float(losses.max()))


def _clear(radius: float, pitch: tuple[float, float], phase: np.ndarray) -> float:
    """From the middle to the nearest drop that lies outside: of each column the first above and below."""
    across, along = pitch
    columns = int(radius / across) + 3
    x = (np.arange(-columns, columns + 1) + phase[0]) * across
    half = np.sqrt(np.maximum(radius**2 - x**2, 0.0)) / along
    above = np.floor(half - phase[1]) + 1 + phase[1]
    below = -(np.ceil(-half - phase[1]) - 1 + phase[1])
    nearest = np.maximum(np.minimum(above, below) * along - along / 2, 0.0)
    return float(np.hypot(np.maximum(np.abs(x) - across / 2, 0.0), nearest).min())
