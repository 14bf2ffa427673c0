"""The furnace run of an order as a traveller lists it."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.debinding import Debinding
from sagger.goods.load import Load
from sagger.goods.sintered import Sintered
from sagger.units import into
from sagger.views.palette import letter
from sagger.views.wording import count, digits, digits_of, duration, mass, share

TRAYS_MOST = 3  # kinds of trays told; plan.json has all


def settings(sintered: Sintered) -> list[str]:
    """Programme, debinding, trays, density and what was proposed, line by line."""
    load = sintered.load
    told = [*_programme(sintered), *_debinding(sintered.debinding)]
    whole = f"whole order: {count(load.trays, 'tray')}, {count(load.runs, 'run')} of {duration(sintered.run)}"
    trays = list(_trays(load))
    told += [f"{whole}; {trays[0]}"] if len(trays) == 1 else [whole, *trays]
    u = f"{100 * sintered.final_density_u:.1f} %"
    told.append(f"relative density expected {share(sintered.final_density)} (u {u})")
    told += [*_places(sintered), *_proposal(sintered)]
    return told


def _trays(load: Load) -> Iterator[str]:
    """What stands on each tray, equal ones in one line."""
    loads: dict[tuple[tuple[int, int], ...], list[int]] = {}
    for number, tray in enumerate(load.each, start=1):
        loads.setdefault(tray.pieces, []).append(number)
    for pieces, numbers in list(loads.items())[:TRAYS_MOST]:
        first = load.each[numbers[0] - 1]
        words = ", ".join(f"{number} {letter(part)}" for part, number in pieces)
        name = f"tray {numbers[0]}" if len(numbers) == 1 else f"trays {numbers[0]} to {numbers[-1]}, each"
        tall = "" if first.shelves == 1 else f", on {first.shelves} shelves"
        yield f"{name}: {words}, {mass(first.mass)}{tall}"
    if len(loads) > TRAYS_MOST:
        yield "other trays in plan.json"


def _programme(sintered: Sintered) -> Iterator[str]:
    """One line per stretch of heating and holding."""
    for segment in sintered.programme:
        rate, target = into(segment.rate, "K/min"), into(segment.target, "degC")
        hold = f", hold {duration(segment.hold)}" if segment.hold else ""
        heat = f"{digits(rate, 2)} K/min to {digits_of(round(target))} °C"
        yield f"{segment.stage}: {heat}{hold}, {segment.atmosphere}"


def _debinding(found: Debinding | None) -> Iterator[str]:
    """Pressure and time of the stage as set, and of the one proposed."""
    if found is None:
        return
    u = digits(found.planned_u / 1e3, 2)
    yield (
        f"debinding takes {duration(found.planned.time)}: the {digits(found.wall * 1e3)} mm wall of "
        f"{letter(found.part)} sees {digits(found.planned.overpressure / 1e3, 2)} kPa (u {u}; "
        f"{digits(found.allowed / 1e3)} allowed), walls up to {digits(found.wall_most * 1e3)} mm bear it"
    )
    if found.proposed is not None:
        pairs = ((into(each.rate, "K/min"), into(each.target, "degC")) for each in found.proposal)
        words = ", ".join(f"{digits(rate, 2)} to {digits_of(round(target))}" for rate, target in pairs)
        hold = f", hold {duration(found.proposal[-1].hold)}" if found.proposal[-1].hold else ""
        yield (
            f"proposal, not set: debinding in {duration(found.proposed.time)} at "
            f"{digits(found.proposed.overpressure / 1e3, 2)} kPa: K/min to °C {words}{hold}; try it with "
            "coupons"
        )


def _places(sintered: Sintered) -> Iterator[str]:
    """What a colder or hotter place does to the size, in words."""
    if sintered.places:
        off = [max(each.ratio / sintered.ratio - 1, key=abs) for each in sintered.places]
        warmer = " / ".join(f"{each.warmer:+.0f}" for each in sintered.places)
        dense = " / ".join(f"{100 * each.density:.1f}" for each in sintered.places)
        sizes_off = " / ".join(f"{100 * apart:+.2f}" for apart in off)
        yield f"coldest / hottest place ({warmer} K): {dense} %, sizes {sizes_off} %"


def _proposal(sintered: Sintered) -> Iterator[str]:
    """The quicker programme, said as what it is."""
    if sintered.proposal:
        last = sintered.proposal.programme[-1]
        peak, saved = digits_of(round(into(last.target, "degC"))), sintered.run - sintered.proposal.run
        yield (
            f"proposal, not set: {digits(into(last.rate, 'K/min'), 2)} K/min to {peak} °C, "
            f"hold {duration(last.hold)}, {duration(saved)} shorter; "
            "try it with coupons"
        )
