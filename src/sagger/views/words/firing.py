"""The furnace run of an order as a traveller lists it."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.debinding import Debinding
from sagger.goods.load import Load
from sagger.goods.sintered import Sintered
from sagger.units import into
from sagger.views.pictures.palette import letter
from sagger.views.wording import count, digits, digits_of, duration, likely, mass, share

TRAYS_MOST = 3  # kinds of trays told; plan.json has all


def settings(sintered: Sintered) -> list[str]:
    """Programme, debinding, trays, density and what was proposed, line by line."""
    load = sintered.load
    lines = [*_programme(sintered), *_debinding(sintered.debinding)]
    whole = f"whole order: {count(load.trays, 'tray')}, {count(load.runs, 'run')} of {duration(sintered.run)}"
    trays = list(_trays(load))
    lines += [f"{whole}; {trays[0]}"] if len(trays) == 1 else [whole, *trays]
    lines.append(f"relative density expected {share(sintered.final_density)} ({sureness(sintered)})")
    lines += [*_places(sintered), *_proposal(sintered)]
    return lines


def sureness(sintered: Sintered) -> str:
    """How sure the density is: its 95 % interval, or u in jobs of editions that had none."""
    low, high = sintered.density_low, sintered.density_high
    u = 100 * sintered.final_density_u
    return likely(low and 100 * low, high and 100 * high, u)


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


def _debinding(debinding: Debinding | None) -> Iterator[str]:
    """Pressure and time of the stage as set, and of the one proposed."""
    if debinding is None:
        return
    u = digits(debinding.planned_u / 1e3, 2)
    yield (
        f"debinding takes {duration(debinding.planned.time)}: the {digits(debinding.wall * 1e3)} mm wall of "
        f"{letter(debinding.part)} sees {digits(debinding.planned.overpressure / 1e3, 2)} kPa (u {u}; "
        f"{digits(debinding.allowed / 1e3)} allowed), walls up to {digits(debinding.wall_most * 1e3)} mm "
        f"{'are in print' if debinding.wall_most < debinding.wall_by_law else 'bear it'}"
    )
    if debinding.proposed is not None:
        pairs = ((into(each.rate, "K/min"), into(each.target, "degC")) for each in debinding.proposal)
        words = ", ".join(f"{digits(rate, 2)} to {digits_of(round(target))}" for rate, target in pairs)
        hold = f", hold {duration(debinding.proposal[-1].hold)}" if debinding.proposal[-1].hold else ""
        yield (
            f"proposal, not set: debinding in {duration(debinding.proposed.time)} at "
            f"{digits(debinding.proposed.overpressure / 1e3, 2)} kPa: K/min to °C {words}{hold}; try it with "
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
