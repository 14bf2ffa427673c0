"""The order file: TOML, checked line by line before anything is computed."""

from __future__ import annotations

import difflib
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from sagger import texts, units
from sagger.errors import OrderError
from sagger.files import (
    beside,
    order_coupons,
    order_drawn,
    order_general,
    order_programme,
    order_values,
    toml,
)
from sagger.files.order_form import (
    TABLES,
    CardsTable,
    NestingTable,
    OrderFile,
    PartTable,
)
from sagger.files.order_values import Unfit
from sagger.goods.order import CardNames, Choices, Nesting, Order, Request
from sagger.goods.plain import Table

FIRST_ARTICLE = "2 %"  # before own coupons; engineering judgement, no source


def read(
    path: Path, defaults: CardNames, tables: Table | None = None
) -> tuple[Order, CardNames, tuple[Path, ...]]:
    """The order, the cards it uses, and its part files, in the order of its `[[part]]` tables.

    Parameters
    ----------
    path : Path
        TOML file; docs/order.md describes it, docs/order.schema.json is its schema.
    defaults : CardNames
        Cards taken where the order names none. The powder is never taken from here.
    tables : dict, optional
        Tables read in place of the file's.

    Raises
    ------
    OrderError
        If a key is unknown, a value does not fit, or a part file is missing.
    """
    filled = _checked(_loaded(path) if tables is None else tables, path.name)
    files = tuple(
        beside.file(path, part.file, f"[[part]] {place}, file", OrderError)
        for place, part in enumerate(filled.part, start=1)
    )
    names: set[str] = set()
    for place, (part, file) in enumerate(zip(filled.part, files, strict=True), start=1):
        if not file.is_file():
            remedy = f"Part files are looked for from {path.parent.resolve()}."
            raise _refused(path.name, f"[[part]] {place}, file", "there is no such file", part.file, remedy)
        name = part.name or file.stem
        if name in names:
            what = "two parts have the same name"
            raise _refused(path.name, f"[[part]] {place}, name", what, name, "Give each part its own name.")
        names.add(name)
        _refuse_early(path.name, place, part.due, filled.order.start)
    if not filled.part and not filled.coupon:
        raise _refused(path.name, "part", "nothing is asked for", "", "Add a [[part]] or a [[coupon]] table.")
    return _order(filled), _cards(filled.cards, defaults), files


def _refuse_early(file: str, place: int, due: str, start: str) -> None:
    """A part that is due on a day before the first box can start was mistyped."""
    if due and start and due < start[: len(due)]:
        early = f"it is due before the order starts, {start}"
        raise _refused(file, f"[[part]] {place}, due", early, due, "Mend one of the two dates.")


class BareRequest(NamedTuple):
    """What is said of a bare part file; "" = by default."""

    quantity: int
    unit: str
    scale: float = 1.0
    tolerance: str = ""  # +-2 % by default
    orientations: str = ""
    due: str = ""
    body: str = ""
    chord: str = ""
    reading: str = ""


def single(
    part: Path, request: BareRequest, defaults: CardNames
) -> tuple[Order, CardNames, tuple[Path, ...]]:
    """The order that a bare part file stands for; ±2 % where no tolerance is given.

    Raises
    ------
    OrderError
        If a value does not fit.
    """
    given = {key: value for key, value in request._asdict().items() if value != ""} | {
        "file": str(part),
        "scale": float(request.scale),
        "tolerance": request.tolerance or FIRST_ARTICLE,
        "orientations": request.orientations or "upright",
    }
    table = {"order": {"name": part.stem}, "cards": {"powder": defaults.powder}, "part": [given]}
    return _order(_checked(table, part.name)), defaults, (part.resolve(),)


def tables(path: Path) -> Table:
    """The tables of an order file as they stand, once they were found to fit; `OrderError` if they do not."""
    return checked(_loaded(path), path.name)


def part(table: Mapping[str, object], name: str) -> Request:
    """What one [[part]] table asks for, by itself; refused as an order file `name` would be.

    Raises
    ------
    OrderError
        With the field as in an order of this one part.
    """
    alone = {"order": {"name": "x"}, "cards": {"powder": "x"}, "part": [table]}
    return _request(_checked(alone, name).part[0])


def checked(table: Mapping[str, object], name: str) -> Table:
    """The tables with what was left out left out, once they fit; `OrderError` naming file `name` if not."""
    fitting: Table = _checked(table, name).model_dump(exclude_unset=True, exclude_none=True)
    return fitting


def text(table: Mapping[str, object]) -> str:
    """The order file that says what these tables say."""
    return toml.text(checked(table, "order.toml"))


def schema() -> str:
    """JSON Schema of the order file, as docs/order.schema.json holds it."""
    return json.dumps(OrderFile.model_json_schema(), indent=2, ensure_ascii=False) + "\n"


def _loaded(path: Path) -> Table:
    return texts.toml(path, OrderError, "the order", remedy='Text stands in quotes: name = "bracket".')


def _checked(table: Mapping[str, object], name: str) -> OrderFile:
    try:
        return OrderFile.model_validate(table)
    except ValidationError as error:
        raise _said(error, name) from None


def _said(error: ValidationError, name: str) -> OrderError:
    """The first thing wrong, in words; unknown keys first, since they explain missing ones."""
    faults = sorted(error.errors(), key=lambda fault: fault["type"] != "extra_forbidden")
    fault = faults[0]
    field, kind, value = _field(fault["loc"]), fault["type"], fault["input"]
    if kind == "extra_forbidden":
        return _refused(name, field, "there is no such key", "", _nearest(fault["loc"]))
    if kind == "missing":
        return _refused(name, field, "this is missing", "", "Add it; docs/order.md shows how.")
    inner = fault.get("ctx", {}).get("error")
    if isinstance(inner, Unfit):
        return _refused(name, field, inner.error.what, value, inner.error.remedy)
    what = str(inner) if inner is not None else fault["msg"][0].lower() + fault["msg"][1:]
    remedy = 'It is text with a unit, such as "50 um".' if kind == "string_type" else "See docs/order.md."
    return _refused(name, field, what, value, remedy)


