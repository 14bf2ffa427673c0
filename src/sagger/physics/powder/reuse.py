"""Powder that goes round: mass balance of a build, and how often its grains were used before. All SI."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sagger.errors import LawError


class Balance(NamedTuple):
    """Where the powder of one build goes [kg]; fed = pieces + lost + back."""

    fed: float
    in_box: float
    pieces: float
    loose: float  # in the box, not in pieces
    lost: float
    back: float  # to the sieve: loose + overfed - lost


def balance(in_box: float, pieces: float, overfeed: float, loss: float) -> Balance:
    """Mass balance of one build.

    Parameters
    ----------
    in_box : float
        Powder that the used height holds, pieces included [kg].
    pieces : float
        Powder bound in pieces [kg].
    overfeed : float
        Powder fed beyond what the box holds, as a share of it [-].
    loss : float
        Share of the loose powder that is lost: oversize, dust, trapped [-].

    Raises
    ------
    LawError
        If the pieces hold more than the box, or a share lies outside 0 to 1.

    Source: mass balance.
    """
    if not 0 <= pieces <= in_box * (1 + 1e-9):
        raise LawError(f"pieces of {pieces:.4g} kg do not fit in a box that holds {in_box:.4g} kg of powder")
    if not (0 <= loss <= 1 and overfeed >= 0):
        raise LawError(f"loss must lie between 0 and 1 and overfeed above 0, got {loss:g} and {overfeed:g}")
    loose = max(0.0, in_box - pieces)
    lost = loss * loose
    fed = in_box * (1 + overfeed)
    return Balance(fed, in_box, pieces, loose, lost, fed - pieces - lost)


def exposed(ages: Sequence[float]) -> np.ndarray:
    """Age histogram of powder that has been through one more build [-]. Source: definition."""
    return np.concatenate([[0.0], np.asarray(ages, dtype=float)])


def older(ages: Sequence[float], age: int) -> float:
    """Share of powder that went through `age` builds or more [-]. Source: definition."""
    if age < 1:
        raise LawError(f"powder is old after one build or more, got {age}")
    return float(np.asarray(ages, dtype=float)[age:].sum())


def virgin_to_add(ages: Sequence[float], age: int, share: float) -> float:
    """Least share of virgin powder in a blend with this powder, so that at most `share` of the blend is old.

    Parameters
    ----------
    ages : (n,) float
        Mass share of the used powder that went through 0, 1, 2, ... builds; sums to 1.
    age : int
        Number of builds from which powder counts as old.
    share : float
        What may be old in the blend [-].

    Returns
    -------
    float
        Virgin mass over mass of the blend, 0 to 1 [-].

    Source: mass balance, (1 - v) old = share.
    """
    _check_share(share)
    old = older(ages, age)
    return max(0.0, 1 - share / old) if old > 0 else 0.0


def mixed(histograms: Sequence[Sequence[float]], masses: Sequence[float]) -> np.ndarray:
    """Age histogram of lots poured together, by mass. Source: mass balance."""
    longest = max(len(ages) for ages in histograms)
    padded = [np.pad(np.asarray(ages, dtype=float), (0, longest - len(ages))) for ages in histograms]
    return np.asarray(np.average(padded, axis=0, weights=masses))


def mean_age(ages: Sequence[float]) -> float:
    """Mean number of builds behind a charge [-]."""
    share = np.asarray(ages, dtype=float)
    return float((share * np.arange(len(share))).sum() / share.sum())


def mean_age_after(virgin: float, builds: int) -> float:
    """Mean number of builds behind a charge refreshed `builds` times, from virgin powder.

    Source: A' = (1 - u)(A + 1), summed: (1 - u)/u [1 - (1 - u)^n].
    """
    _check_share(virgin)
    left = 1 - virgin
    return left / virgin * (1 - float(left**builds))


def share_older(virgin: float, age: int) -> float:
    """Share of a steady charge that went through `age` builds or more [-]. Source: geometric distribution."""
    _check_share(virgin)
    return float((1 - virgin) ** age)


def virgin_needed(age: int, share: float) -> float:
    """Least share of virgin powder per build so that at most `share` has `age` builds or more behind it [-].

    Source: geometric distribution of ages, solved for u.
    """
    _check_share(share)
    return 1 - float(share ** (1 / age))


def _check_share(share: float) -> None:
    if not 0 < share <= 1:
        raise LawError(f"a share of powder must lie between 0 and 1, got {share:g}")
