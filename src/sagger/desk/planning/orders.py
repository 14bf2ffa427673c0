"""From a file a person names to what the line takes: order, part files, cards."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TypedDict, Unpack

from sagger import cards, files
from sagger.desk.home import card_folders
from sagger.desk.planning import bodies
from sagger.desk.planning.limits import with_form, with_table
from sagger.desk.powder.lot import lot
from sagger.errors import CardError, OrderError
from sagger.goods.cell import Cell
from sagger.goods.good import digest, good
from sagger.goods.head import Head
from sagger.goods.order import CardNames, Order, Request, Tolerance
from sagger.goods.plain import Table
from sagger.goods.powder import Powder
from sagger.goods.shape import PartFile
from sagger.stations import intake, measure
from sagger.tick import Tick, silent


@good
class NamedOrder:
    """An order with everything it names."""

    order: Order
    cell: Cell
    files: tuple[PartFile, ...]

    @property
    def digest(self) -> str:
        """Of everything the result depends on; the start is left out, the desk fills it in."""
        return digest((dataclasses.replace(self.order, start=""), self.cell, self.files))


class BareWords(TypedDict, total=False):
    """What may be said beside a bare part file; what is not said is as in `BareOrder`."""

    quantity: int  # pieces
    unit: str  # of files that carry none: "um", "mm", "cm", "m", "in"
    scale: float  # size of the part before anything else
    tolerance: str  # "0.2 mm", "0.5 %", "ISO 2768-m"
    orientations: str  # "fixed", "upright", "free"
    body: str  # of a file that holds several; all of them if not said
    chord: str  # of a STEP file's facets
    reading: str  # processor time that reading may take
    lot: str  # of the powder: a lot file, or a name in the ledger
    powder: str  # a card's name, as those below
    binder: str
    head: str
    box: str
    oven: str
    furnace: str
    shop: str


@good
class BareOrder:
    """What a person says beside a bare part file; "" = by default."""

    quantity: int = 1
    unit: str = ""
    scale: float = 1.0
    tolerance: str = ""
    orientations: str = ""
    body: str = ""
    chord: str = ""
    reading: str = ""
    lot: str = ""  # of the powder: a lot file, or a name in the ledger
    cards: tuple[tuple[str, str], ...] = ()  # kind and name, in place of the default card


def wish(**words: Unpack[BareWords]) -> BareOrder:
    """What is asked for a bare part file, from words; cards are given by kind."""
    kinds = [field.name for field in dataclasses.fields(CardNames)]
    return BareOrder(
        quantity=words.get("quantity", 1),
        unit=words.get("unit", ""),
        scale=words.get("scale", 1.0),
        tolerance=words.get("tolerance", ""),
        orientations=words.get("orientations", ""),
        body=words.get("body", ""),
        chord=words.get("chord", ""),
        reading=words.get("reading", ""),
        lot=words.get("lot", ""),
        cards=tuple((kind, str(name)) for kind, name in words.items() if kind in kinds and name),
    )


def read(source: Path, wish: BareOrder, *, tick: Tick = silent) -> NamedOrder:
    """The order in a TOML file, or one made for a bare part file.

    Raises
    ------
    OrderError, PartFileError, CardError
        With file, field, value and remedy.
    """
    bare = source.suffix.lower() != ".toml"
    if not bare:
        _refuse_second_word(source, wish)
    order, cell, paths = _single(source, wish) if bare else named(source)
    requests = tuple(map(with_tables, order.requests))
    pairs = [
        pair
        for path, request in tick.over(list(zip(paths, requests, strict=True)), "reading part files")
        for pair in bodies.parts(path, request, source.name, bare=bare)
    ]
    extra, drawn = measure.coupons(order.coupons)
    asked, parts = tuple(request for request, _ in pairs), tuple(part for _, part in pairs)
    return NamedOrder(
        order=dataclasses.replace(order, requests=(*asked, *extra)), cell=cell, files=(*parts, *drawn)
    )


def named(source: Path, tables: Table | None = None) -> tuple[Order, Cell, tuple[Path, ...]]:
    """The order in a TOML file, its cell and the paths of its part files, which are not opened.

    `tables` are tables read in place of the file's.

    Raises
    ------
    OrderError, CardError
        With file, field, value and remedy.
    """
    order, names, paths = files.order.read(source, cards.DEFAULTS, tables)
    cell = _cell(_without_furnace_for_sand(names), source.name)
    cell = _with_programmes(order, cell, source.name)
    _refuse_what_does_not_fit(order, cell, source.name)
    return order, _with_lot(order, cell, source), paths


def _refuse_second_word(source: Path, wish: BareOrder) -> None:
    """An order says everything itself; a word beside it would be dropped in silence."""
    plain = BareOrder()
    words = [each.name for each in dataclasses.fields(BareOrder) if each.name != "cards"]
    beside = [word for word in words if getattr(wish, word) != getattr(plain, word)]
    beside += [kind for kind, _ in wish.cards]
    if beside:
        raise OrderError(
            f"an order file says for itself what --{' and --'.join(beside)} would say",
            file=source.name,
            remedy="Write it into the order; these options are for a bare part file.",
        )


def _single(source: Path, wish: BareOrder) -> tuple[Order, Cell, tuple[Path, ...]]:
    names = dataclasses.replace(cards.DEFAULTS, **dict(wish.cards))
    words = {key: getattr(wish, key) for key in files.order.BareRequest._fields if hasattr(wish, key)}
    request = files.order.BareRequest(**words)
    order, names, paths = files.order.single(source, request, _without_furnace_for_sand(names))
    cell = _cell(names, "")
    order = dataclasses.replace(order, lot=wish.lot)
    _refuse_what_does_not_fit(order, cell, source.name)
    return order, _with_lot(order, cell, None), paths


def _with_programmes(order: Order, cell: Cell, file: str) -> Cell:
    """The cell with the programmes that the order gives in place of the cards'."""
    powder, binder = cell.powder, cell.binder
    if order.oven_programme:
        binder = dataclasses.replace(binder, programme=order.oven_programme)
    if order.oven:
        binder = dataclasses.replace(binder, oven_temperature=order.oven)
    if order.furnace_programme:
        if powder.sintering is None:
            what = f"{powder.name} is not sintered, so it has no furnace programme"
            raise OrderError(what, file=file, field="[[furnace_programme]]", remedy="Leave it out.")
        law = dataclasses.replace(powder.sintering, programme=order.furnace_programme)
        powder = dataclasses.replace(powder, sintering=law)
    try:
        return cards.fitting(dataclasses.replace(cell, powder=powder, binder=binder))
    except CardError as error:
        raise OrderError(error.what, file=file, field=error.field, remedy=error.remedy) from None