def _field(place: tuple[int | str, ...]) -> str:
    """("part", 0, "unit") as "[[part]] 1, unit"."""
    words = [str(word + 1) if isinstance(word, int) else word for word in place]
    if words[0] not in ("order", "cards", "choices", "nesting") and len(words) > 1:
        return ", ".join([f"[[{words[0]}]] {words[1]}", *words[2:]])
    return ", ".join([f"[{words[0]}]", *words[1:]])


def _nearest(place: tuple[int | str, ...]) -> str:
    """Which key may have been meant."""
    inner = [TABLES[word] for word in place[:-1] if isinstance(word, str) and word in TABLES]
    table = inner[-1] if inner else OrderFile
    known = list(table.model_fields)
    close = difflib.get_close_matches(str(place[-1]), known, n=1, cutoff=0.5)
    return f"Did you mean {close[0]!r}?" if close else f"Known: {', '.join(known)}."


def _refused(name: str, field: str, what: str, value: object, remedy: str) -> OrderError:
    return OrderError(what, file=name, field=field, value=value, remedy=remedy)


def _order(filled: OrderFile) -> Order:
    choices = filled.choices
    return Order(
        name=filled.order.name,
        shop=filled.order.shop,
        start=filled.order.start,
        good=units.read(filled.order.good, "pure"),
        customer=filled.order.customer,
        reference=filled.order.reference,
        valid=filled.order.valid,
        lot=filled.cards.lot,
        requests=tuple(_request(part) for part in filled.part),
        choices=Choices(
            layer_um=_as(choices.layer, "length", "um"),
            saturation=_as(choices.saturation, "pure", "-"),
            gap_mm=_as(choices.gap, "length", "mm"),
            phase_jitter=choices.phase_jitter,
            bleed_um=_as(choices.bleed, "length", "um"),
            depth_um=_as(choices.depth, "length", "um"),
            skin_mm=_as(choices.skin, "length", "mm"),
            skin_saturation=_as(choices.skin_saturation, "pure", "-"),
            core_saturation=_as(choices.core_saturation, "pure", "-"),
            bridge_mm=_as(choices.bridge, "length", "mm"),
            open_share=_as(choices.open_share, "pure", "-"),
            snap=choices.snap,
            compression=choices.compression,
            alloy=choices.alloy,
            factors=choices.factors,
            by_place=choices.by_place,
            sag=choices.sag,
            seed=choices.seed,
            nesting=_nesting(filled.nesting),
        ),
        coupons=tuple(order_coupons.coupon(table) for table in filled.coupon),
        oven=order_programme.set_point(choices.oven),
        oven_programme=order_programme.oven(filled.oven_programme),
        furnace_programme=order_programme.furnace(filled.furnace_programme),
    )


def _nesting(table: NestingTable) -> Nesting:
    return Nesting(
        gap_z_mm=_as(table.gap_z, "length", "mm"),
        empty_below_mm=_as(table.empty_below, "length", "mm") or 0.0,
        empty_above_mm=_as(table.empty_above, "length", "mm") or 0.0,
        keep_out=tuple(table.keep_out),
        printed_most=_as(table.printed_most, "pure", "-") or 1.0,
        even=table.even,
        prefer=table.prefer,
        places=table.places,
        lift=table.lift,
        improve=table.improve,
        weigh=table.weigh,
    )


def _as(text: str | None, kind: str, word: str) -> float | None:
    if text is None:
        return None
    return float(f"{units.into(units.read(text, kind), word):.12g}")  # 70 % is 0.7, not 0.7000000000000001


def _request(part: PartTable) -> Request:
    x, y, z = part.turn
    file = Path(part.file)
    return Request(
        name=part.name or file.stem,
        file=file.name,
        unit=part.unit,
        quantity=part.quantity,
        spares=part.spares,
        tolerance=order_values.tolerance(part.tolerance),
        orientations=part.orientations,
        rotation_deg=(float(x), float(y), float(z)),
        scale=part.scale,
        due=part.due,
        drawing_number=part.drawing_number,
        revision=part.revision,
        bleed_um=_as(part.bleed, "length", "um"),
        depth_um=_as(part.depth, "length", "um"),
        skin_mm=_as(part.skin, "length", "mm"),
        core_saturation=_as(part.core_saturation, "pure", "-"),
        sag=part.sag,
        body=part.body,
        chord_mm=_as(part.chord, "length", "mm"),
        reading_s=_as(part.reading, "time", "s"),
        drawing=part.drawing,
        form=None if part.form is None else order_general.general_form(part.form),
        datums=tuple(order_drawn.datum(table) for table in part.datum),
        dimensions=tuple(order_drawn.dimension(table) for table in part.dimension),
        together=part.together,
        apart=part.apart,
    )


def _cards(named: CardsTable, defaults: CardNames) -> CardNames:
    def pick(given: str | None, default: str) -> str:
        return default if given is None else given

    return CardNames(
        powder=named.powder,
        binder=pick(named.binder, defaults.binder),
        head=pick(named.head, defaults.head),
        box=pick(named.box, defaults.box),
        oven=pick(named.oven, defaults.oven),
        furnace=pick(named.furnace, defaults.furnace),
        shop=pick(named.shop, defaults.shop),
    )


if __name__ == "__main__":  # python -m sagger.files.order > docs/order.schema.json
    sys.stdout.write(schema())
