"""The powder lot that an order names: a file beside the order, or a lot of the ledger."""

from __future__ import annotations

from pathlib import Path

from sagger.desk import lots
from sagger.errors import LotError
from sagger.files import lot as lot_file
from sagger.goods.lot import Lot


def lot(named: str, folder: Path, powder: str) -> Lot:
    """The lot called so.

    Parameters
    ----------
    named : str
        A file ending in ".toml", from `folder` on, or the name of a lot in the ledger.
    folder : Path
        Where the order lies.
    powder : str
        The powder card of the job.

    Raises
    ------
    LotError
        If the file is refused, no lot of the ledger has that name, or the lot is of another powder.
    """
    found = lot_file.read(folder / named) if named.endswith(".toml") else lots.lot(named)
    if found.powder != powder:
        what = f"lot {found.name} is of {found.powder}, the job uses {powder}"
        raise LotError(what, field="[cards] lot", value=named, remedy="Choose that powder, or another lot.")
    return found
