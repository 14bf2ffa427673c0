"""The powder as it was when factors were measured."""

from __future__ import annotations

import dataclasses

from sagger.goods.factors import Conditions
from sagger.goods.figure import Figure
from sagger.goods.powder import Powder
from sagger.stations.bed.own_grains import moved


def earlier(powder: Powder, then: Conditions) -> Powder:
    """The card with green density, grains and programme of other conditions, its law moved to those grains.

    Parameters
    ----------
    powder : Powder
        The card, with no lot's figures in it.
    then : Conditions
        What approved factors were measured under.
    """
    law = powder.sintering
    if law is None:
        return powder

    def own(figure: Figure, value: float, u: float) -> Figure:
        return dataclasses.replace(
            figure, value=value, u=u, source=then.basis, where="conditions of the factors"
        )

    law = dataclasses.replace(
        law,
        green_density=own(law.green_density, then.green_density, then.green_density_u),
        programme=then.programme,
    )
    grain = own(powder.d50, then.grain, 0.0)
    if law.grain_size is not None and then.grain != law.grain_size.value:
        law = moved(law, grain)
    return dataclasses.replace(powder, sintering=law, d50=grain)
