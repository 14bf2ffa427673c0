"""How much larger than the finished part something is printed: by the card or the lot, and in force today."""

from __future__ import annotations

from sagger.desk.cards.lookup import card
from sagger.desk.home import ledger
from sagger.desk.powder.lot import lot as lot_of
from sagger.goods.factors import Factors
from sagger.goods.lot import Lot
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.ledger import learned
from sagger.stations import bed, shrink


def oversize(powder: Powder, lot: Lot | None = None, *, alloy: str = "") -> Factors:
    """Oversize factors by the balance of mass, from a powder card or the lot in its place.

    Parameters
    ----------
    powder : Powder
        A card, as read or with figures changed.
    lot : Lot, optional
        What was measured on the powder on the shelf.
    alloy : str
        Sand only: the metal to be cast.

    Returns
    -------
    Factors
        `k`, green over finished length along x, y, z, and its standard uncertainty `u`.

    Raises
    ------
    InputError
        If the alloy is not on the card, or one is chosen for a powder that is sintered.

    Source
    ------
    Mass balance and shrinkage anisotropy, `physics.sintering.shrinkage`.

    Examples
    --------
    >>> steel = sagger.card("powder", "steel-316l")
    >>> print(sagger.oversize(steel).k.round(3))
    [1.194 1.194 1.23 ]
    """
    choices = Choices(alloy=alloy)
    if lot is None:  # a bed that is spread of what the card says leaves the card as it is
        return shrink.predict(powder, choices)
    return shrink.predict(bed.spread(powder, lot, choices).powder, choices, lot.name)


def factors(powder: str, *, lot: str = "") -> Factors:
    """Oversize factors that a job in this powder would use today.

    Approved ones of the lot, else approved ones of the powder, else those of the lot's or the card's figures.

    Parameters
    ----------
    powder : str
        Name of the powder card.
    lot : str
        A lot file (`.toml`), or the name of a lot in the ledger.

    Raises
    ------
    CardError, LotError
        If the card or the lot is refused.

    Examples
    --------
    >>> sagger.factors("steel-316l").origin
    'card'
    """
    measured = lot_of(lot, powder) if lot else None
    name = measured.name if measured else ""
    return learned.in_force(ledger(), powder, "", name).factors or oversize(card("powder", powder), measured)
