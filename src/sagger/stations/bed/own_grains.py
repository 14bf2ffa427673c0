"""The sintering law of a card, moved to the grains of a lot."""

from __future__ import annotations

import dataclasses
import math

from sagger.goods.figure import Figure, weakest
from sagger.goods.powder import Sintering
from sagger.physics.sintering import scale


def moved(law: Sintering, grain: Figure) -> Sintering:
    """The law for grains of this median; the card's own where it does not say which grains it belongs to.

    Lengths go with the grain: capillary radius, first grain, pores that close. Viscosity goes as Herring's
    scaling leaves it, and is less sure by what is not known of its exponent.
    """
    if law.grain_size is None or law.size_exponent is None:
        return law
    over, exponent = grain.value / law.grain_size.value, law.size_exponent
    standing = weakest(grain, exponent)
    where = f"grains of {grain.printed} in place of {law.grain_size.printed} (Herring's scaling, {standing})"

    def scaled(figure: Figure, times: float, u_more: float = 0.0) -> Figure:
        u = math.hypot(figure.u / figure.value, u_more) * figure.value * times
        return dataclasses.replace(
            figure, value=figure.value * times, u=u, where=f"{figure.where}; {where}", standing=standing
        )

    slower, doubt = scale.slower(over, exponent.value), scale.doubt(over, exponent.u)
    growth, pores = law.coarsening, law.closed_pores
    return dataclasses.replace(
        law,
        grain_size=grain,
        capillary_radius=scaled(law.capillary_radius, over),
        viscosity_factor=scaled(law.viscosity_factor, slower / over, doubt),
        coarsening=growth and dataclasses.replace(growth, grain=scaled(growth.grain, over)),
        closed_pores=pores and dataclasses.replace(pores, radius=scaled(pores.radius, over)),
    )
