"""How much of a scatter is the gauge: repeatability and reproducibility of crossed studies."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import f as fisher

from sagger.errors import LawError
from sagger.statistics.charts import constants

Array = NDArray[np.float64]
POOL = 0.25  # interaction less likely than this by chance is kept; common practice, no source


class Study(NamedTuple):
    """Standard deviations of a gauge study, and how many classes of parts the gauge tells apart."""

    repeat: float  # of the same person on the same part
    operator: float  # between persons, with the interaction of persons and parts if there is one
    gauge: float  # both
    part: float
    total: float
    share: float  # gauge over total [-]
    classes: int
    pooled: bool  # no interaction was told; it went into the repeatability
    interaction_p: float
    clipped: tuple[str, ...]  # variances that came out below 0 and were set to it


def crossed(readings: ArrayLike) -> Study:
    """A study in which each person measures each part several times, by analysis of variance.

    Parameters
    ----------
    readings : array (operators, parts, trials)

    Raises
    ------
    LawError
        If there are not two of each.

    Source
    ------
    Two-way random effects, as in measurement systems analysis; 1.41 = sqrt(2) for the classes.
    """
    given = _given(readings)
    people, parts, trials = given.shape
    mean = given.mean()
    by_person, by_part, by_cell = given.mean(axis=(1, 2)), given.mean(axis=(0, 2)), given.mean(axis=2)
    ss_person = parts * trials * np.sum((by_person - mean) ** 2)
    ss_part = people * trials * np.sum((by_part - mean) ** 2)
    ss_cross = trials * np.sum((by_cell - by_person[:, None] - by_part[None] + mean) ** 2)
    ss_rest = np.sum((given - by_cell[..., None]) ** 2)
    free_cross, free_rest = (people - 1) * (parts - 1), people * parts * (trials - 1)
    p = float(fisher.sf((ss_cross / free_cross) / (ss_rest / free_rest), free_cross, free_rest))
    pooled = p > POOL
    rest = (ss_rest + ss_cross) / (free_rest + free_cross) if pooled else ss_rest / free_rest
    against = rest if pooled else ss_cross / free_cross
    raw = {
        "interaction": 0.0 if pooled else (against - rest) / trials,
        "operator": (ss_person / (people - 1) - against) / (parts * trials),
        "part": (ss_part / (parts - 1) - against) / (people * trials),
    }
    clipped = tuple(name for name, value in raw.items() if value < 0)
    kept = {name: max(0.0, float(value)) for name, value in raw.items()}
    return _study(float(rest), kept["operator"] + kept["interaction"], kept["part"], pooled, p, clipped)


def by_ranges(readings: ArrayLike) -> Study:
    """The same study by averages and ranges: the older way, whose number of classes may differ by one.

    Source
    ------
    Average and range method of measurement systems analysis; d2 of a single range for persons and parts.
    """
    given = _given(readings)
    people, parts, trials = given.shape
    repeat = float(np.ptp(given, axis=2).mean()) / constants(trials).d2
    between = float(np.ptp(given.mean(axis=(1, 2)))) / _single(people)
    variance = between**2 - repeat**2 / (parts * trials)
    part = float(np.ptp(given.mean(axis=(0, 2)))) / _single(parts)
    clipped = ("operator",) if variance < 0 else ()
    return _study(repeat**2, max(0.0, variance), part**2, True, float("nan"), clipped)


def _study(
    repeat: float, operator: float, part: float, pooled: bool, p: float, clipped: tuple[str, ...]
) -> Study:
    gauge, total = repeat + operator, repeat + operator + part
    classes = 1.41 * np.sqrt(part / gauge) if gauge > 0 else np.inf
    return Study(
        float(np.sqrt(repeat)),
        float(np.sqrt(operator)),
        float(np.sqrt(gauge)),
        float(np.sqrt(part)),
        float(np.sqrt(total)),
        float(np.sqrt(gauge / total)) if total > 0 else 0.0,
        int(min(classes, 10_000)),
        pooled,
        p,
        clipped,
    )


def _single(count: int) -> float:
    """d2* of one range: root of the mean square of the range of n standard normal values."""
    of = constants(count)
    return float(np.hypot(of.d2, of.d3))


def _given(readings: ArrayLike) -> Array:
    given = np.asarray(readings, float)
    if given.ndim != 3 or min(given.shape) < 2:
        raise LawError(f"a gauge study needs two persons, parts and trials at least, got {given.shape}")
    return given
