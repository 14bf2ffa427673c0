"""Durations drawn around the planned ones: the same build has the same luck in every plan."""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.workload import Workload


class Drawn(NamedTuple):
    """Durations by sample and build, int64 (samples, n) [quarters]."""

    printing: ndarray
    hands: ndarray


class Scattering(NamedTuple):
    """How much durations scatter."""

    printing: float  # relative standard deviation
    hands: float
    lost: float  # share of builds that are printed a second time


def drawn(
    work: Workload, names: Sequence[tuple[str, str]], scatter: Scattering, samples: int, seed: int
) -> Drawn:
    """Lognormal durations with the planned ones as mean; builds that are lost are printed twice.

    Each build draws by its own name, so that another order in the book changes nobody's luck. Made input:
    no figure of any shop stands behind the shape.
    """
    printing = np.zeros((samples, len(names)), np.int64)
    hands = np.zeros_like(printing)
    for build, name in enumerate(names):
        luck = np.random.default_rng([seed, zlib.crc32("/".join(name).encode())])
        again = 1 + (luck.random(samples) < scatter.lost)
        lengths = int(work.builds.printing[build]), int(work.builds.hands[build])
        printing[:, build] = _rounded(lengths[0] * again * _factor(luck, scatter.printing, samples))
        hands[:, build] = _rounded(lengths[1] * _factor(luck, scatter.hands, samples))
    return Drawn(printing, hands)


def _factor(luck: np.random.Generator, relative: float, samples: int) -> ndarray:
    """Lognormal with mean 1."""
    spread = math.sqrt(math.log1p(relative**2))
    return np.asarray(np.exp(luck.standard_normal(samples) * spread - spread**2 / 2))


def _rounded(length: ndarray) -> ndarray:
    return np.asarray(np.maximum(1, np.rint(length)), np.int64)
