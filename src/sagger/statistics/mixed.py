"""One mean seen through several kinds of scatter at once: which lot, which place, which piece."""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from sagger.errors import LawError

Array = NDArray[np.float64]
_NOTHING = 1e-4  # of the residual variance: a component below it is taken for none


class VarianceParts(NamedTuple):
    """What was found; variances by name, "rest" for what no group explains."""

    values: Array  # (p,) of the fixed terms; the mean first
    u: Array  # (p,) standard errors
    freedom: float  # degrees of freedom of the mean's standard error
    variance: dict[str, float]
    levels: dict[str, dict[str, float]]  # best guess of each group's own deviation


def fitted(values: Array, groups: Mapping[str, Sequence[str]], beside: Array | None = None) -> VarianceParts:
    """Mean and variances of readings that belong to several crossed groups.

    Parameters
    ----------
    values : array (n,)
    groups : mapping
        For each kind of group, to which of them each reading belongs, (n,). Kinds with a single group are
        left out, and so is one that divides the readings as an earlier one does: nothing can be said of it.
    beside : array (n, q), optional
        Further fixed terms.

    Raises
    ------
    LawError
        If there are too few readings for the fixed terms.

    Source
    ------
    Restricted maximum likelihood, from statsmodels' mixed linear model. Degrees of freedom after
    Giesbrecht and Burns, Biometrics 41 (1985) 477 (Satterthwaite's rule on the mean's variance).
    """
    terms = np.column_stack([np.ones(len(values)), *([] if beside is None else [beside])])
    if len(values) <= terms.shape[1] + 1:
        raise LawError(f"{len(values)} readings are too few for a mean with its scatter")
    marks = told_apart(groups, len(values))
    scale = float(np.std(values - terms @ np.linalg.lstsq(terms, values, rcond=None)[0])) or 1.0
    components = _components(values / scale, terms, {name: mark for name, (mark, _) in marks.items()})
    parts = {name: mark @ mark.T for name, (mark, _) in marks.items()} | {"rest": np.eye(len(values))}
    whole: Array = np.sum([components[name] * part for name, part in parts.items()], axis=0)
    inverse = np.linalg.inv(whole)
    inner = np.linalg.inv(terms.T @ inverse @ terms)
    best = inner @ terms.T @ inverse @ values
    left = inverse @ (values - terms @ best)
    guesses = {
        name: dict(zip(names, (components[name] * mark.T @ left).tolist(), strict=True))
        for name, (mark, names) in marks.items()
    }
    return VarianceParts(
        values=np.asarray(best),
        u=scale * np.sqrt(np.diag(inner)),
        freedom=_freedom(components, parts, inverse, terms, inner),
        variance={name: share * scale**2 for name, share in components.items()},
        levels=guesses,
    )


def told_apart(groups: Mapping[str, Sequence[str]], count: int) -> dict[str, tuple[Array, list[str]]]:
    """Marks (n, levels) and names of the levels of each kind of group that can be told from the others."""
    marks, seen = {}, set()
    for name, of in groups.items():
        first = {group: place for place, group in reversed(list(enumerate(of)))}
        division = tuple(first[group] for group in of)
        if 1 < len(first) < count and division not in seen:
            marks[name] = _marks(of)
            seen.add(division)
    return marks


def _marks(of: Sequence[str]) -> tuple[Array, list[str]]:
    names = sorted(set(of))
    return (np.array(of)[:, None] == np.array(names)[None]).astype(float), names


def _components(values: Array, terms: Array, marks: dict[str, Array]) -> dict[str, float]:
    """Variance of each kind of group and of the rest, by restricted maximum likelihood."""
    if not marks:
        left = values - terms @ np.linalg.lstsq(terms, values, rcond=None)[0]
        return {"rest": float(left @ left) / (len(values) - terms.shape[1])}
    from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

    names = list(marks)
    columns = [[[str(level) for level in range(marks[name].shape[1])]] for name in names]
    spec = VCSpec(names, columns, [[marks[name]] for name in names])
    with warnings.catch_warnings():  # a variance at zero, or a slow end: both are looked at below
        warnings.simplefilter("ignore")
        model = MixedLM(values, terms, groups=np.zeros(len(values)), exog_vc=spec)
        begun = model.fit(reml=True, method="lbfgs")
    parts = [mark @ mark.T for mark in marks.values()]
    shares = _polished(values, terms, parts, np.append(begun.vcomp / begun.scale, 0.0)[:-1])
    rest, _ = _profile(values, terms, parts, shares)
    kept = np.where(shares < _NOTHING, 0.0, shares) * rest
    return dict(zip(names, kept.tolist(), strict=True)) | {"rest": rest}


def _polished(values: Array, terms: Array, parts: list[ndarray], start: Array) -> Array:
    """The last steps to the maximum, where the library stops early on crossed groups."""

    def off(logs: Array) -> float:
        return _profile(values, terms, parts, np.exp(logs))[1]

    tries = [np.log(np.maximum(start, 1e-3)), np.zeros(len(start))]
    found = [minimize(off, guess, bounds=[(-14.0, 8.0)] * len(start)) for guess in tries]
    return np.asarray(np.exp(min(found, key=lambda one: float(one.fun)).x))


def _profile(values: Array, terms: Array, parts: list[ndarray], shares: Array) -> tuple[float, float]:
    """The rest's variance at its best, and twice the negative restricted log likelihood with it."""
    whole = np.eye(len(values))
    for part, share in zip(parts, shares, strict=True):
        whole += share * part
    factor = cho_factor(whole, lower=True)
    solved = cho_solve(factor, terms)
    inner = terms.T @ solved
    left = values - terms @ np.linalg.solve(inner, solved.T @ values)
    free = len(values) - terms.shape[1]
    rest = float(left @ cho_solve(factor, left)) / free
    size = 2 * float(np.log(np.diag(factor[0])).sum()) + float(np.linalg.slogdet(inner)[1])
    return rest, free * math.log(rest) + size


def _freedom(
    found: dict[str, float], parts: dict[str, ndarray], inverse: ndarray, terms: ndarray, inner: ndarray
) -> float:
    names = [name for name in parts if found[name] > 0]
    project = inverse - inverse @ terms @ inner @ terms.T @ inverse
    moved = [project @ parts[name] for name in names]
    information = 0.5 * np.array([[np.sum(a * b.T) for b in moved] for a in moved])
    first = inner[0] @ terms.T @ inverse
    slopes = np.array([first @ parts[name] @ first for name in names])
    spread = float(slopes @ np.linalg.pinv(information) @ slopes)
    return max(1.0, 2 * float(inner[0, 0]) ** 2 / spread)
