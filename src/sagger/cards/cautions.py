"""Which hazards a cell brings, in the words of cautions.toml."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sagger import units
from sagger.cards.read import SHIPPED, open_table
from sagger.errors import CardError
from sagger.goods.caution import Caution
from sagger.goods.cell import Cell


def cautions(cell: Cell) -> tuple[Caution, ...]:
    """The usual cautions for this cell, the heading first, then in the order of cautions.toml.

    They are not a safety assessment; each says whose rules govern.

    Raises
    ------
    CardError
        If a card names a hazard for which there is no caution: a hazard must not pass in silence.
    """
    entries = open_table(SHIPPED / "cautions.toml")["caution"]
    _none_unknown(cell, entries)
    called = (dict(entry) for entry in entries if _called(entry["when"], cell))
    return tuple(Caution(**{key: text for key, text in entry.items() if key != "when"}) for entry in called)


def _called(when: Mapping[str, Any], cell: Cell) -> bool:
    ((condition, value),) = when.items()
    if condition == "hazard":
        return value in (*cell.powder.hazards, *cell.binder.hazards)
    if condition == "atmosphere":
        programme = cell.powder.sintering.programme if cell.powder.sintering else ()
        return cell.furnace is not None and any(stretch.atmosphere in value for stretch in programme)
    if condition == "furnace":
        return cell.furnace is not None and (value == "any" or set(cell.furnace.atmospheres) != {"air"})
    if condition == "heavier":
        return filled_mass(cell) > units.read(value, "mass")
    return bool(value)  # always


def filled_mass(cell: Cell) -> float:
    """Mass of the powder in a full box, without the box itself [kg]."""
    box, powder = cell.box, cell.powder
    volume = box.length_x.value * box.length_y.value * box.length_z.value
    return volume * powder.packing.value * powder.solid_density.value


def _none_unknown(cell: Cell, entries: list[dict[str, Any]]) -> None:
    known = {entry["when"].get("hazard") for entry in entries} - {None}
    for card in (cell.powder, cell.binder):
        for hazard in card.hazards:
            if hazard not in known:
                remedy = f"Known: {', '.join(sorted(known))}."
                what = "no caution is written for this hazard"
                raise CardError(what, file=f"{card.name}.toml", field="hazards", value=hazard, remedy=remedy)
