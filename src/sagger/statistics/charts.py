"""Control charts: limits, run rules, and how long until an alarm that means nothing, or one that does."""

from __future__ import annotations

import math
from collections.abc import Collection
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln, ndtr
from scipy.stats import norm

from sagger.errors import LawError

Array = NDArray[np.float64]
NODES = 81  # of the quadrature for run lengths
RULES = {
    "beyond": "one point beyond three standard deviations",
    "two of three": "two of three points beyond two standard deviations on one side",
    "four of five": "four of five points beyond one standard deviation on one side",
    "run": "a run of points on one side of the mean",
}
DEFAULT = ("beyond", "run")  # all four alarm for nothing about every 92 points


class Constants(NamedTuple):
    """Factors for subgroups of n; names as in ISO 7870-2."""

    A2: float
    A3: float
    c4: float
    B3: float
    B4: float
    d2: float
    d3: float
    D3: float
    D4: float


@cache
def constants(count: int) -> Constants:
    """Control chart factors for subgroups of `count`, by integration of the range's distribution.

    Source
    ------
    Definitions: d2, d3 = mean and standard deviation of the range of n standard normal values.
    """
    if count < 2:
        raise LawError(f"a subgroup needs two pieces at least, got {count}")
    x = np.linspace(-8, 8, 1601)
    step, cdf = x[1] - x[0], ndtr(x)
    d2 = float(np.sum(1 - cdf**count - (1 - cdf) ** count) * step)
    low, high = np.meshgrid(cdf, cdf, indexing="ij")
    inside = np.triu(1 - high**count - (1 - low) ** count + np.maximum(high - low, 0) ** count, 1)
    diagonal = np.diag(1 - high**count - (1 - low) ** count)
    square = 2 * float(inside.sum() + diagonal.sum() / 2) * step**2
    d3 = math.sqrt(square - d2**2)
    c4 = math.sqrt(2 / (count - 1)) * math.exp(gammaln(count / 2) - gammaln((count - 1) / 2))
    wide, root = 3 * math.sqrt(1 - c4**2) / c4, math.sqrt(count)
    return Constants(
        A2=3 / (d2 * root),
        A3=3 / (c4 * root),
        c4=c4,
        B3=max(0.0, 1 - wide),
        B4=1 + wide,
        d2=d2,
        d3=d3,
        D3=max(0.0, 1 - 3 * d3 / d2),
        D4=1 + 3 * d3 / d2,
    )


class ChartLimits(NamedTuple):
    """Centre and limits of a chart, and the standard deviation they rest on."""

    centre: float
    lower: float
    upper: float
    sd: float


def individuals(values: ArrayLike) -> ChartLimits:
    """Limits of a chart of single values, from the mean moving range.

    Source
    ------
    NIST/SEMATECH e-Handbook 6.3.2.2: mean ± 3 mean moving range / 1.128.
    """
    given = np.asarray(values, float)
    if len(given) < 3:
        raise LawError(f"a chart of single values needs three at least, got {len(given)}")
    centre, sd = float(given.mean()), float(np.abs(np.diff(given)).mean()) / 1.128
    return ChartLimits(centre, centre - 3 * sd, centre + 3 * sd, sd)


def moving_range(values: ArrayLike) -> ChartLimits:
    """Limits of a chart of the differences between neighbours, all taken as positive.

    Source
    ------
    NIST/SEMATECH e-Handbook 6.3.2.2 for the mean range; upper limit D4 of two by definition, see `constants`.
    """
    limits, pair = individuals(values), constants(2)
    mean = float(np.abs(np.diff(np.asarray(values, float))).mean())
    return ChartLimits(mean, pair.D3 * mean, pair.D4 * mean, limits.sd)


def moving_range_every() -> float:
    """One in how many moving ranges of a quiet normal process lies beyond the upper limit [-].

    Source
    ------
    The difference of two normal values is normal with sqrt(2) times their standard deviation.
    """
    pair = constants(2)
    return 1 / (2 * float(norm.sf(pair.D4 * pair.d2 / math.sqrt(2))))


def ewma(values: ArrayLike, weight: float, start: float) -> Array:
    """Exponentially weighted means, one after each value: z = weight x + (1 - weight) z."""
    z, out = start, []
    for value in np.asarray(values, float).tolist():
        z = weight * value + (1 - weight) * z
        out.append(z)
    return np.array(out)


def ewma_limits(target: float, sd: float, weight: float, wide: float = 3.0) -> ChartLimits:
    """Limits of a chart of weighted means after many values.

    Source
    ------
    NIST/SEMATECH e-Handbook 6.3.2.4: target ± L sd sqrt(weight / (2 - weight)).
    """
    half = wide * sd * math.sqrt(weight / (2 - weight))
    return ChartLimits(target, target - half, target + half, sd)


def cusum(values: ArrayLike, target: float, sd: float, slack: float = 0.5) -> tuple[Array, Array]:
    """Upper and lower cumulative sums, in standard deviations (NIST/SEMATECH e-Handbook 6.3.2.3)."""
    high, low, up, down = 0.0, 0.0, [], []
    for z in ((np.asarray(values, float) - target) / sd).tolist():
        high, low = max(0.0, high + z - slack), max(0.0, low - z - slack)
        up.append(high)
        down.append(low)
    return np.array(up), np.array(down)


