"""Whether a lot of used powder is still what its card describes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sagger.goods.figure import Figure
from sagger.goods.finding import Against, Finding, risk
from sagger.goods.lot import Lot
from sagger.goods.powder import Powder
from sagger.physics.powder import reuse

FINES = 0.1  # share of the card's powder that is finer than its d10, by definition


def noticed(lot: Lot, powder: Powder, measured: tuple[str, ...]) -> tuple[Finding, ...]:
    """What a person should look at before the lot goes into a box; empty if the card sets no limits.

    Parameters
    ----------
    lot : Lot
        As the ledger knows it.
    powder : Powder
        Its card.
    measured : tuple of str
        Fields of the lot that were measured on it: a size curve that was worked out shows no loss of fines.

    Source
    ------
    Limits: the card's `reuse`.
    """
    limits = powder.reuse
    if limits is None:
        return ()
    fines = _fines(lot, powder, limits.fines_lost) if "curve" in measured else ()
    return (*_old(lot, limits.most_builds, limits.old_share), *fines, *_oxygen(lot, limits.most_oxygen))


def _old(lot: Lot, most: Figure | None, allowed: Figure | None) -> Iterator[Finding]:
    if most is None or lot.exposures is None:
        return
    share = reuse.older(list(lot.exposures), round(most.value))
    limit = allowed.value if allowed else 0.0
    text = f"{share:.1%} of lot {lot.name} went through {most.value:.0f} builds or more, {limit:.1%} may"
    remedy = "Blend virgin powder in; `sagger lots refresh` says how much."
    yield risk("old powder", text, _shares(share, limit, allowed or most), remedy, unless=share <= limit)


def _fines(lot: Lot, powder: Powder, most: Figure | None) -> Iterator[Finding]:
    if most is None or lot.curve is None:
        return
    finer = float(np.interp(np.log(powder.d10.value), np.log(lot.curve.size), lot.curve.finer, left=0.0))
    lost, limit = 1 - finer / FINES, most.value
    text = (
        f"lot {lot.name} has {finer:.1%} finer than {powder.d10.value * 1e6:.1f} µm, its card {FINES:.0%}: "
        f"{lost:.0%} of the fines are gone, {limit:.0%} may be"
    )
    remedy = "Blend virgin powder in and print a density coupon."
    yield risk("fines lost", text, _shares(lost, limit, most), remedy, unless=lost <= limit)


def _oxygen(lot: Lot, most: Figure | None) -> Iterator[Finding]:
    if most is None or lot.oxygen is None:
        return
    oxygen, limit = lot.oxygen.value, most.value
    text = f"lot {lot.name} holds {oxygen:.3%} of oxygen, {limit:.3%} may be"
    remedy = "Print and sinter a density coupon before it goes into parts."
    yield risk("oxygen", text, _shares(oxygen, limit, most), remedy, unless=oxygen <= limit)


def _shares(value: float, limit: float, figure: Figure) -> Against:
    return Against(100 * value, 100 * limit, "%", f"{figure.source} ({figure.standing})")
