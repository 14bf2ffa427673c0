"""How the binder leaves the thickest wall of the load, what that allows, and what is proposed."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.debinding import Course, Debinding
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.powder import Powder, Segment
from sagger.physics import burnout
from sagger.stations.sinter import debind_pace, debind_wall
from sagger.stations.sinter.debind import Residue
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
    around = min(debind_wall.outside(each) for each in stage)
    u, rate_u = debind_wall.uncertainty(one, way, programme, card, around)
    heat = card.green_density.value * powder.solid_density.value * powder.heat_capacity.value
    spread = (powder.green_conductivity or powder.bed_conductivity).value / heat
    lag = burnout.lag(max(each.rate for each in stage), thick / 2, spread)
    kept = max(lag, LAG)
    heating = min(
        max(each.rate for each in programme),
        furnace.rate_most.value,
        kept / burnout.lag(1.0, thick / 2, spread),
    )
    made: tuple[Segment, ...] = ()
    proposed: Course | None = None
    if lag <= LAG or planned.overpressure > allowed:  # else the law's even temperature is too far off
        made, proposed = debind_pace.proposal(one, programme, planned, allowed, heating, furnace)
    return Debinding(
        part=part,
        wall=thick,
        binder=left.share,
        allowed=allowed,
        planned=planned,
        planned_u=u,
        wall_most=debind_wall.thickest(one, planned, allowed, around),
        rate_limit=debind_wall.rate_limit(one, allowed, around),
        rate_limit_u=rate_u,
        limits=debind_wall.rate_limits(one, powder.d50.value, allowed, around),
        lag=lag,
        proposal=made,
        proposed=proposed,
        bounds=_bounds(planned, allowed, heating, kept),
        standing=debind_wall.weakest(powder, card),
    )


def _wall(green: Green) -> float:
    """Thickest wall at green size [m]."""
    return green.part.thickest_mm * 1e-3 * float(green.factors.k.max())


def _bounds(planned: Course, allowed: float, heating: float, lag: float) -> str:
    pressure = min(planned.overpressure, allowed) / 1e3
    return (
        f"pressure up to {pressure:.3g} kPa, burnout up to {planned.loss * 6e3:.3g} % per min, heating up to "
        f"{into(heating, 'K/min'):.3g} K/min (lag up to {lag:.0f} K), end and last hold as they are"
    )


def findings(found: Debinding | None, greens: tuple[Green, ...], powder: Powder) -> Iterator[Finding]:
    """The pressure against the allowed, and how far the wall's middle lags behind in temperature."""
    card = powder.sintering
    if found is None or card is None:
        return
    name = greens[found.part].part.request.name
    limit, over = card.debind_overpressure, found.planned.overpressure
    held = over <= limit.value
    hottest = into(found.planned.hottest, "degC")
    yield Finding(
        level="ok" if held else "look",
        what="debinding pressure",
        text=f"The {found.wall * 1e3:.1f} mm wall of {name} (green) sees {over / 1e3:.3g} kPa (u "
        f"{found.planned_u / 1e3:.2g}) at {hottest:.0f} °C; {limit.value / 1e3:.3g} kPa are allowed "
        f"({found.binder:.2%} binder by mass). Walls up to {found.wall_most * 1e3:.3g} mm bear it.",
        value=over / 1e3,
        limit=limit.value / 1e3,
        unit="kPa",
        source=f"{limit.source}, {limit.standing}",
        remedy=""
        if held
        else f"{'Take the stage that is proposed' if found.proposal else 'Heat slower through burnout'}, "
        "hollow the section, or measure your binder's burnout.",
    )
    if found.lag > LAG:
        yield Finding(
            level="look",
            what="debinding lag",
            text=f"The middle of the {found.wall * 1e3:.1f} mm wall of {name} is up to {found.lag:.0f} K "
            f"colder than its faces; {LAG:.0f} K are usual.",
            value=found.lag,
            limit=LAG,
            unit="K",
            source="common practice, no source",
            remedy="Heat slower, hold at the end of the stage, or hollow the section.",
        )
