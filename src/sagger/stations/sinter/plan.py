"""The furnace run of a job: programme, burnout, density, size and loads."""

from __future__ import annotations

from sagger.goods.binder import Binder
from sagger.goods.dose import Dose
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.powder import Powder
from sagger.goods.sintered import Sintered
from sagger.stations.sinter import binder_left
from sagger.stations.sinter.debinding import debinding
from sagger.stations.sinter.debinding import findings as debinding_findings
from sagger.stations.sinter.law import fired, gas
from sagger.stations.sinter.outcome import against_card, fell_short, outcome
from sagger.stations.sinter.path import limited, melts, path
from sagger.stations.sinter.propose import proposal
from sagger.stations.sinter.trays import load
from sagger.tick import Tick, silent


def plan(
    greens: tuple[Green, ...],
    doses: tuple[Dose, ...],
    powder: Powder,
    binder: Binder,
    furnace: Furnace,
    *,
    tick: Tick = silent,
) -> Sintered:
    """What the furnace will do to the pieces, and how many runs that takes.

    Parameters
    ----------
    greens : tuple of Green
        Parts at green size; `part.request.quantity` copies of each.
    doses : tuple of Dose
        Of all boxes: they say how much binder has to leave.
    binder : Binder
        What it turns into when it leaves.
    powder : Powder
        Its sintering card holds programme, densification and burnout.
    furnace : Furnace
        Where the programme asks for more rate or heat than it has, its own limit is used, with a finding.

    Returns
    -------
    Sintered
        With findings on rate, temperature, atmosphere, melting, binder left, pressure in the thickest wall,
        density against the card's, and pieces too large or too heavy for a tray. Sag is not judged here.

    Raises
    ------
    InputError
        If the powder is not sintered, or its programme makes no sense.
    """
    tick.say("planning the furnace run")
    card = fired(powder)
    programme, limits = limited(card.programme, furnace)
    way = path(programme, furnace)
    forecast = outcome(way, card, furnace, gas(programme, way))
    gone, left = binder_left.share_gone(way, card), binder_left.residue(doses, binder)
    leaving = debinding(way, programme, greens, powder, left, furnace)
    trays, too_large = load(greens, powder, furnace, left.share)
    return Sintered(
        programme=programme,
        load=trays,
        time=way.time,
        temperature=way.temperature,
        density=forecast.density,
        burnout=gone,
        final_density=forecast.final,
        final_density_u=forecast.final_u,
        ratio=forecast.ratio,
        ratio_u=forecast.ratio_u,
        density_low=forecast.interval[0],
        density_high=forecast.interval[1],
        ratio_draws=forecast.ratio_draws,
        ratio_per_kelvin=forecast.ratio_slope,
        run=float(way.time[-1]),
        ratio_u_furnace=forecast.furnace_u,
        ratio_u_load=forecast.load_u,
        places=forecast.places,
        grain=forecast.grain,
        proposal=proposal(programme, card, furnace),
        debinding=leaving,
        findings=(
            *limits,
            *melts(programme, card, furnace),
            *fell_short(forecast, card, way, gas(programme, way)),
            *binder_left.left_over(way, programme, gone, card),
            *debinding_findings(leaving, greens, powder),
            against_card(forecast, card),
            *too_large,
        ),
    )
