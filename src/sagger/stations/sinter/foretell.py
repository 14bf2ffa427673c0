"""How much a body shrinks in a programme, without the pieces of a job."""

from __future__ import annotations

import numpy as np

from sagger.goods.factors import Foretold
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Powder
from sagger.stations.sinter.law import fired, gas
from sagger.stations.sinter.outcome import outcome
from sagger.stations.sinter.path import limited, path


def foretell(powder: Powder, furnace: Furnace) -> Foretold:
    """Density and ratio of volumes by the law that a job's pieces are foretold by.

    Parameters
    ----------
    powder : Powder
        Its sintering card holds programme, green density and law.
    furnace : Furnace
        The programme is limited to what it can do.

    Raises
    ------
    InputError
        If the powder is not sintered, or its programme makes no sense.

    Source
    ------
    As of `plan`; balance of mass: volumes go as densities, the other way round.
    """
    card = fired(powder)
    programme, _ = limited(card.programme, furnace)
    way = path(programme, furnace)
    forecast = outcome(way, card, furnace, gas(programme, way))
    return Foretold(
        density=forecast.final,
        density_u=forecast.final_u,
        volume=float(1 / np.prod(forecast.ratio)),
        volume_draws=1 / np.prod(forecast.ratio_draws, axis=1),
        density_draws=forecast.density_draws,
    )
