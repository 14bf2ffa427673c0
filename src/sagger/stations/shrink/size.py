"""Oversize factors from the cards, and the part at the size to be printed."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger.errors import InputError
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.green import Green
from sagger.goods.order import Choices
from sagger.goods.part import Part
from sagger.goods.powder import Casting, Powder, Sintering
from sagger.physics.powder import sand
from sagger.physics.sintering import shrinkage
from sagger.statistics import chance


def predict(powder: Powder, choices: Choices, lot: str = "") -> Factors:
    """Oversize factors along the machine's axes, from the card or from the lot in its place.

    Parameters
    ----------
    powder : Powder
        With its sintering card, or for sand with the contractions of cast metals.
    choices : Choices
        `alloy`: sand only, the metal to be cast; "" leaves a sand part at its own size.
    lot : str
        Name of the powder lot whose figures `powder` holds; "" if they are the card's.

    Returns
    -------
    Factors
        Uncertainty by linear propagation of the card's (JCGM 100:2008, 5.1.2), figures independent.
        A figure that states none adds none.

    Raises
    ------
    InputError
        If the alloy is not on the card, or one is chosen for a powder that is sintered.

    Source
    ------
    Sintered: mass balance and shrinkage anisotropy, `shrinkage.ratios`. Cast: k = 1 + linear contraction.
    """
    if powder.sintering is None:
        return dataclasses.replace(_cast(powder, choices.alloy), lot=lot)
    if choices.alloy:
        raise InputError(
            f"{powder.title} is sintered, not cast",
            field="alloy",
            value=choices.alloy,
            remedy="Leave the alloy empty, or choose a sand.",
        )
    return dataclasses.replace(_fired(powder, powder.sintering), lot=lot)


def compensate(part: Part, factors: Factors) -> Green:
    """The part as it must be printed: one linear map per allowed orientation, turned first, then enlarged."""
    return Green(part=part, shape=part.shape, factors=factors, maps=np.diag(factors.k) @ part.turns)


def _fired(powder: Powder, card: Sintering) -> Factors:
    figures = (card.green_density, card.sintered_density, card.anisotropy_y, card.anisotropy_z)
    values = [figure.value for figure in figures]
    ratios = shrinkage.ratios(*values)
    contributions = shrinkage.sensitivities(*values) * np.array([figure.u for figure in figures])
    u = chance.combined_by_result(contributions.T)
    return Factors(
        k=1 / ratios, u=shrinkage.oversize_uncertainty(ratios, u), material=powder.name, origin="card"
    )


def _cast(powder: Powder, alloy: str) -> Factors:
    if not alloy:
        return Factors(
            k=np.ones(3), u=np.zeros(3), material=powder.name, origin="no casting contraction asked"
        )
    known = {casting.alloy: casting for casting in powder.castings}
    if alloy not in known:
        names = ", ".join(sorted(known)) or "none"
        remedy = f"Known: {names}."
        raise InputError("no contraction is known for this alloy", field="alloy", value=alloy, remedy=remedy)
    contraction = known[alloy].contraction
    u = _spread(known[alloy], contraction)
    return Factors(
        k=np.full(3, sand.pattern_factor(contraction.value)),
        u=np.full(3, u),
        material=powder.name,
        origin="casting contraction",
    )


def _spread(casting: Casting, contraction: Figure) -> float:
    """Two sources that disagree bound the truth no better than by their difference, either way."""
    disagreement = chance.rectangular(abs(casting.other.value - contraction.value))
    return chance.combined((disagreement, contraction.u))