def alarms(z: ArrayLike, rules: Collection[str] = DEFAULT, run: int = 9) -> tuple[tuple[int, str], ...]:
    """Which points alarm, and by which rule; `z` in standard deviations from the mean.

    Source
    ------
    Run rules after Nelson, J. Qual. Technol. 16 (1984) 237.
    """
    raised, state = [], _START
    for place, value in enumerate(np.asarray(z, float).tolist()):
        state, broken = _moved(state, _zone(value), rules, run)
        raised += [(place, rule) for rule in broken]
    return tuple(raised)


def rules_run_length(rules: Collection[str] = DEFAULT, run: int = 9, shift: float = 0.0) -> float:
    """Average number of points until an alarm of a chart with run rules, the mean shifted by `shift` [-].

    Source
    ------
    Champ and Woodall, Technometrics 29 (1987) 393: a Markov chain over what the rules remember.
    """
    states, rows = [_START], []
    for state in states:  # grows while it is walked
        row: dict[_State, float] = {}
        for zone in _ZONES:
            after, broken = _moved(state, zone, rules, run)
            if not broken:
                row[after] = row.get(after, 0.0) + _chance(zone, shift)
        states += [after for after in row if after not in states]
        rows.append(row)
    place = {state: number for number, state in enumerate(states)}
    left = np.eye(len(states))
    for number, row in enumerate(rows):
        for after, chance in row.items():
            left[number, place[after]] -= chance
    return float(np.linalg.solve(left, np.ones(len(states)))[0])


def ewma_run_length(weight: float, wide: float, shift: float = 0.0) -> float:
    """Average number of points until an alarm of a two-sided chart of weighted means, fixed limits.

    Source
    ------
    Crowder, Technometrics 29 (1987) 401: Fredholm equation, solved by Gauss and Legendre's rule.
    """
    edge = wide * math.sqrt(weight / (2 - weight))
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    x = edge * nodes
    kernel = norm.pdf((x[None] - (1 - weight) * x[:, None]) / weight - shift) * edge * weights / weight
    lengths = np.linalg.solve(np.eye(NODES) - kernel, np.ones(NODES))
    return float(1 + norm.pdf(x / weight - shift) * edge * weights / weight @ lengths)


def cusum_run_length(slack: float, limit: float, shift: float = 0.0, head: float = 0.0) -> float:
    """Average number of points until an alarm of an upper cumulative sum that begins at `head` [-].

    Source
    ------
    Page, Biometrika 41 (1954) 100: Fredholm equation, solved by Gauss and Legendre's rule.
    """
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    x, weights = limit / 2 * (nodes + 1), limit / 2 * weights
    starts = np.concatenate([[0.0], x])
    kernel = np.column_stack(
        [ndtr(slack - starts - shift), norm.pdf(x[None] + slack - starts[:, None] - shift) * weights]
    )
    lengths = np.linalg.solve(np.eye(NODES + 1) - kernel, np.ones(NODES + 1))
    first = np.concatenate([[ndtr(slack - head - shift)], norm.pdf(x + slack - head - shift) * weights])
    return float(1 + first @ lengths)


def cusum_two_sided(slack: float, limit: float, shift: float = 0.0) -> float:
    """Average number of points until an alarm of upper and lower cumulative sums together."""
    up, down = (cusum_run_length(slack, limit, side * shift) for side in (1, -1))
    return 1 / (1 / up + 1 / down)


class _State(NamedTuple):
    """What the rules remember: length and side of the run, and which of the last points lay far out."""

    run: int
    side: int
    far: tuple[int, ...]  # side of each of the last two points if beyond 2, else 0
    out: tuple[int, ...]  # of the last four, beyond 1


_START = _State(0, 0, (0, 0), (0, 0, 0, 0))
_ZONES = (-3, -2, -1, 0, 1, 2, 3, -4)  # zone z >= 0 begins z standard deviations above, -1 to -4 mirror them


def _zone(z: float) -> int:
    size = min(3, int(abs(z)))
    return size if z >= 0 else -1 - size


def _chance(zone: int, shift: float) -> float:
    size = zone if zone >= 0 else -1 - zone
    low, high = float(size), math.inf if size == 3 else size + 1.0
    low, high = (low, high) if zone >= 0 else (-high, -low)
    return float(ndtr(high - shift) - ndtr(low - shift))


def _moved(state: _State, zone: int, rules: Collection[str], run: int) -> tuple[_State, list[str]]:
    """The state after one more point, and the rules that it broke. What no rule asks is forgotten."""
    side, size = (1, zone) if zone >= 0 else (-1, -1 - zone)
    length = state.run + 1 if side == state.side else 1
    far = (*state.far, side if size >= 2 else 0)
    out = (*state.out, side if size >= 1 else 0)
    broken = {
        "beyond": size == 3,
        "two of three": far[-1] == side and far.count(side) >= 2,
        "four of five": out[-1] == side and out.count(side) >= 4,
        "run": length >= run,
    }
    after = _State(
        min(length, run) if "run" in rules else 0,
        side if "run" in rules else 0,
        far[1:] if "two of three" in rules else _START.far,
        out[1:] if "four of five" in rules else _START.out,
    )
    return after, [rule for rule in RULES if rule in rules and broken[rule]]
