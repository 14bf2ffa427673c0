"""Which hazards a cell brings, in the words of cautions.toml."""

from __future__ import annotations

from sagger import units
from sagger.cards.read import SHIPPED, open_table
from sagger.errors import CardError
from sagger.goods.caution import Caution
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure
from sagger.goods.plain import Table, rows, table, text
from sagger.physics.powder.dust import explosion_class


def cautions(cell: Cell) -> tuple[Caution, ...]:
    """The usual cautions for this cell, the heading first, then in the order of cautions.toml.

    They are not a safety assessment; each says whose rules govern.

    Raises
    ------
    CardError
        If a card names a hazard for which there is no caution: a hazard must not pass in silence.
    """
    entries = rows(open_table(SHIPPED / "cautions.toml"), "caution")
    _none_unknown(cell, entries)
    index = cell.powder.dust_index
    return tuple(_caution(entry, index) for entry in entries if _called(table(entry, "when"), cell))


def _caution(entry: Table, index: Figure | None) -> Caution:
    """A caution as written; one that rests on the card's dust index bears its figure, source and standing."""
    facts = {key: str(value) for key, value in entry.items() if key != "when"}
    if index is not None and "figure" in table(entry, "when"):
        whole = facts["text"].format(printed=index.printed, dust_class=explosion_class(index.value))
        facts |= {"text": whole, "source": index.source, "standing": index.standing}
    return Caution(**facts)


def _called(when: Table, cell: Cell) -> bool:
    ((condition, value),) = when.items()
    if condition == "hazard":
        return value in (*cell.powder.hazards, *cell.binder.hazards)
    if condition == "atmosphere":
        atmospheres = value if isinstance(value, list) else [value]
        programme = cell.powder.sintering.programme if cell.powder.sintering else ()
        return cell.furnace is not None and any(stretch.atmosphere in atmospheres for stretch in programme)
    if condition == "furnace":
        return cell.furnace is not None and (value == "any" or set(cell.furnace.atmospheres) != {"air"})
    if condition == "figure":
        return getattr(cell.powder, str(value)) is not None
    if condition == "heavier":
        return filled_mass(cell) > units.read(str(value), "mass")
    return bool(value)  # always


def filled_mass(cell: Cell) -> float:
    """Mass of the powder in a full box, without the box itself [kg]."""
    box, powder = cell.box, cell.powder
    volume = box.length_x.value * box.length_y.value * box.length_z.value
    return volume * powder.packing.value * powder.solid_density.value


def _none_unknown(cell: Cell, entries: list[Table]) -> None:
    known = {text(table(entry, "when"), "hazard") for entry in entries} - {""}
    for card in (cell.powder, cell.binder):
        for hazard in card.hazards:
            if hazard not in known:
                remedy = f"Known: {', '.join(sorted(known))}."
                what = "no caution is written for this hazard"
                raise CardError(what, file=f"{card.name}.toml", field="hazards", value=hazard, remedy=remedy)
