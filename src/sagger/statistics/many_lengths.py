"""Lengths of many sizes and directions at once: what they have in common, and where their scatter is from."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from sagger.errors import LawError
from sagger.statistics.mixed import told_apart

Array = NDArray[np.float64]
REST, FACES = "rest", "faces"  # what grows with a length and belongs to no group; what does not grow
LOWEST, HIGHEST = -30.0, 8.0  # logarithms of a variance over its scale
NOTHING = 1e-5  # of the variance of a usual length: a part below it is taken for none


class ManyLengths(NamedTuple):
    """What was found."""

    values: Array  # (p,) of the terms
    covariance: Array  # (p, p) of what readings have for themselves and by their groups
    shared: Array  # (p, p) of what readings of one instrument share
    freedom: Array  # (p,) degrees of freedom of each standard error, shared part left out
    variance: dict[
        str, float
    ]  # relative ones of groups and "rest" [-]; of "faces" in the unit of lengths, squared
    levels: dict[str, dict[str, float]]  # best guess of each group's own relative deviation

    @property
    def u(self) -> Array:
        """Standard uncertainties, (p,)."""
        return np.sqrt(np.diag(self.covariance + self.shared))


class LengthRows(NamedTuple):
    """Readings as rows of a linear model."""

    values: Array  # (n,) lengths read
    terms: Array  # (n, p)
    lengths: Array  # (n,) by which relative scatter moves each
    u: Array  # (n,) standard uncertainty of each alone, known
    u_shared: Array  # (n,) of what it shares with others of one instrument
    instruments: Sequence[str]


def fitted(rows: LengthRows, groups: Mapping[str, Sequence[str]]) -> ManyLengths:
    """Terms common to all rows, and where their scatter comes from.

    Parameters
    ----------
    rows : LengthRows
        values = terms @ what is sought + lengths x (groups' own deviations + rest) + faces + reading.
    groups : mapping
        For each kind of group, to which of them each row belongs, (n,).

    Raises
    ------
    LawError
        If there are too few rows, or the terms cannot be told apart.

    Source
    ------
    Generalised least squares with variances by restricted maximum likelihood (Patterson and Thompson 1971);
    degrees of freedom after Giesbrecht and Burns, Biometrics 41 (1985) 477; readings of one instrument fully
    correlated in what they share, those of two not at all (JCGM 100:2008, 5.2).
    """
    count, terms = rows.terms.shape
    if count <= terms + 1 or np.linalg.matrix_rank(rows.terms) < terms:
        raise LawError(f"{count} readings do not tell {terms} terms apart")
    marks = told_apart(groups, count)
    along = rows.lengths[:, None]
    parts = {name: along * (mark @ mark.T) * rows.lengths for name, (mark, _) in marks.items()}
    parts |= {REST: np.diag(rows.lengths**2), FACES: np.eye(count)}
    variance = _variances(rows, parts)
    solved = _solved(rows, parts, variance)
    names = np.array(rows.instruments)
    moved = [
        solved.gain @ np.where(names == name, rows.u_shared, 0.0) for name in sorted(set(names.tolist()))
    ]
    left = solved.inverse @ (rows.values - rows.terms @ solved.values)
    levels = {
        name: dict(zip(of, (variance[name] * mark.T @ (rows.lengths * left)).tolist(), strict=True))
        for name, (mark, of) in marks.items()
    }
    freedom = _freedom(rows, parts, variance, solved)
    shared = np.sum([np.outer(lever, lever) for lever in moved], axis=0)
    return ManyLengths(solved.values, solved.covariance, shared, freedom, variance, levels)


class _Solved(NamedTuple):
    values: Array
    covariance: Array
    inverse: Array  # of the covariance of the rows
    gain: Array  # (p, n): values = gain @ rows


def _solved(rows: LengthRows, parts: dict[str, Array], variance: dict[str, float]) -> _Solved:
    whole = np.diag(rows.u**2) + sum(variance[name] * part for name, part in parts.items())
    inverse = cho_solve(cho_factor(whole, lower=True), np.eye(len(rows.values)))
    covariance = np.linalg.inv(rows.terms.T @ inverse @ rows.terms)
    gain = covariance @ rows.terms.T @ inverse
    return _Solved(gain @ rows.values, covariance, inverse, gain)


def _variances(rows: LengthRows, parts: dict[str, Array]) -> dict[str, float]:
    """By the maximum of the restricted likelihood, from two starts."""
    names, usual = list(parts), float(np.mean(rows.lengths**2))
    residual = rows.values - rows.terms @ np.linalg.lstsq(rows.terms, rows.values, rcond=None)[0]
    scatter = float(residual @ residual) / (len(residual) - rows.terms.shape[1])
    floor = max(scatter, float(np.mean(rows.u**2)), 1e-18)
    scales = np.array([floor if name == FACES else floor / usual for name in names])

    def off(logs: Array) -> tuple[float, Array]:
        return _likelihood(rows, list(parts.values()), np.exp(logs) * scales, scales)

    starts = [np.full(len(names), start) for start in (-1.5, -5.0)]
    bounds = [(LOWEST, HIGHEST)] * len(names)
    tried = [minimize(off, start, jac=True, bounds=bounds, method="L-BFGS-B") for start in starts]
    best = np.exp(min(tried, key=lambda one: float(one.fun)).x) * scales
    small = best * [1.0 if name == FACES else usual for name in names] < NOTHING * floor
    return dict(zip(names, np.where(small, 0.0, best).tolist(), strict=True))


def _likelihood(rows: LengthRows, parts: list[Array], variances: Array, scales: Array) -> tuple[float, Array]:
    """Twice the negative restricted log likelihood, and its slope by the logarithms of the variances."""
    whole = np.diag(rows.u**2 + 1e-9 * scales[-1])
    for part, variance in zip(parts, variances, strict=True):
        whole = whole + variance * part
    factor = cho_factor(whole, lower=True)
    inverse = cho_solve(factor, np.eye(len(whole)))
    inner = rows.terms.T @ inverse @ rows.terms
    project = inverse - inverse @ rows.terms @ np.linalg.solve(inner, rows.terms.T @ inverse)
    left = project @ rows.values
    size = 2 * float(np.log(np.diag(factor[0])).sum()) + float(np.linalg.slogdet(inner)[1])
    slopes = [float((project * part).sum() - left @ part @ left) for part in parts]
    return size + float(rows.values @ left), np.array(slopes) * variances


def _freedom(rows: LengthRows, parts: dict[str, Array], variance: dict[str, float], solved: _Solved) -> Array:
    """Satterthwaite's rule for the variance of each term."""
    names = [name for name in parts if variance[name] > 0]
    if not names:
        return np.full(len(solved.values), math.inf)
    project = solved.inverse - solved.inverse @ rows.terms @ solved.gain
    moved = [project @ parts[name] for name in names]
    information = 0.5 * np.array([[float((one * other.T).sum()) for other in moved] for one in moved])
    freedom = []
    for term, gain in enumerate(solved.gain):
        slopes = np.array([gain @ parts[name] @ gain for name in names])
        spread = float(slopes @ np.linalg.pinv(information) @ slopes)
        freedom.append(max(1.0, 2 * float(solved.covariance[term, term]) ** 2 / spread))
    return np.array(freedom)
