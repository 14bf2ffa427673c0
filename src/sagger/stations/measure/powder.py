"""Whether a lot of used powder is still what its card describes."""

from __future__ import annotations

import numpy as np

from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.lot import Lot
from sagger.goods.powder import Powder
from sagger.physics import reuse

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
    found = [
        _old(lot, limits.most_builds, limits.old_share),
        _fines(lot, powder, limits.fines_lost) if "curve" in measured else None,
        _oxygen(lot, limits.most_oxygen),
    ]
    return tuple(finding for finding in found if finding is not None)


def _old(lot: Lot, most: Figure | None, allowed: Figure | None) -> Finding | None:
    if most is None or lot.exposures is None:
        return None
    share = reuse.older(list(lot.exposures), round(most.value))
    limit = allowed.value if allowed else 0.0
    text = f"{share:.1%} of lot {lot.name} went through {most.value:.0f} builds or more, {limit:.1%} may"
    remedy = "" if share <= limit else "Blend virgin powder in; `sagger lots refresh` says how much."
    return _finding("old powder", text, share, limit, _told(allowed or most), remedy)


def _fines(lot: Lot, powder: Powder, most: Figure | None) -> Finding | None:
    if most is None or lot.curve is None:
        return None
    finer = float(np.interp(np.log(powder.d10.value), np.log(lot.curve.size), lot.curve.finer, left=0.0))
    lost = 1 - finer / FINES
    text = (
        f"lot {lot.name} has {finer:.1%} finer than {powder.d10.value * 1e6:.1f} µm, its card {FINES:.0%}: "
    )
    text += f"{lost:.0%} of the fines are gone, {most.value:.0%} may be"
    remedy = "" if lost <= most.value else "Blend virgin powder in and print a density coupon."
    return _finding("fines lost", text, lost, most.value, _told(most), remedy)


def _oxygen(lot: Lot, most: Figure | None) -> Finding | None:
    if most is None or lot.oxygen is None:
        return None
    text = f"lot {lot.name} holds {lot.oxygen.value:.3%} of oxygen, {most.value:.3%} may be"
    remedy = (
        ""
        if lot.oxygen.value <= most.value
        else "Print and sinter a density coupon before it goes into parts."
    )
    return _finding("oxygen", text, lot.oxygen.value, most.value, _told(most), remedy)


def _finding(what: str, text: str, value: float, limit: float, source: str, remedy: str) -> Finding:
    return Finding(
        level="look" if remedy else "ok",
        what=what,
        text=text,
        value=100 * value,
        limit=100 * limit,
        unit="%",
        source=source,
        remedy=remedy,
    )


def _told(figure: Figure) -> str:
    return f"{figure.source} ({figure.standing})"
