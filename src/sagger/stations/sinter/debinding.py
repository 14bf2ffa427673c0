"""How the binder leaves the thickest wall of the load, what that allows, and what is proposed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sagger.goods.debinding import Debinding, DebindingCourse
from sagger.goods.figure import cited
from sagger.goods.finding import PRACTICE, Against, Finding, about, loss, risk
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.powder import Powder, Segment, Sintering
from sagger.physics.burnout import binder_loss
from sagger.stations.sinter import debind_pace, debind_wall
from sagger.stations.sinter.binder_left import Residue
from sagger.stations.sinter.path import Path
from sagger.units import into

LAG = (
    30.0  # between faces and middle of a wall, above which it is worth a look; common practice, no source [K]
)


def debinding(
    way: Path,
    programme: tuple[Segment, ...],
    greens: tuple[Green, ...],
    powder: Powder,
    left: Residue,
    furnace: Furnace,
) -> Debinding | None:
    """What the thickest wall goes through; None without pieces.

    Source
    ------
    First-order burnout, and gas flow out of a slab: `burnout`. The pores are taken as open all the while.
    """
    card = powder.sintering
    if not greens or card is None or left.share <= 0:
        return None
    part = max(range(len(greens)), key=lambda index: _wall(greens[index]))
    thick = _wall(greens[part])
    one = debind_wall.wall(thick, powder, card, left)
    planned = debind_wall.course(one, way, programme)
    allowed = card.debind_overpressure.value
    stage = programme[: debind_wall.stage_end(programme) + 1]
    around = min(debind_wall.outside(stretch) for stretch in stage)
    u, rate_u = debind_wall.uncertainty(one, way, programme, card, around)
    heat = card.green_density.value * powder.solid_density.value * powder.heat_capacity.value
    spread = (powder.green_conductivity or powder.bed_conductivity).value / heat
    lag = binder_loss.lag(max(stretch.rate for stretch in stage), thick / 2, spread)
    lag_most = max(lag, LAG)
    by_lag = lag_most / binder_loss.lag(1.0, thick / 2, spread)
    heating = min(max(segment.rate for segment in programme), furnace.rate_most.value, by_lag)
    made: tuple[Segment, ...] = ()
    proposed: DebindingCourse | None = None
    if lag <= LAG or planned.overpressure > allowed:  # else the law's even temperature is too far off
        made, proposed = debind_pace.proposal(one, programme, planned, allowed, heating, furnace)
    by_law = debind_wall.thickest(one, planned, allowed, around)
    return Debinding(
        part=part,
        wall=thick,
        binder=left.share,
        allowed=allowed,
        planned=planned,
        planned_u=u,
        wall_most=min((by_law, *_in_print(greens[part], card))),
        rate_limit=debind_wall.rate_limit(one, allowed, around),
        rate_limit_u=rate_u,
        limits=debind_wall.rate_limits(one, powder.d50.value, allowed, around),
        lag=lag,
        proposal=made,
        proposed=proposed,
        bounds=_bounds(planned, allowed, heating, lag_most),
        standing=debind_wall.weakest(powder, card),
        wall_by_law=by_law,
    )


def _in_print(green: Green, card: Sintering) -> Iterator[float]:
    """Thickest green wall that anybody published [m]; nothing if the card names none."""
    if card.debind_wall_most is not None:
        yield card.debind_wall_most.value * float(green.factors.k.max())


def _wall(green: Green) -> float:
    """Thickest wall at green size [m]."""
    return green.part.thickest_mm * 1e-3 * float(green.factors.k.max())


def _bounds(planned: DebindingCourse, allowed: float, heating: float, lag: float) -> str:
    pressure = min(planned.overpressure, allowed) / 1e3
    return (
        f"pressure up to {pressure:.3g} kPa, burnout up to {planned.loss * 6e3:.3g} % per min, heating up to "
        f"{into(heating, 'K/min'):.3g} K/min (lag up to {lag:.0f} K), end and last hold as they are"
    )


def borne(debound: Debinding) -> str:
    """Which walls the programme bears, in words that stop at what was published."""
    most, law = debound.wall_most * 1e3, debound.wall_by_law * 1e3
    if most < law:
        more = f"{law:.3g} mm" if math.isfinite(law) else "any wall"
        return f"Walls up to {most:.3g} mm are in print; the pressure alone would allow {more}"
    return f"Walls up to {most:.3g} mm bear it"


def findings(debound: Debinding | None, greens: tuple[Green, ...], powder: Powder) -> Iterator[Finding]:
    """The pressure against the allowed, and how far the wall's middle lags behind in temperature."""
    card = powder.sintering
    if debound is None or card is None:
        return
    name = greens[debound.part].part.request.name
    limit, over = card.debind_overpressure, debound.planned.overpressure
    hottest = into(debound.planned.hottest, "degC")
    pressure = loss(
        "debinding pressure",
        f"The {debound.wall * 1e3:.1f} mm wall of {name} (green) sees {over / 1e3:.3g} kPa (u "
        f"{debound.planned_u / 1e3:.2g}) at {hottest:.0f} °C; {limit.value / 1e3:.3g} kPa are allowed "
        f"({debound.binder:.2%} binder by mass). {borne(debound)}.",
        Against(over / 1e3, limit.value / 1e3, "kPa", cited(limit)),
        f"{'Take the stage that is proposed' if debound.proposal else 'Heat slower through burnout'}, "
        "hollow the section, or measure your binder's burnout.",
        unless=over <= limit.value,
    )
    yield about(debound.part, pressure)
    if debound.wall > debound.wall_most and card.debind_wall_most and over <= limit.value:
        in_print = card.debind_wall_most
        text = (
            f"The {debound.wall * 1e3:.1f} mm wall of {name} (green) bears the pressure, but walls over "
            f"{debound.wall_most * 1e3:.3g} mm are not in print: carbon, gas exchange and cracks are not in "
            "the law of pressure."
        )
        against = Against(debound.wall * 1e3, debound.wall_most * 1e3, "mm", cited(in_print))
        remedy = "Hollow the section, or fire one piece, cut it and look before the order."
        yield about(debound.part, risk("thick wall", text, against, remedy))
    if debound.lag > LAG:
        text = (
            f"The middle of the {debound.wall * 1e3:.1f} mm wall of {name} is up to {debound.lag:.0f} K "
            f"colder than its faces; {LAG:.0f} K are usual."
        )
        remedy = "Heat slower, hold at the end of the stage, or hollow the section."
        yield about(
            debound.part, risk("debinding lag", text, Against(debound.lag, LAG, "K", PRACTICE), remedy)
        )
