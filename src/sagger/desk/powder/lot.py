"""The powder lot that an order names: a file beside the order, or a lot of the ledger."""

from __future__ import annotations

from pathlib import Path

from sagger.desk.powder import lots
from sagger.errors import LotError
from sagger.files import beside
from sagger.files import lot as lot_file
from sagger.goods.lot import Lot


def lot(named: str, powder: str, order: Path | None = None) -> Lot:
    """What was measured on a powder lot.

    Parameters
    ----------
    named : str
        A lot file (`.toml`), or the name of a lot in the ledger.
    powder : str
        Name of the powder card that it must be of.
    order : Path, optional
        The order that names it: then the file lies beside it. Without one, a person gave the file's path.

    Raises
    ------
    LotError
        If the file is refused, no lot of the ledger has that name, or the lot is of another powder.

    Examples
    --------
    >>> lot = sagger.lot("examples/lot-316l.toml", "steel-316l")
    >>> lot.origin, lot.tap_density.printed, lot.tap_density.standing
    ('received', '4.95 g/cm3', 'measured')
    """
    if not named.endswith(".toml"):
        return of_ledger(named, powder)
    path = beside.file(order, named, "[cards], lot", LotError) if order else Path(named)
    return _of_powder(lot_file.read(path), named, powder)


def of_ledger(named: str, powder: str) -> Lot:
    """What was measured on a lot of the ledger; `LotError` if there is none, or it is of another powder."""
    return _of_powder(lots.lot(named), named, powder)


def _of_powder(measured: Lot, named: str, powder: str) -> Lot:
    if measured.powder != powder:
        what = f"lot {measured.name} is of {measured.powder}, the job uses {powder}"
        raise LotError(what, field="[cards] lot", value=named, remedy="Choose that powder, or another lot.")
    return measured
