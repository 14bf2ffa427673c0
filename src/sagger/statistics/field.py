"""A smooth field over a space from scattered readings: a plane, and what bends it, with its uncertainty."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from sagger.errors import LawError

Array = NDArray[np.float64]
_LEAST = 2  # readings beyond the plane's own figures that a field needs
_TRUST = 2.0  # a field is kept if it raises the log likelihood by more than this (two figures more)


class FieldModel(NamedTuple):
    """What a field is like: its plane's axes, its spread, how far it reaches, and noise of a reading."""

    axes: tuple[int, ...]
    amplitude: float
    reach: Array  # (d,) in the unit of the places
    noise: float


class Seen(NamedTuple):
    """Mean and standard uncertainty of the field at some places, readings' noise not included."""

    mean: Array
    u: Array


def shape(places: Array, values: Array, size: Array, least_noise: float) -> FieldModel:
    """The field that explains readings best, by restricted maximum likelihood.

    Parameters
    ----------
    places : array (n, d)
    values : array (n,)
    size : array (d,)
        Of the space, in the unit of `places`: a field reaches from a fifth of it to twice.
    least_noise : float
        Standard uncertainty of a reading; noise found is never below it.

    Returns
    -------
    Shape
        The plane slopes along the axes in which places differ. Amplitude 0 where a bend about the plane is
        not told from noise.

    Raises
    ------
    LawError
        If there are too few readings for a plane.

    Source
    ------
    Rasmussen and Williams, Gaussian Processes for Machine Learning (2006), eqs 2.41 to 2.45.
    """
    axes = tuple(axis for axis in range(places.shape[1]) if np.ptp(places[:, axis]) > 1e-3 * size[axis])
    if len(values) < len(axes) + 1 + _LEAST:
        raise LawError(
            f"a map over {len(axes)} axes needs {len(axes) + 1 + _LEAST} places at least, got {len(values)}"
        )
    scale = float(np.std(values)) or least_noise

    def off(guess: Array) -> float:
        tried = _tried(axes, guess, size, scale, least_noise)
        return -_likelihood(places, values, tried)

    plain = minimize(off, [-20.0, 0.0, -1.0], bounds=[(-20.0, -20.0), (0.0, 0.0), (-7.0, 2.0)])
    starts = [(-0.7, -0.7, -1.0), (-0.7, 0.3, -2.0)]
    bounds = [(-7.0, 3.0), (np.log(0.2), np.log(2.0)), (-7.0, 2.0)]
    bent = min((minimize(off, start, bounds=bounds) for start in starts), key=lambda tried: tried.fun)
    best = bent if plain.fun - bent.fun > _TRUST else plain
    fitted = _tried(axes, best.x, size, scale, least_noise)
    return fitted if best is bent else fitted._replace(amplitude=0.0)


def seen(places: Array, values: Array, of: FieldModel, at: Array) -> Seen:
    """The field at places `at` (m, d), from readings.

    Source
    ------
    Rasmussen and Williams (2006), eqs 2.41 and 2.42: universal kriging, the plane's figures unknown.
    """
    middle = places.mean(axis=0)
    factor, plane, inner, beta = _solved(places, values, of)
    cross = _covariance(places, at, of)
    left = values - plane @ beta
    away = _plane(at - middle, of.axes).T - plane.T @ cho_solve(factor, cross)
    mean = _plane(at - middle, of.axes) @ beta + cross.T @ cho_solve(factor, left)
    kept = of.amplitude**2 - np.einsum("ij,ij->j", cross, cho_solve(factor, cross))
    variance = kept + np.einsum("ij,ij->j", away, np.linalg.solve(inner, away))
    return Seen(np.asarray(mean), np.sqrt(np.maximum(variance, 0.0)))


def _tried(axes: tuple[int, ...], guess: Array, size: Array, scale: float, least: float) -> FieldModel:
    amplitude, reach, noise = np.exp(guess)
    return FieldModel(axes, float(scale * amplitude), size * reach, float(np.hypot(scale * noise, least)))


def _plane(places: Array, axes: tuple[int, ...]) -> Array:
    return np.column_stack([np.ones(len(places)), places[:, list(axes)]])


def _covariance(one: Array, other: Array, of: FieldModel) -> Array:
    apart = (one[:, None] - other[None]) / of.reach
    return np.asarray(of.amplitude**2 * np.exp(-0.5 * np.sum(apart**2, axis=2)))


def _solved(places: Array, values: Array, of: FieldModel) -> tuple[tuple[Array, bool], Array, Array, Array]:
    """Factor of the covariance, the plane's terms, their information and their values."""
    whole = _covariance(places, places, of) + of.noise**2 * np.eye(len(places))
    factor = cho_factor(whole)
    plane = _plane(places - places.mean(axis=0), of.axes)
    inner = plane.T @ cho_solve(factor, plane)
    beta = np.linalg.solve(inner, plane.T @ cho_solve(factor, values))
    return factor, plane, inner, beta


def _likelihood(places: Array, values: Array, of: FieldModel) -> float:
    (lower, _), plane, inner, beta = _solved(places, values, of)
    left = values - plane @ beta
    misfit = left @ cho_solve((lower, False), left)
    return float(-0.5 * (misfit + 2 * np.log(np.diag(lower)).sum() + np.linalg.slogdet(inner)[1]))