def _with_lot(order: Order, cell: Cell, source: Path | None) -> Cell:
    """The cell with the powder lot that the order names, if it names one."""
    if not order.lot:
        return cell
    return dataclasses.replace(cell, lot=lot(order.lot, cell.powder.name, source))


def _refuse_what_does_not_fit(order: Order, cell: Cell, name: str) -> None:
    """What an order asks for and its cards cannot give."""
    _refuse_what_grey_cannot(order, cell.head, name)
    _refuse_core_without_skin(order, cell.powder, name)


def _refuse_what_grey_cannot(order: Order, head: Head, name: str) -> None:
    """G4 codes one bit a drop."""
    if head.bits > 1 and order.choices.compression == "g4":
        what = f"G4 codes one bit a drop, {head.name} has {head.bits}"
        raise OrderError(what, file=name, field="[choices], compression", value="g4", remedy="Leave it out.")


def _refuse_core_without_skin(order: Order, powder: Powder, name: str) -> None:
    """A core that is to be leaner is nowhere if no skin is asked for around it."""
    common = intake.chosen(order.choices, powder)
    rim = 1.0 if common.skin_saturation is None else common.skin_saturation
    for place, part in enumerate(order.requests, 1):
        own = part.core_saturation is not None
        core = part.core_saturation if own else common.core_saturation
        skin_mm = common.skin_mm if part.skin_mm is None else part.skin_mm
        if skin_mm is None and core is not None and core < rim:
            where = f"[[part]] {place}, core_saturation" if own else "[choices], core_saturation"
            remedy = 'Say how thick the skin is, skin = "1 mm"; "0 mm" makes the whole part core.'
            raise OrderError(
                "a core needs a skin around it", file=name, field=where, value=f"{core:.0%}", remedy=remedy
            )


def _cell(names: CardNames, file: str) -> Cell:
    """The cell, or a refusal that names the order which asks for it."""
    try:
        return cards.cell(names, card_folders())
    except CardError as error:
        where = error.file or file
        raise CardError(
            error.what, file=where, field=error.field, value=error.value, remedy=error.remedy
        ) from None


def _without_furnace_for_sand(names: CardNames) -> CardNames:
    # Sand stops after the oven, so a furnace that stands in the defaults does not belong to the job.
    if names.powder not in cards.names("powder", card_folders()):
        return names  # refused below, with the rest of the cell
    powder = cards.load("powder", names.powder, card_folders())
    return dataclasses.replace(names, furnace="") if powder.kind == "sand" else names


def with_tables(request: Request) -> Request:
    """What is asked of a part, with the steps of every table that its limits name."""
    return dataclasses.replace(
        request,
        tolerance=_with_steps(request.tolerance),
        form=with_form(request.form),
        dimensions=tuple(map(with_table, request.dimensions)),
    )


def _with_steps(tolerance: Tolerance) -> Tolerance:
    if tolerance.kind != "iso2768":
        return tolerance
    return dataclasses.replace(
        tolerance,
        steps=cards.iso2768(tolerance.grade),
        angles=cards.iso2768_angles(tolerance.grade),
        edges=cards.iso2768_edges(tolerance.grade),
    )
